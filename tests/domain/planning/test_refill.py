"""A crowded week filled anew from some day on: never worse, never against a rule, and the same for the same seed."""

import random
from collections.abc import Callable
from dataclasses import replace
from types import ModuleType

import pytest

from domain.planning.baseline.trees import Trees
from domain.planning.check import check
from domain.planning.explain.reasons import left_out
from domain.planning.manager import plan_by_hand
from domain.planning.measure import measure, values
from domain.planning.plan import Plan
from domain.planning.problem import Problem
from domain.planning.search.refill import Refill, refilled

STEPS = 12


def steps(count: int) -> Callable[[], bool]:
    left = iter(range(count))
    return lambda: next(left, None) is not None


def filled(problem: Problem, start: Plan, seed: int) -> Plan:
    return refilled(Trees(problem), start, seed, steps(STEPS), lambda _: None)


@pytest.mark.parametrize("seed", range(4))
def test_filling_days_otherwise_breaks_no_rule_and_is_never_worse(studio: ModuleType, seed: int) -> None:
    week = studio.messy(seed)
    start = plan_by_hand(week)
    plan = filled(week, start, seed)
    explained = replace(plan, left_out=left_out(week, plan))
    assert check(week, explained, metal=False) == ()
    assert values(plan.levels) == values(measure(week, plan)) <= values(start.levels)


def test_the_same_seed_fills_the_days_the_same_way(studio: ModuleType) -> None:
    week = studio.studio(8, 60)
    start = plan_by_hand(week)
    assert filled(week, start, 3) == filled(week, start, 3)


def test_a_way_that_is_no_better_leaves_the_plan_as_it_was(studio: ModuleType) -> None:
    week = studio.studio(8, 60)
    refill = Refill.holding_plan(Trees(week), plan_by_hand(week))
    before, levels = dict(refill.schedule.rides), refill.levels()
    told: list[int] = []
    found = refill.search(random.Random(1), steps(STEPS), lambda: told.append(1))
    assert found == bool(told)
    if found:
        assert refill.levels() < levels
    else:
        assert refill.schedule.rides == before
