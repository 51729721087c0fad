"""Rules 10 and 11: what is fixed stands, and every piece is somewhere exactly once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from domain.planning.checking.case import Case, Violation, pieces_of
from domain.planning.problem import PlanJob
from domain.saying import say


def fixed_stands(case: Case) -> Iterator[Violation]:
    """Rule 10: fixed flasks and loads are in the plan as they are."""
    for flask in case.problem.fixed_flasks:
        if flask.id not in case.fixed_flasks:
            how = say("was changed") if flask.id in case.flask else say("is missing")
            yield Violation(
                rule=10,
                where=f"flask {flask.id}",
                message=say("flask {flask} is fixed and {how} in the plan", flask=flask.id, how=how),
            )
    for load in case.problem.fixed_loads:
        if load.id not in case.fixed_loads:
            how = say("was changed") if load.id in case.load else say("is missing")
            yield Violation(
                rule=10,
                where=f"kiln load {load.id}",
                message=say("kiln load {load} is fixed and {how} in the plan", load=load.id, how=how),
            )


def named_once(case: Case) -> Iterator[Violation]:
    """Rule 11: no two flasks, and no two loads, bear one name."""
    for name, times in Counter(f.id for f in case.plan.flasks).items():
        if times > 1:
            text = say("{times} of the plan's flasks are called {name}", times=times, name=name)
            yield Violation(rule=11, where=f"flask {name}", message=text)
    for name, times in Counter(load.id for load in case.plan.loads).items():
        if times > 1:
            text = say("{times} of the plan's kiln loads are called {name}", times=times, name=name)
            yield Violation(rule=11, where=f"kiln load {name}", message=text)


def every_piece_once(case: Case) -> Iterator[Violation]:
    """Rule 11: every piece is in one flask or listed as left out, in words."""
    for flask in case.free_flasks:
        yield from (Violation(rule=11, where=f"flask {flask.id}", message=text) for text in _counts(case, flask.id))
    yield from _left_out(case)
    spared = Counter[str]()
    for entry in case.plan.left_out:
        spared[entry.job] += entry.pieces
    for job in case.problem.jobs:
        yield from (Violation(rule=11, where=f"job {job.id}", message=text) for text in _all_there(case, job, spared[job.id]))


def _counts(case: Case, flask_id: str) -> Iterator[str]:
    entries = list(pieces_of(case.flask[flask_id]))
    if not entries:
        yield say("flask {flask_id} holds no piece", flask_id=flask_id)
    for job, count in entries:
        if job not in case.problem.job:
            yield say("flask {flask_id} holds job {job}, which nobody asked for", flask_id=flask_id, job=job)
        if count < 1:
            yield say("flask {flask_id} holds {count} pieces of job {job}", flask_id=flask_id, count=count, job=job)


def _left_out(case: Case) -> Iterator[Violation]:
    for entry in case.plan.left_out:
        where = f"job {entry.job}"
        if entry.job not in case.problem.job:
            yield Violation(rule=11, where=where, message=say("job {job} is left out, and nobody asked for it", job=entry.job))
        if entry.pieces < 1:
            yield Violation(
                rule=11, where=where, message=say("{pieces} pieces of job {job} are left out", pieces=entry.pieces, job=entry.job)
            )
        if not entry.reason.strip() or not entry.remedy.strip():
            yield Violation(
                rule=11,
                where=where,
                message=say("job {job} is left out and the plan does not say why and what would mend it", job=entry.job),
            )
        if not 1 <= entry.rule <= 11:
            yield Violation(
                rule=11,
                where=where,
                message=say("job {job} is left out for rule {rule}, there are rules 1 to 11", job=entry.job, rule=entry.rule),
            )


def _all_there(case: Case, job: PlanJob, spared: int) -> Iterator[str]:
    placed = case.placed.get(job.id, 0)
    if placed + spared == job.quantity:
        return
    fixed = sum(n for f in case.problem.fixed_flasks if f.id in case.fixed_flasks for j, n in pieces_of(f) if j == job.id)
    if fixed == placed >= job.quantity and spared == 0:
        return  # more than was asked for is in the kiln already; no plan can undo it
    yield say(
        "job {job} asks for {quantity} pieces: {placed} are in flasks and {spared} are left out",
        job=job.id,
        quantity=job.quantity,
        placed=placed,
        spared=spared,
    )
