"""Moving pieces by hand: what follows is worked out, what it breaks is left to the checker."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from domain.errors import DomainError
from domain.metallurgy.pattern_metal import planned_charge
from domain.planning.check import check
from domain.planning.manager import plan_by_hand
from domain.planning.plan import Plan, PlannedFlask
from domain.planning.problem import Problem
from domain.stock.week_charges import week_charges
from domain.units import Mass, total
from domain.week.build import problem_of
from domain.week.by_hand import move_pieces
from domain.week.week import Week
from webapp.demo import demo_week

Moves = list[tuple[str, str, str, Plan]]
"""job, from, to, the plan then"""


@pytest.fixture(scope="module")
def week() -> Week:
    """The invented studio's week with a plan that people have read."""
    week = demo_week(date(2026, 3, 2))
    problem = problem_of(week)
    plan = plan_by_hand(problem)
    metal = week_charges(problem, plan.flasks)
    plan = replace(plan, charges=metal.charges, orders=metal.orders)
    assert check(problem, plan) == ()
    return replace(week, previous=plan)


@pytest.fixture(scope="module")
def problem(week: Week) -> Problem:
    return problem_of(week)


@pytest.fixture(scope="module")
def plan(week: Week) -> Plan:
    assert week.previous is not None
    return week.previous


def flask_of(plan: Plan, job: str, pieces: int = 1) -> PlannedFlask:
    """A flask with at least so many pieces of the job."""
    return next(f for f in plan.flasks if f.contents.get(job, 0) >= pieces)


def in_all(plan: Plan, job: str) -> int:
    return sum(f.contents.get(job, 0) for f in plan.flasks)


@pytest.fixture(scope="module")
def tried(problem: Problem, plan: Plan) -> Moves:
    """Single pieces that could be moved to another flask."""
    found: Moves = []
    for source in plan.flasks:
        for target in plan.flasks if len(found) < 12 else ():
            for job in list(source.contents)[:1] if target.melt == source.melt and target is not source else ():
                try:
                    found.append((job, source.id, target.id, move_pieces(problem, plan, job, 1, source.id, target.id)))
                except DomainError:
                    continue
    return found


@pytest.fixture(scope="module")
def good(problem: Problem, tried: Moves) -> Moves:
    """Those that the checker passes."""
    return [move for move in tried if not check(problem, move[3])]


def test_a_moved_piece_leaves_one_flask_and_is_in_the_other(plan: Plan, tried: Moves) -> None:
    assert len(tried) > 5
    for job, source, target, moved in tried:
        old_source, old_target, new_target = plan.flask(source), plan.flask(target), moved.flask(target)
        assert old_source is not None
        assert old_target is not None
        assert new_target is not None
        assert new_target.contents[job] == old_target.contents.get(job, 0) + 1
        left = moved.flask(source)
        assert (left.contents.get(job, 0) if left else 0) == old_source.contents[job] - 1
        assert in_all(moved, job) == in_all(plan, job)


def test_some_moves_pass_the_checker_and_change_nothing_else(plan: Plan, good: Moves) -> None:
    assert good
    for _, source, target, moved in good:
        for flask in plan.flasks:
            if flask.id not in (source, target):
                assert moved.flask(flask.id) == flask


def test_charge_and_metal_follow_the_pieces(problem: Problem, plan: Plan, good: Moves) -> None:
    job, _, target, moved = good[0]
    flask, before = moved.flask(target), plan.flask(target)
    assert flask is not None
    assert before is not None
    alloy, size = problem.melt[flask.melt].alloy, problem.size[flask.size]
    metal = total(Mass, (problem.job[j].metal_each.times(n) for j, n in flask.contents.items()))
    assert flask.charge == planned_charge(metal, size, problem.rules, alloy.density, alloy.melt_loss)
    assert flask.charge > before.charge
    weighed = next(total(Mass, (p.mass for p in c.parts)) for c in moved.charges if c.flask == target)
    assert flask.charge <= weighed
    assert job in flask.contents


def test_what_others_have_weighed_out_stays(plan: Plan, good: Moves) -> None:
    steady = 0
    for _, source, target, moved in good:
        old = {c.flask: c for c in plan.charges}
        others = [c for c in moved.charges if c.flask not in (source, target)]
        steady += all(old[c.flask] == c for c in others)
    assert steady >= len(good) / 2


def test_a_new_flask_gets_a_number_of_its_own_and_keeps_the_rules(problem: Problem, plan: Plan) -> None:
    source = max((f for f in plan.flasks if len(f.contents) > 1), key=lambda f: len(f.contents))
    job, count = next((j, n) for j, n in source.contents.items() if problem.job[j].may_split)
    moved = move_pieces(problem, plan, job, count, source.id, None)
    (new,) = [f for f in moved.flasks if plan.flask(f.id) is None]
    assert new.id == f"F{max(int(f.id[1:]) for f in plan.flasks) + 1}"
    assert new.contents == {job: count}
    assert check(problem, moved) == ()
    assert any(new.id in load.flasks for load in moved.loads)


def test_a_flask_that_loses_its_last_piece_leaves_its_load(problem: Problem, plan: Plan) -> None:
    source = min(plan.flasks, key=lambda f: (len(f.contents), sum(f.contents.values())))
    (job, count), *rest = source.contents.items()
    assert not rest
    moved = move_pieces(problem, plan, job, count, source.id, None)
    assert moved.flask(source.id) is None
    assert all(source.id not in load.flasks for load in moved.loads)
    assert in_all(moved, job) == in_all(plan, job)


def test_the_plan_says_that_a_hand_made_it_and_what_changed(good: Moves) -> None:
    moved = good[0][3]
    assert moved.made_by == "hand"
    assert {level.name: level.value for level in moved.levels}["changed flasks"] >= 1


def test_pieces_of_another_alloy_are_refused_in_words(problem: Problem, plan: Plan) -> None:
    one = plan.flasks[0]
    other = next(f for f in plan.flasks if f.melt != one.melt)
    with pytest.raises(DomainError, match="one alloy to a flask"):
        move_pieces(problem, plan, next(iter(one.contents)), 1, one.id, other.id)


def test_more_pieces_than_there_are_cannot_be_moved(problem: Problem, plan: Plan) -> None:
    flask = plan.flasks[0]
    job, count = next(iter(flask.contents.items()))
    with pytest.raises(DomainError, match=f"move 1 to {count} of them"):
        move_pieces(problem, plan, job, count + 1, flask.id, None)


def test_a_job_that_is_not_in_the_flask_cannot_be_moved_from_it(problem: Problem, plan: Plan) -> None:
    flask = plan.flasks[0]
    other = next(j.id for j in problem.jobs if j.id not in flask.contents)
    with pytest.raises(DomainError, match=f"Job {other} has no pieces in {flask.id}"):
        move_pieces(problem, plan, other, 1, flask.id, None)


def test_a_pinned_flask_neither_gives_nor_takes(week: Week, plan: Plan) -> None:
    source = next(f for f in plan.flasks if sum(g.melt == f.melt for g in plan.flasks) > 1)
    target = next(f for f in plan.flasks if f.melt == source.melt and f.id != source.id)
    pinned = problem_of(replace(week, pinned=frozenset({source.id})))
    job = next(iter(source.contents))
    with pytest.raises(DomainError, match=f"{source.id} does not move"):
        move_pieces(pinned, plan, job, 1, source.id, target.id)
    with pytest.raises(DomainError, match=f"{source.id} does not move"):
        move_pieces(pinned, plan, next(iter(target.contents)), 1, target.id, source.id)


def test_a_job_that_must_stay_whole_is_reported_by_the_checker(problem: Problem, plan: Plan) -> None:
    whole = next(j for j in problem.jobs if not j.may_split and j.quantity > 1)
    source = flask_of(plan, whole.id, 2)
    moved = move_pieces(problem, plan, whole.id, 1, source.id, None)
    assert {v.rule for v in check(problem, moved)} == {3}
