"""Changes that a person makes to a plan. They are worked out as asked, however bad: the checker says
what is wrong with the result, and the levels what it is worth."""

from __future__ import annotations

from domain.errors import DomainError
from domain.planning.check import Violation
from domain.planning.plan import Plan, PlannedFlask
from domain.planning.problem import Problem
from domain.saying import say
from domain.week.new_flask import into_new
from domain.week.refilling import refilled, with_flask, without
from domain.week.reweighing import checked


def move_pieces(
    problem: Problem, plan: Plan, job: str, pieces: int, from_flask: str, to_flask: str | None, load: str | None = None
) -> Plan:
    """``pieces`` of ``job`` out of one flask into another, or into a new one beside it (none), which may
    be asked to ride a ``load``.

    Trees, charges, flask temperatures, kiln rows and metal are worked out again; times stay. The
    result may break rules: ask the checker. Raises ``DomainError`` where there is nothing to check:
    the job is not there, the flask does not move, or no tree, temperature or floor takes the pieces.
    """
    return moved_and_checked(problem, plan, job, pieces, from_flask, to_flask, load)[0]


def moved_and_checked(
    problem: Problem,
    plan: Plan,
    job: str,
    pieces: int,
    from_flask: str,
    to_flask: str | None,
    load: str | None = None,
    *,
    sound: bool = False,
) -> tuple[Plan, tuple[Violation, ...]]:
    """The same, with all that the checker says of it. ``sound``: the plan itself keeps all rules, so that what
    stands in it is not looked at again flask by flask."""
    source, kept = taken_out(problem, plan, job, pieces, from_flask)
    if to_flask is None:
        return checked(problem, plan, into_new(problem, plan, kept, source, {job: pieces}, load, sound=sound), sound)
    return checked(problem, plan, put_into(problem, plan, kept, source, job, pieces, to_flask), sound)


def taken_out(problem: Problem, plan: Plan, job: str, pieces: int, from_flask: str) -> tuple[PlannedFlask, Plan]:
    """The flask that they come from, and the plan without them."""
    source = movable(problem, plan, from_flask)
    _asked_well(problem, source, job, pieces)
    remaining = {j: n - (pieces if j == job else 0) for j, n in source.contents.items()}
    return source, without(problem, plan, source, {j: n for j, n in remaining.items() if n})


def put_into(problem: Problem, plan: Plan, kept: Plan, source: PlannedFlask, job: str, pieces: int, to_flask: str) -> Plan:
    """``kept`` with the pieces in a flask that is planned, the charges as they were."""
    if to_flask == source.id:
        raise DomainError(say("The pieces are in {to_flask} already.", to_flask=to_flask))
    target = movable(problem, plan, to_flask)
    if target.melt != source.melt:
        raise DomainError(
            say(
                "{to_flask} is cast in {metal}, {source} in {other}: one alloy to a flask.",
                to_flask=to_flask,
                metal=_metal(problem, target),
                source=source.id,
                other=_metal(problem, source),
            )
        )
    contents = {**target.contents, job: target.contents.get(job, 0) + pieces}
    return with_flask(problem, kept, target, refilled(problem, target, contents))


def movable(problem: Problem, plan: Plan, flask_id: str) -> PlannedFlask:
    """The flask. Raises ``DomainError`` where there is none of this id, or it does not move."""
    flask = plan.flask(flask_id)
    if flask is None:
        raise DomainError(say("There is no flask {flask_id} in this plan.", flask_id=flask_id))
    if any(fixed.id == flask_id for fixed in problem.fixed_flasks):
        raise DomainError(say("{flask_id} does not move: it is pinned, or work on it has begun.", flask_id=flask_id))
    return flask


def _asked_well(problem: Problem, source: PlannedFlask, job: str, pieces: int) -> None:
    there = source.contents.get(job, 0)
    if not there:
        raise DomainError(say("Job {job} has no pieces in {source}.", job=job, source=source.id))
    if not 1 <= pieces <= there:
        raise DomainError(
            say("{source} holds {there} of job {job}: move 1 to {there} of them.", source=source.id, there=there, job=job)
        )
    if job not in problem.job:
        raise DomainError(say("Job {job} is not on the list any more; plan again.", job=job))


def _metal(problem: Problem, flask: PlannedFlask) -> str:
    melt = problem.melt.get(flask.melt)
    return melt.alloy.name if melt else flask.melt
