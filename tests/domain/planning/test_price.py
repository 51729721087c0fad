"""The cheapest flasks for a few jobs, by the solver: as many as a bin-packing instance is known to need, never more than by
hand, and every one of them holds what it is said to hold; the bounds made of them hold for plans that were found."""

from collections import defaultdict
from types import ModuleType

import pytest

from domain.planning.baseline.groups import Groups
from domain.planning.baseline.hours import Hours
from domain.planning.baseline.trees import Trees
from domain.planning.manager import plan_by_hand
from domain.planning.measure import values
from domain.planning.problem import Problem
from domain.planning.search.anew import Anew
from domain.planning.search.bounds import possible, week_bounds
from domain.planning.search.columns_prices import FEW, Prices
from domain.planning.solver.price import Cheapest, cheapest

PATIENCE = 2.0


def by_melt(week: Problem, wanted: dict[str, int]) -> dict[str, dict[str, int]]:
    groups: dict[str, dict[str, int]] = defaultdict(dict)
    for j, n in wanted.items():
        groups[week.job[j].melt][j] = n
    return groups


def priced(week: Problem, flasks: tuple[tuple[str, dict[str, int]], ...]) -> int:
    return sum(week.size[size].cost for size, _ in flasks)


@pytest.mark.parametrize("seed", range(6))
def test_the_cheapest_flasks_hold_everything_and_cost_no_more_than_by_hand(studio: ModuleType, seed: int) -> None:
    week = studio.studio(seed, 14)
    trees = Trees(week)
    for melt, pieces in by_melt(week, possible(trees)).items():
        drafts, _ = Groups(trees, Hours(week), quick=False).drafts(pieces)
        by_hand = sum(week.size[d.size].cost for d in drafts)
        found = cheapest(trees, melt, pieces, 0, by_hand, PATIENCE, steps=True)
        assert found.flasks is not None
        assert found.least <= priced(week, found.flasks) <= by_hand
        assert all(trees.fits(melt, size, inside) for size, inside in found.flasks)
        held = {j: sum(inside.get(j, 0) for _, inside in found.flasks) for j in pieces}
        assert held == pieces
        less = cheapest(trees, melt, pieces, 0, found.least - 1, PATIENCE, steps=True)
        assert less.flasks is None


def test_triplets_take_a_flask_for_three_pieces_and_no_fewer(packing: ModuleType) -> None:
    """The recipe of the triplets (E. Falkenauer, "A hybrid grouping genetic algorithm for bin packing", Journal of
    Heuristics 2, 1996): three pieces fill a crucible to the last milligram, so the optimum is known."""
    instance = packing.triplets(12, 0)
    week = packing.week_of(instance)
    trees = Trees(week)
    ((melt, pieces),) = by_melt(week, possible(trees)).items()
    found = cheapest(trees, melt, pieces, 0, 6, 20.0)
    assert found.flasks is not None
    assert (found.least, len(found.flasks)) == (4, 4)
    assert cheapest(trees, melt, pieces, 0, 3, 20.0) == Cheapest(4)


@pytest.mark.parametrize("seed", range(4))
def test_prices_raise_the_bound_of_a_week_and_no_plan_is_below(studio: ModuleType, seed: int) -> None:
    week = studio.studio(seed, 16)
    plan = plan_by_hand(week)
    trees = Trees(week)
    alone = week_bounds(Trees(studio.studio(seed, 16)), plan)
    whole = week_bounds(trees, plan, whole=True, seconds=30)
    assert all(alone[name] <= bound for name, bound in whole.items())
    assert all(whole[level.name] <= level.value for level in plan.levels)


def test_who_has_no_time_asks_the_solver_nothing(studio: ModuleType) -> None:
    week = studio.studio(2, 20)
    trees = Trees(week)
    wanted = possible(trees)
    melt, pieces = next((m, p) for m, p in by_melt(week, wanted).items() if 1 < len(p) <= FEW)
    prices = Prices(trees, wanted)
    assert prices.of(melt, pieces, 1) >= 1
    assert prices.known == {}


def test_the_best_plan_found_is_never_below_the_bounds_of_the_plan_by_hand(studio: ModuleType) -> None:
    week = studio.studio(5, 18)
    by_hand = plan_by_hand(week)
    anew = Anew.of(Trees(week), by_hand, 1, steps=True)
    for n in range(80):
        anew.step(n / 80)
    bounds = week_bounds(Trees(week), by_hand, whole=True, seconds=30)
    assert anew.best_worth[2] >= bounds["flasks and loads"]
    assert anew.best_worth <= values(by_hand.levels)
