"""A charge from the real tree."""

from dataclasses import replace
from datetime import datetime
from fractions import Fraction

import pytest

from domain.errors import InvalidValue
from domain.planning.manager import plan_by_hand
from domain.stock.real_tree import expected_tree, with_real_tree
from domain.week.build import problem_of
from webapp.demo import demo_week


@pytest.fixture(scope="module")
def week():
    problem = problem_of(demo_week(datetime(2026, 3, 2).date()))
    return problem, plan_by_hand(problem)


def test_a_tree_that_weighs_what_was_planned_asks_for_the_planned_charge(week):
    problem, plan = week
    for flask in plan.flasks:
        again = with_real_tree(problem, flask, expected_tree(problem, flask))
        assert abs(again.charge.base - flask.charge.base) <= 30  # the tree is known to the milligram of wax


def test_a_heavier_tree_takes_more_metal_by_its_density_and_its_share_of_button_and_loss(week):
    """One gram of wax more is ρ_alloy/ρ_wax grams of metal, with the button's share on top, over what a melt keeps."""
    problem, plan = week
    wax = next(m.density for m in problem.shop.materials if not m.fume)
    materials = {j.id: j.material for j in problem.jobs}
    flask = next(f for f in plan.flasks if all(materials[j] == problem.shop.materials[0].id for j in f.contents))
    expected = expected_tree(problem, flask)
    heavier = with_real_tree(problem, flask, expected.times(Fraction(11, 10)))
    alloy = problem.melt[flask.melt].alloy
    metal = Fraction(expected.base, 10) * alloy.density.base / wax.base
    more = metal * (1 + Fraction(problem.rules.button_share.base, 10**6)) / (1 - Fraction(alloy.melt_loss.base, 10**6))
    assert abs(heavier.charge.base - flask.charge.base - more) <= 40


def test_a_tree_with_its_base_still_on_is_refused(week):
    problem, plan = week
    flask = plan.flasks[0]
    with pytest.raises(InvalidValue, match="is the sprue base taken off"):
        with_real_tree(problem, flask, expected_tree(problem, flask).times(3))


def test_what_is_not_on_the_list_any_more_is_told(week):
    problem, plan = week
    with pytest.raises(InvalidValue, match="not on the list any more"):
        expected_tree(replace(problem, jobs=()), plan.flasks[0])
