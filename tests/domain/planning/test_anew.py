"""Flasks taken out and put together anew: the best plan never gets worse, keeps every rule, and what is late is worked on;
and bounds that are worked out beside a search."""

import math
from dataclasses import replace
from types import ModuleType

import pytest

from domain.planning.baseline.trees import Trees
from domain.planning.check import check
from domain.planning.explain.reasons import left_out
from domain.planning.manager import plan_by_hand
from domain.planning.measure import measure, values
from domain.planning.plan import LEVELS, Plan
from domain.planning.problem import Problem
from domain.planning.search.anew import Anew
from domain.planning.search.bounds import week_bounds
from domain.week.beside import Beside
from domain.week.build import problem_of

STEPS = 60


def put_together(problem: Problem, start: Plan, seed: int, steps: int = STEPS) -> Plan:
    anew = Anew.of(Trees(problem), start, seed)
    for n in range(steps):
        before = anew.best_worth
        assert anew.step(n / steps) == (anew.best_worth < before)
        assert anew.best_worth <= before
    plan = anew.plan()
    return replace(plan, levels=measure(problem, plan), left_out=left_out(problem, plan))


@pytest.mark.parametrize("seed", range(4))
def test_putting_flasks_together_anew_breaks_no_rule_and_is_never_worse(studio: ModuleType, seed: int) -> None:
    week = studio.messy(seed)
    start = plan_by_hand(week)
    plan = put_together(week, start, seed)
    assert check(week, plan, metal=False) == ()
    assert values(plan.levels) <= values(start.levels)


def test_the_same_seed_puts_them_together_the_same_way(studio: ModuleType) -> None:
    week = studio.studio(8, 40)
    start = plan_by_hand(week)
    assert put_together(week, start, 3) == put_together(week, start, 3)


def test_a_worse_plan_is_gone_on_from_at_first_and_not_in_the_end(studio: ModuleType) -> None:
    anew = Anew.of(Trees(studio.studio(1, 20)), plan_by_hand(studio.studio(1, 20)), 0)
    cheapest = min(s.cost for s in studio.studio(1, 20).shop.sizes)
    taken = [sum(anew._accepted(more * cheapest, part) for _ in range(2000)) for more, part in ((0.7, 0.0), (0.7, 1.0), (0, 1.0))]
    assert taken[0] / 2000 == pytest.approx(math.exp(-1), abs=0.05)
    assert taken[1:] == [0, 2000]


def test_what_is_late_is_taken_out_with_something_that_is_cast_before_it(sets: ModuleType) -> None:
    week = problem_of(sets.week("studio", 1))
    start = plan_by_hand(week)
    plan = put_together(week, start, 1, steps=150)
    assert values(plan.levels)[0] == 0
    assert values(plan.levels)[1] < values(start.levels)[1]  # 28 by hand, and 20 at least


def test_bounds_beside_a_search_are_those_of_the_plan_that_it_ends_with(studio: ModuleType) -> None:
    week = studio.studio(3, 12)
    plan = plan_by_hand(week)
    least = dict.fromkeys(LEVELS, 0)
    beside = Beside(Trees(week), plan, lambda: 60.0, True, least)
    beside.start()
    beside.over()
    beside.join()
    alone = week_bounds(Trees(week), plan)
    assert all(least[name] >= bound for name, bound in alone.items())
    assert all(least[level.name] <= level.value for level in plan.levels)
