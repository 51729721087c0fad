"""The best other places for pieces: every one keeps all rules, and none that is better was passed over."""

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
from domain.units import Temperature
from domain.week.build import problem_of
from domain.week.by_hand import move_pieces
from domain.week.places import best_places
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


def some(plan: Plan) -> list[tuple[str, str, int]]:
    return [(f.id, *next(iter(f.contents.items()))) for f in plan.flasks[::3]]


def test_every_place_keeps_all_rules_and_is_told_with_its_cost(problem: Problem, plan: Plan) -> None:
    before = values(measure(problem, plan))
    found = 0
    for flask, job, count in some(plan):
        for place in best_places(problem, plan, job, count, flask):
            found += 1
            assert check(problem, place.plan, metal=False) == ()
            assert place.flask.contents[job] >= count
            assert values(place.cost) == tuple(a - b for a, b in zip(values(place.plan.levels), before, strict=True))
    assert found > 5


def test_the_best_come_first_and_no_flask_of_the_plan_would_be_better(problem: Problem, plan: Plan) -> None:
    for flask, job, count in some(plan):
        best = [values(place.plan.levels) for place in best_places(problem, plan, job, count, flask)]
        assert best == sorted(best)
        for other in plan.flasks:
            try:
                moved = move_pieces(problem, plan, job, count, flask, other.id)
            except DomainError:
                continue
            if not check(problem, moved):
                assert best[: 1 if len(best) < 3 else 3]
                assert min(best) <= values(moved.levels)


def test_a_place_that_is_chosen_is_the_place_that_was_shown(problem: Problem, plan: Plan) -> None:
    for flask, job, count in some(plan):
        for place in best_places(problem, plan, job, count, flask):
            again = move_pieces(problem, plan, job, count, flask, place.to, place.load)
            assert check(problem, again) == ()
            if place.load is not None or place.to is not None:
                assert values(again.levels) == values(place.plan.levels)


def test_pieces_that_are_not_there_have_no_other_place(problem: Problem, plan: Plan) -> None:
    flask = plan.flasks[0]
    job, count = next(iter(flask.contents.items()))
    with pytest.raises(DomainError, match=f"move 1 to {count} of them"):
        best_places(problem, plan, job, count + 1, flask.id)


def test_looking_only_at_what_is_new_finds_all_that_looking_at_everything_finds(problem: Problem, plan: Plan) -> None:
    assert check(problem, plan) == ()
    seen = set[int]()
    for flask, job, count in some(plan):
        for place in best_places(problem, plan, job, count, flask, sound=True):
            moved = move_pieces(problem, plan, job, count, flask, place.to, place.load)
            first, *others = moved.flasks
            changed = place.flask
            for broken in (
                moved,
                replace(moved, charges=moved.charges[1:]),
                replace(moved, flasks=(replace(first, temperature=Temperature.c(1)), *others)),
                replace(moved, flasks=tuple(replace(f, rings=f.rings * 9) if f.id == changed.id else f for f in moved.flasks)),
                replace(moved, charges=tuple(replace(c, parts=c.parts[:-1]) for c in moved.charges)),
            ):
                whole = check(problem, broken)
                assert check(problem, broken, beside=plan) == whole
                seen |= {v.rule for v in whole}
    assert seen >= {2, 3, 4, 9, 11}
