"""Rules 5 and 6: flasks owned, patterns ready, one flask at a time at the investing bench."""

from __future__ import annotations

from collections.abc import Iterator

from domain.planning.checking.case import Case, Violation, jobs_of, overlaps
from domain.planning.plan import PlannedFlask
from domain.saying import say


def flasks_owned(case: Case) -> Iterator[Violation]:
    """Rule 5: from investing to knock-out a flask is in use, and the shop owns so many."""
    for size in case.problem.shop.sizes:
        in_size = [f for f in case.plan.flasks if f.size == size.id]
        for flask in in_size:
            moment = flask.invest_start
            together = [f for f in in_size if f.invest_start <= moment < f.knockout_end]
            if len(together) > size.owned and any(case.is_free(f) for f in together):
                names = ", ".join(sorted(f.id for f in together))
                text = say(
                    "{count} flasks of size {size} are in use at {when}, the shop owns {owned}: {names}",
                    count=len(together),
                    size=size.id,
                    when=case.when(moment),
                    owned=size.owned,
                    names=names,
                )
                yield Violation(rule=5, where=f"flask {flask.id}", message=text)


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
            yield say(
                "flask {flask} is invested {when}, the patterns of job {job} are ready {when2}",
                flask=flask.id,
                when=case.when(start),
                job=job,
                when2=case.when(known.ready),
            )
    if start < case.problem.now:
        yield say(
            "flask {flask} is invested {when}, which has passed (it is {when2})",
            flask=flask.id,
            when=case.when(start),
            when2=case.when(case.problem.now),
        )
    if end != start + case.problem.rules.invest_minutes:
        yield say(
            "flask {flask} is at the bench for {has} minutes, investing takes {invest_minutes}",
            flask=flask.id,
            has=end - start,
            invest_minutes=case.problem.rules.invest_minutes,
        )
    if not case.open_for(start, end):
        yield say(
            "flask {flask} is invested {when} to {when2}, when the shop is not open",
            flask=flask.id,
            when=case.when(start),
            when2=case.when(end),
        )


def _rests(case: Case, flask: PlannedFlask) -> Iterator[str]:
    load, kind = case.load.get(flask.load), case.problem.investment.get(flask.investment)
    if load is None or kind is None:
        return
    rest = load.load_at - flask.invest_end
    if rest < kind.bench_set_minutes:
        yield say(
            "flask {flask} rests {rest} minutes before it is loaded, {kind} needs {bench_set_minutes}",
            flask=flask.id,
            rest=rest,
            kind=kind.id,
            bench_set_minutes=kind.bench_set_minutes,
        )
    if rest > kind.bench_limit_minutes:
        yield say(
            "flask {flask} rests {rest} minutes before it is loaded, {kind} may rest {bench_limit_minutes}",
            flask=flask.id,
            rest=rest,
            kind=kind.id,
            bench_limit_minutes=kind.bench_limit_minutes,
        )


def one_at_the_bench(case: Case) -> Iterator[Violation]:
    """Rule 6: one flask at a time is invested."""
    for a, b in overlaps((f.invest_start, f.invest_end, f) for f in case.plan.flasks):
        if case.is_free(a) or case.is_free(b):
            text = say(
                "flasks {a} and {b} are both at the investing bench at {when}", a=a.id, b=b.id, when=case.when(b.invest_start)
            )
            yield Violation(rule=6, where=f"flask {b.id}", message=text)
