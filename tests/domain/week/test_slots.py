"""A whole flask in another slot: it keeps its pieces and its number, and all rules are kept."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from domain.errors import DomainError
from domain.planning.check import check
from domain.planning.manager import plan_by_hand
from domain.planning.measure import measure, values
from domain.planning.plan import Plan
from domain.planning.problem import Problem
from domain.stock.week_charges import week_charges
from domain.week.build import problem_of
from domain.week.side_by_side import differing
from domain.week.slots import best_slots, move_flask
from webapp.demo import demo_week


@pytest.fixture(scope="module")
def problem() -> Problem:
    week = demo_week(date(2026, 3, 2))
    problem = problem_of(week)
    plan = plan_by_hand(problem)
    metal = week_charges(problem, plan.flasks)
    return problem_of(replace(week, previous=replace(plan, charges=metal.charges, orders=metal.orders)))


@pytest.fixture(scope="module")
def plan(problem: Problem) -> Plan:
    assert problem.previous is not None
    return problem.previous


def test_every_slot_keeps_all_rules_the_pieces_and_the_other_flasks(problem: Problem, plan: Plan) -> None:
    before = values(measure(problem, plan))
    found = 0
    for flask in plan.flasks[::2]:
        slots = best_slots(problem, plan, flask.id)
        found += len(slots)
        assert [values(s.plan.levels) for s in slots] == sorted(values(s.plan.levels) for s in slots)
        for slot in slots:
            assert check(problem, slot.plan, metal=False) == ()
            assert differing(plan, slot.plan) == (flask.id,)
            moved = slot.plan.flask(flask.id)
            assert moved is not None
            assert moved.contents == flask.contents
            assert (moved.load, moved.machine, moved.cast_start) != (flask.load, flask.machine, flask.cast_start)
            assert values(slot.cost) == tuple(a - b for a, b in zip(values(slot.plan.levels), before, strict=True))
    assert found > 3


def test_a_slot_that_is_chosen_is_the_slot_that_was_shown(problem: Problem, plan: Plan) -> None:
    slot = next(s for f in plan.flasks for s in best_slots(problem, plan, f.id, most=1))
    (flask,) = differing(plan, slot.plan)
    again = move_flask(problem, plan, flask, slot.load, slot.machine, slot.cast_start)
    assert again.flask(flask) == slot.plan.flask(flask)
    assert check(problem, again) == ()
    with pytest.raises(DomainError, match="has no such slot"):
        move_flask(problem, plan, flask, slot.load, slot.machine, slot.cast_start + 1)


def test_a_pinned_flask_has_no_other_slot(problem: Problem, plan: Plan) -> None:
    pinned = replace(problem, fixed_flasks=plan.flasks[:1])
    with pytest.raises(DomainError, match="does not move"):
        best_slots(pinned, plan, plan.flasks[0].id)
