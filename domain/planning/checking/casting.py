"""Rule 8: falling temperatures, one flask at a time per machine, the people at it, then cooling."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from domain.planning.checking.case import Case, Violation, degrees, overlaps
from domain.planning.plan import KilnLoad, PlannedFlask
from domain.saying import say


def _cast(flask: PlannedFlask, text: str) -> Violation:
    return Violation(rule=8, where=f"flask {flask.id}", message=text)


def soaks(case: Case) -> Iterator[Violation]:
    """Rule 8: cast after program and soak, not after the hot hold, in falling temperature."""
    for load in case.plan.loads:
        riders = case.by_load.get(load.id, [])
        for flask in riders:
            if case.is_free(flask) or load.id not in case.fixed_loads:
                yield from _in_its_time(case, load, flask)
        for before, after in pairwise(riders):
            if case.is_free(before) or case.is_free(after):
                yield from _step(case, before, after)


def _in_its_time(case: Case, load: KilnLoad, flask: PlannedFlask) -> Iterator[Violation]:
    rules = case.problem.rules
    ready = load.program_end + rules.soak_minutes
    if flask.cast_start < ready:
        text = say(
            "flask {flask} is cast {when}, load {load} has soaked at {when2}",
            flask=flask.id,
            when=case.when(flask.cast_start),
            load=load.id,
            when2=case.when(ready),
        )
        yield _cast(flask, text)
    if flask.cast_start > ready + rules.hot_hold_minutes:
        until = case.when(ready + rules.hot_hold_minutes)
        text = say(
            "flask {flask} waits hot until {when}, load {load} may be held until {until}",
            flask=flask.id,
            when=case.when(flask.cast_start),
            load=load.id,
            until=until,
        )
        yield _cast(flask, text)


def _step(case: Case, before: PlannedFlask, after: PlannedFlask) -> Iterator[Violation]:
    if after.temperature > before.temperature:
        hot, hotter = degrees(before.temperature), degrees(after.temperature)
        text = say(
            "flask {after} at {hotter} is cast after {before} at {hot}, a kiln only steps down",
            after=after.id,
            hotter=hotter,
            before=before.id,
            hot=hot,
        )
        yield _cast(after, text)
    soak = case.problem.rules.step_soak_minutes
    if after.temperature < before.temperature and after.cast_start < before.cast_start + soak:
        gap = after.cast_start - before.cast_start
        text = say(
            "flask {after} is cast {gap} minutes after the hotter {before}, the step down soaks {soak} minutes",
            after=after.id,
            gap=gap,
            before=before.id,
            soak=soak,
        )
        yield _cast(after, text)


def machines_cast(case: Case) -> Iterator[Violation]:
    """Rule 8: a machine in service casts one flask at a time, with time to change crucibles."""
    for flask in case.free_flasks:
        yield from _on_machine(case, flask)
    for machine, casts in case.by_machine.items():
        for a, b in overlaps((f.cast_start, f.cast_end, f) for f in casts):
            if case.is_free(a) or case.is_free(b):
                yield _cast(
                    b,
                    say(
                        "flasks {a} and {b} are both on machine {machine} at {when}",
                        a=a.id,
                        b=b.id,
                        machine=machine,
                        when=case.when(b.cast_start),
                    ),
                )
        for before, after in pairwise(casts):
            if case.is_free(before) or case.is_free(after):
                yield from _crucible_change(case, before, after)


def _on_machine(case: Case, flask: PlannedFlask) -> Iterator[Violation]:
    machine = case.problem.machine.get(flask.machine)
    if machine is None:
        yield _cast(
            flask,
            say("flask {flask} is cast on machine {machine}, which the shop does not have", flask=flask.id, machine=flask.machine),
        )
        return
    if not machine.in_service:
        yield _cast(
            flask, say("machine {machine} is not in service, flask {flask} is cast on it", machine=machine.id, flask=flask.id)
        )
    if flask.cast_end - flask.cast_start != machine.minutes_per_cast:
        taken = flask.cast_end - flask.cast_start
        yield _cast(
            flask,
            say(
                "flask {flask} has {taken} minutes on {machine}, a cast takes {minutes_per_cast}",
                flask=flask.id,
                taken=taken,
                machine=machine.id,
                minutes_per_cast=machine.minutes_per_cast,
            ),
        )
    for outage in case.problem.machine_outages.get(machine.id, ()):
        if flask.cast_start < outage.end and outage.start < flask.cast_end:
            until = case.when(outage.end)
            yield _cast(
                flask,
                say(
                    "machine {machine} is down until {until}, flask {flask} is cast {when}",
                    machine=machine.id,
                    until=until,
                    flask=flask.id,
                    when=case.when(flask.cast_start),
                ),
            )


def _crucible_change(case: Case, before: PlannedFlask, after: PlannedFlask) -> Iterator[Violation]:
    if case.family(before) == case.family(after) or case.day(before.cast_start) != case.day(after.cast_start):
        return
    gap, change = after.cast_start - before.cast_end, case.problem.rules.crucible_change_minutes
    if gap < change:
        one, other = f"{before.id} ({case.family(before)})", f"{after.id} ({case.family(after)})"
        text = say(
            "{gap} minutes between flask {one} and {other} on {machine}, changing the crucible takes {change}",
            gap=gap,
            one=one,
            other=other,
            machine=after.machine,
            change=change,
        )
        yield _cast(after, text)


def people_cast(case: Case) -> Iterator[Violation]:
    """Rule 8: the machine's number of casters stands at it, each on shift and at one machine."""
    for flask in case.free_flasks:
        yield from _crew(case, flask)
    for person in dict.fromkeys(p for f in case.plan.flasks for p in f.people):
        casts = [f for f in case.plan.flasks if person in f.people]
        for a, b in overlaps((f.cast_start, f.cast_end, f) for f in casts):
            if (case.is_free(a) or case.is_free(b)) and a.id != b.id:
                yield _cast(
                    b,
                    say(
                        "{person} casts flasks {a} and {b} at once, at {when}",
                        person=person,
                        a=a.id,
                        b=b.id,
                        when=case.when(b.cast_start),
                    ),
                )


def _crew(case: Case, flask: PlannedFlask) -> Iterator[Violation]:
    machine = case.problem.machine.get(flask.machine)
    if machine and (len(flask.people) != machine.people or len(set(flask.people)) != len(flask.people)):
        named = ", ".join(flask.people) or say("nobody")
        yield _cast(
            flask,
            say(
                "{named} at flask {flask}, machine {machine} asks for {people} people",
                named=named,
                flask=flask.id,
                machine=machine.id,
                people=machine.people,
            ),
        )
    overtime = case.problem.rules.overtime_minutes
    for person in dict.fromkeys(flask.people):
        shifts = [s for s in case.problem.shifts if s.person == person and s.casts]
        if not any(s.opens <= flask.cast_start and flask.cast_end <= s.closes + overtime for s in shifts):
            span = say("{when} to {when2}", when=case.when(flask.cast_start), when2=case.when(flask.cast_end))
            text = say("{person} is not on shift to cast flask {flask} from {span}", person=person, flask=flask.id, span=span)
            yield _cast(flask, text)


def knocked_out(case: Case) -> Iterator[Violation]:
    """Rule 8: the alloy cools as it must, then somebody knocks the flask out."""
    for flask in case.free_flasks:
        melt = case.problem.melt.get(flask.melt)
        start, end, takes = flask.knockout_start, flask.knockout_end, case.problem.rules.knockout_minutes
        wait = melt.alloy.cooling.wait_minutes if melt else 0
        if start < flask.cast_end + wait:
            text = say(
                "flask {flask} is knocked out {has} minutes after the cast, {melt} waits {wait}",
                flask=flask.id,
                has=start - flask.cast_end,
                melt=flask.melt,
                wait=wait,
            )
            yield _cast(flask, text)
        if end != start + takes:
            yield _cast(
                flask,
                say(
                    "knocking out flask {flask} has {has} minutes, it takes {takes}",
                    flask=flask.id,
                    has=end - start,
                    takes=takes,
                ),
            )
        if not case.open_for(start, end, case.problem.rules.overtime_minutes):
            yield _cast(
                flask,
                say(
                    "flask {flask} is knocked out {when} to {when2}, when nobody is there",
                    flask=flask.id,
                    when=case.when(start),
                    when2=case.when(end),
                ),
            )
