"""The standard sets of the benchmark: the same for the same seed, tight, and open to every part of the planner."""

from dataclasses import replace
from types import ModuleType

import pytest

from domain.planning.baseline.trees import Trees
from domain.planning.check import check
from domain.planning.manager import plan_by_hand
from domain.planning.search.bounds import week_bounds
from domain.planning.solver.case import around
from domain.planning.solver.model import Effort, solve
from domain.week.answer import plan_week
from domain.week.build import problem_of
from domain.week.week import Week


def slice_of(week: Week, jobs: int) -> Week:
    return replace(week, jobs=week.jobs[:jobs])


def test_a_set_has_the_same_week_for_the_same_seed_and_another_for_another(sets: ModuleType) -> None:
    assert sets.week("studio", 3) == sets.week("studio", 3)
    assert sets.week("studio", 3).jobs != sets.week("studio", 4).jobs
    assert {name: len(sets.week(name, 0).jobs) for name in sets.SETS} == {
        "studio": 40,
        "workshop": 200,
        "house1000": 1000,
        "house2000": 2000,
    }


def test_in_every_studio_something_must_be_late(sets: ModuleType, long_slices: bool) -> None:
    for seed in range(4 if long_slices else 1):
        problem = problem_of(sets.week("studio", seed))
        assert week_bounds(Trees(problem), plan_by_hand(problem))["weighted days late"] > 0


@pytest.mark.parametrize("seed", range(2))
def test_the_solver_can_follow_a_plan_by_hand_that_takes_all_the_metal_that_it_was_promised(sets: ModuleType, seed: int) -> None:
    problem = problem_of(sets.week("studio", seed))
    by_hand = plan_by_hand(problem)
    early = {m.key for m in problem.melts if m.order_from is not None and m.stock_castable.base}
    assert early
    assert solve(around(Trees(problem), by_hand, spare=0), Effort(seconds=0), upto=1).plan is not None


def test_a_slice_of_a_workshop_is_planned_the_same_way_twice_and_checked_with_its_metal(sets: ModuleType) -> None:
    problem = problem_of(slice_of(sets.week("workshop", 1), 14))
    one, two = (plan_week(problem, seconds=0.2, seed=7, deterministic=True) for _ in range(2))
    assert replace(one, seconds=0) == replace(two, seconds=0)
    assert check(problem, one) == ()
