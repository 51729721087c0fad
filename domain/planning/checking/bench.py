"""Rules 5 and 6: flasks owned, patterns ready, one flask at a time at the investing bench."""

from __future__ import annotations

from collections.abc import Iterator

from domain.planning.checking.case import Case, Violation, jobs_of, overlaps
from domain.planning.plan import PlannedFlask


def flasks_owned(case: Case) -> Iterator[Violation]:
    """Rule 5: from investing to knock-out a flask is in use, and the shop owns so many."""
    for size in case.problem.shop.sizes:
        in_size = [f for f in case.plan.flasks if f.size == size.id]
        for flask in in_size:
            moment = flask.invest_start
            together = [f for f in in_size if f.invest_start <= moment < f.knockout_end]
            if len(together) > size.owned and any(case.is_free(f) for f in together):
                text = f"{len(together)} flasks of size {size.id} are in use at {case.when(moment)}, the shop owns {size.owned}: "
                names = ", ".join(sorted(f.id for f in together))
                yield Violation(rule=5, where=f"flask {flask.id}", message=text + names)


def investing(case: Case) -> Iterator[Violation]:
    """Rule 6: patterns are ready, the bench is staffed, the mould rests long enough and not too long."""
    for flask in case.free_flasks:
        where = f"flask {flask.id}"
        yield from (Violation(rule=6, where=where, message=text) for text in _poured(case, flask))
        yield from (Violation(rule=6, where=where, message=text) for text in _rests(case, flask))


def _poured(case: Case, flask: PlannedFlask) -> Iterator[str]:
    start, end = flask.invest_start, flask.invest_end
    for job in jobs_of(flask):
        known = case.problem.job.get(job)
        if known and start < known.ready:
            yield f"flask {flask.id} is invested {case.when(start)}, the patterns of job {job} are ready {case.when(known.ready)}"
    if start < case.problem.now:
        yield f"flask {flask.id} is invested {case.when(start)}, which has passed (it is {case.when(case.problem.now)})"
    if end != start + case.problem.rules.invest_minutes:
        yield f"flask {flask.id} is at the bench for {end - start} minutes, investing takes {case.problem.rules.invest_minutes}"
    if not case.open_for(start, end):
        yield f"flask {flask.id} is invested {case.when(start)} to {case.when(end)}, when the shop is not open"


def _rests(case: Case, flask: PlannedFlask) -> Iterator[str]:
    load, kind = case.load.get(flask.load), case.problem.investment.get(flask.investment)
    if load is None or kind is None:
        return
    rest = load.load_at - flask.invest_end
    if rest < kind.bench_set_minutes:
        yield f"flask {flask.id} rests {rest} minutes before it is loaded, {kind.id} needs {kind.bench_set_minutes}"
    if rest > kind.bench_limit_minutes:
        yield f"flask {flask.id} rests {rest} minutes before it is loaded, {kind.id} may rest {kind.bench_limit_minutes}"


def one_at_the_bench(case: Case) -> Iterator[Violation]:
    """Rule 6: one flask at a time is invested."""
    for a, b in overlaps((f.invest_start, f.invest_end, f) for f in case.plan.flasks):
        if case.is_free(a) or case.is_free(b):
            text = f"flasks {a.id} and {b.id} are both at the investing bench at {case.when(b.invest_start)}"
            yield Violation(rule=6, where=f"flask {b.id}", message=text)
