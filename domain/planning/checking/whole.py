"""Rules 10 and 11: what is fixed stands, and every piece is somewhere exactly once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from domain.planning.checking.case import Case, Violation, pieces_of
from domain.planning.problem import PlanJob


def fixed_stands(case: Case) -> Iterator[Violation]:
    """Rule 10: fixed flasks and loads are in the plan as they are."""
    for flask in case.problem.fixed_flasks:
        if flask.id not in case.fixed_flasks:
            how = "was changed" if flask.id in case.flask else "is missing"
            yield Violation(rule=10, where=f"flask {flask.id}", message=f"flask {flask.id} is fixed and {how} in the plan")
    for load in case.problem.fixed_loads:
        if load.id not in case.fixed_loads:
            how = "was changed" if load.id in case.load else "is missing"
            yield Violation(rule=10, where=f"kiln load {load.id}", message=f"kiln load {load.id} is fixed and {how} in the plan")


def named_once(case: Case) -> Iterator[Violation]:
    """Rule 11: no two flasks, and no two loads, bear one name."""
    for kind, ids in (("flask", [f.id for f in case.plan.flasks]), ("kiln load", [load.id for load in case.plan.loads])):
        for name, times in Counter(ids).items():
            if times > 1:
                yield Violation(rule=11, where=f"{kind} {name}", message=f"{times} of the plan's {kind}s are called {name}")


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
        yield f"flask {flask_id} holds no piece"
    for job, count in entries:
        if job not in case.problem.job:
            yield f"flask {flask_id} holds job {job}, which nobody asked for"
        if count < 1:
            yield f"flask {flask_id} holds {count} pieces of job {job}"


def _left_out(case: Case) -> Iterator[Violation]:
    for entry in case.plan.left_out:
        where = f"job {entry.job}"
        if entry.job not in case.problem.job:
            yield Violation(rule=11, where=where, message=f"job {entry.job} is left out, and nobody asked for it")
        if entry.pieces < 1:
            yield Violation(rule=11, where=where, message=f"{entry.pieces} pieces of job {entry.job} are left out")
        if not entry.reason.strip() or not entry.remedy.strip():
            yield Violation(
                rule=11, where=where, message=f"job {entry.job} is left out and the plan does not say why and what would mend it"
            )
        if not 1 <= entry.rule <= 11:
            yield Violation(
                rule=11, where=where, message=f"job {entry.job} is left out for rule {entry.rule}, there are rules 1 to 11"
            )


def _all_there(case: Case, job: PlanJob, spared: int) -> Iterator[str]:
    placed = case.placed.get(job.id, 0)
    if placed + spared == job.quantity:
        return
    fixed = sum(n for f in case.problem.fixed_flasks if f.id in case.fixed_flasks for j, n in pieces_of(f) if j == job.id)
    if fixed == placed >= job.quantity and spared == 0:
        return  # more than was asked for is in the kiln already; no plan can undo it
    yield f"job {job.id} asks for {job.quantity} pieces: {placed} are in flasks and {spared} are left out"
