"""Rule 7: what stands in a kiln, which program it runs, and when."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import datetime, time, timedelta

from domain.planning.checking.case import Case, Violation, degrees, jobs_of, millimetres, overlaps
from domain.planning.clock import Minute
from domain.planning.plan import KilnLoad, PlannedFlask
from domain.saying import say
from domain.shop.burnout import BurnoutProgram, Kiln
from domain.shop.investment import InvestmentKind
from domain.units import Length, Temperature

ROOM = Temperature.c(20)
"""where a cold kiln starts; common practice, no source"""


def loads_hold(case: Case) -> Iterator[Violation]:
    """Rule 7: a load holds the flasks that name it, and its kiln's floor and chamber hold them."""
    for load in case.free_loads:
        kiln = case.problem.kiln.get(load.kiln)
        texts = [*_members(case, load), *(_floor(case, load, kiln) if kiln else _no_kiln(load))]
        yield from (_load(load, text) for text in texts)
    for flask in case.free_flasks:
        if flask.load not in case.load:
            text = say("flask {flask} rides kiln load {load}, which is not in the plan", flask=flask.id, load=flask.load)
            yield Violation(rule=7, where=f"flask {flask.id}", message=text)
        elif flask.load in case.fixed_loads and flask.id not in case.load[flask.load].flasks:
            text = say("flask {flask} rides kiln load {load}, where it has no place on the floor", flask=flask.id, load=flask.load)
            yield Violation(rule=7, where=f"flask {flask.id}", message=text)


def _load(load: KilnLoad, text: str) -> Violation:
    return Violation(rule=7, where=f"kiln load {load.id}", message=text)


def _no_kiln(load: KilnLoad) -> Iterator[str]:
    yield say("kiln load {load} is for kiln {kiln}, which the shop does not have", load=load.id, kiln=load.kiln)


def _members(case: Case, load: KilnLoad) -> Iterator[str]:
    standing = Counter(load.flasks)
    riding = {f.id for f in case.by_load.get(load.id, [])}
    if not standing:
        yield say("kiln load {load} holds no flask", load=load.id)
    for flask, times in standing.items():
        if times > 1:
            yield say("flask {flask} stands {times} times in kiln load {load}", flask=flask, times=times, load=load.id)
        if flask not in riding:
            yield say("flask {flask} stands in kiln load {load} but does not ride it", flask=flask, load=load.id)
    for flask in sorted(riding - set(standing)):
        yield say("flask {flask} rides kiln load {load} but has no place on its floor", flask=flask, load=load.id)


def _floor(case: Case, load: KilnLoad, kiln: Kiln) -> Iterator[str]:
    deep = kiln.gap.base
    for number, row in enumerate(load.rows, 1):
        sizes = [case.problem.size[case.flask[f].size] for f in row if f in case.flask and case.flask[f].size in case.problem.size]
        across = [size.inner_diameter.base + 2 * size.wall.base for size in sizes]
        wide = kiln.gap.base + sum(d + kiln.gap.base for d in across)
        deep += max(across, default=0) + kiln.gap.base
        if wide > kiln.width.base:
            taken = millimetres(Length(wide))
            yield say(
                "row {number} of kiln load {load} is {taken} wide, the floor of {kiln} is {width}",
                number=number,
                load=load.id,
                taken=taken,
                kiln=kiln.id,
                width=millimetres(kiln.width),
            )
        for size in sizes:
            if size.height.base + kiln.gap.base > kiln.height.base:
                yield say(
                    "a {size} flask in load {load} is too tall for kiln {kiln}, {height} high",
                    size=size.id,
                    load=load.id,
                    kiln=kiln.id,
                    height=millimetres(kiln.height),
                )
    if deep > kiln.depth.base:
        taken = millimetres(Length(deep))
        yield say(
            "the rows of kiln load {load} are {taken} deep, the floor of {kiln} is {depth}",
            load=load.id,
            taken=taken,
            kiln=kiln.id,
            depth=millimetres(kiln.depth),
        )


def programs_suit(case: Case) -> Iterator[Violation]:
    """Rule 7: the kiln can run the program, and the program suits every flask and its investment."""
    for load in case.free_loads:
        program, kiln = case.problem.program.get(load.program), case.problem.kiln.get(load.kiln)
        if program is None or not program.segments:
            yield _load(
                load,
                say("kiln load {load} runs program {program}, which the shop does not have", load=load.id, program=load.program),
            )
            continue
        if load.program_end - load.start != program.minutes:
            text = say(
                "kiln load {load} runs {has} minutes, program {program} takes {minutes}",
                load=load.id,
                has=load.program_end - load.start,
                program=program.id,
                minutes=program.minutes,
            )
            yield _load(load, text)
        yield from (_load(load, text) for text in (_kiln_runs(load, program, kiln) if kiln else ()))
    for flask in case.plan.flasks:
        where = f"flask {flask.id}"
        yield from (Violation(rule=7, where=where, message=text) for text in _flask_program(case, flask))


def _kiln_runs(load: KilnLoad, program: BurnoutProgram, kiln: Kiln) -> Iterator[str]:
    peak = max(s.target for s in program.segments)
    if peak > kiln.top_temperature:
        yield say(
            "program {program} of load {load} goes to {peak}, kiln {kiln} to {top_temperature}",
            program=program.id,
            load=load.id,
            peak=degrees(peak),
            kiln=kiln.id,
            top_temperature=degrees(kiln.top_temperature),
        )
    reached = ROOM
    for number, segment in enumerate(program.segments, 1):
        rise = segment.target.millidegrees - reached.millidegrees
        if rise > 0 and rise * 60 > kiln.fastest_ramp * 1000 * segment.ramp_minutes:
            asked = say(
                "{reached} to {target} in {ramp_minutes} minutes",
                reached=degrees(reached),
                target=degrees(segment.target),
                ramp_minutes=segment.ramp_minutes,
            )
            yield say(
                "segment {number} of program {program} asks {asked}, kiln {kiln} manages {fastest_ramp} °C an hour",
                number=number,
                program=program.id,
                asked=asked,
                kiln=kiln.id,
                fastest_ramp=kiln.fastest_ramp,
            )
        reached = segment.target


def _flask_program(case: Case, flask: PlannedFlask) -> Iterator[str]:
    load = case.load.get(flask.load)
    if not case.is_free(flask) and (load is None or load.id in case.fixed_loads):
        return
    program = case.problem.program.get(load.program) if load else None
    kind = case.problem.investment.get(flask.investment)
    if kind is None:
        yield say(
            "flask {flask} is invested with {investment}, which the shop does not have", flask=flask.id, investment=flask.investment
        )
    else:
        yield from _suits_alloy(case, flask, kind)
    if program is None or not program.segments:
        return
    if kind:
        yield from _bears(flask, program, kind)
    yield from _burns_out(case, flask, program)


def _suits_alloy(case: Case, flask: PlannedFlask, kind: InvestmentKind) -> Iterator[str]:
    melt = case.problem.melt.get(flask.melt)
    if melt and kind.id not in melt.investments:
        yield say("investment {kind} of flask {flask} does not suit {melt}", kind=kind.id, flask=flask.id, melt=flask.melt)


def _bears(flask: PlannedFlask, program: BurnoutProgram, kind: InvestmentKind) -> Iterator[str]:
    peak = max(s.target for s in program.segments)
    if kind.bond not in program.bonds:
        yield say(
            "program {program} is not written for {bond}-bonded investment, flask {flask} is {kind}",
            program=program.id,
            bond=kind.bond,
            flask=flask.id,
            kind=kind.id,
        )
    if peak > kind.peak:
        yield say(
            "program {program} goes to {peak}, investment {kind} of flask {flask} bears {peak2}",
            program=program.id,
            peak=degrees(peak),
            kind=kind.id,
            flask=flask.id,
            peak2=degrees(kind.peak),
        )


def _burns_out(case: Case, flask: PlannedFlask, program: BurnoutProgram) -> Iterator[str]:
    peak = max(s.target for s in program.segments)
    size = case.problem.size.get(flask.size)
    if size and program.minutes < size.burnout_minutes:
        has, need = program.minutes, size.burnout_minutes
        yield say(
            "program {program} takes {has} minutes, flask {flask} of size {size} needs {need}",
            program=program.id,
            has=has,
            flask=flask.id,
            size=size.id,
            need=need,
        )
    for job in jobs_of(flask):
        known = case.problem.job.get(job)
        if known and program.minutes < known.burnout_minutes:
            has, need = program.minutes, known.burnout_minutes
            yield say(
                "program {program} takes {has} minutes, job {job} in flask {flask} needs {need}",
                program=program.id,
                has=has,
                job=job,
                flask=flask.id,
                need=need,
            )
        if known and peak < known.burnout_peak:
            yield say(
                "program {program} goes to {peak}, job {job} in flask {flask} needs {burnout_peak}",
                program=program.id,
                peak=degrees(peak),
                job=job,
                flask=flask.id,
                burnout_peak=degrees(known.burnout_peak),
            )


def kilns_run(case: Case) -> Iterator[Violation]:
    """Rule 7: the kiln is in service, somebody loads it, and it runs one load at a time."""
    for load in case.free_loads:
        yield from (_load(load, text) for text in _attended(case, load))
        yield from (_load(load, text) for text in _in_service(case, load))
    yield from _one_load_at_a_time(case)


def _attended(case: Case, load: KilnLoad) -> Iterator[str]:
    kiln = case.problem.kiln.get(load.kiln)
    if load.load_at < case.problem.now:
        yield say("kiln load {load} goes in at {when}, which has passed", load=load.id, when=case.when(load.load_at))
    if load.start < load.load_at:
        yield say(
            "kiln load {load} starts at {when}, before it goes in at {when2}",
            load=load.id,
            when=case.when(load.start),
            when2=case.when(load.load_at),
        )
    if not case.open_for(load.load_at, load.load_at):
        yield say("kiln load {load} goes in at {when}, when nobody is there", load=load.id, when=case.when(load.load_at))
    if kiln and not kiln.unattended and not case.open_for(load.load_at, load.program_end) and not _allowed_night(case, kiln, load):
        until = case.when(load.program_end)
        yield say(
            "kiln {kiln} may not run unattended, load {load} runs from {when} to {until}",
            kiln=kiln.id,
            load=load.id,
            when=case.when(load.load_at),
            until=until,
        )


def _allowed_night(case: Case, kiln: Kiln, load: KilnLoad) -> bool:
    """Whether the load goes in on a day whose night the kiln may run, and is burnt out by noon of the next."""
    day = case.day(load.load_at)
    if day.isoformat() not in kiln.nights:
        return False
    ends = case.problem.clock.local(load.program_end).replace(tzinfo=None)
    return ends <= datetime.combine(day + timedelta(days=1), time(12))


def _in_service(case: Case, load: KilnLoad) -> Iterator[str]:
    kiln = case.problem.kiln.get(load.kiln)
    if kiln and not kiln.in_service:
        yield say("kiln {kiln} is not in service, load {load} is planned in it", kiln=kiln.id, load=load.id)
    last = _last_cast(case, load)
    for outage in case.problem.kiln_outages.get(load.kiln, ()):
        if load.load_at < outage.end and outage.start < last:
            span = say("{when} to {when2}", when=case.when(outage.start), when2=case.when(outage.end))
            yield say("kiln {kiln} is down from {span}, load {load} is in it then", kiln=load.kiln, span=span, load=load.id)


def _last_cast(case: Case, load: KilnLoad) -> Minute:
    """When the kiln is empty; a load that nothing rides ends with its program."""
    return max((f.cast_start for f in case.by_load.get(load.id, [])), default=load.program_end)


def _one_load_at_a_time(case: Case) -> Iterator[Violation]:
    for kiln in dict.fromkeys(load.kiln for load in case.plan.loads):
        known = case.problem.kiln.get(kiln)
        cooling = known.cooldown_minutes if known else 0
        loads = [load for load in case.plan.loads if load.kiln == kiln]
        for a, b in overlaps((load.load_at, _last_cast(case, load) + cooling, load) for load in loads):
            if a.id in case.fixed_loads and b.id in case.fixed_loads:
                continue
            free = case.when(_last_cast(case, a) + cooling)
            text = say(
                "kiln {kiln} is free of load {a} at {free}, load {b} goes in at {when}",
                kiln=kiln,
                a=a.id,
                free=free,
                b=b.id,
                when=case.when(b.load_at),
            )
            yield _load(b, text)
