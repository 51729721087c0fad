"""Rule 8: falling temperatures, one flask at a time per machine, the people at it, then cooling."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from domain.planning.checking.case import Case, Violation, degrees, overlaps
from domain.planning.plan import KilnLoad, PlannedFlask


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
        text = f"flask {flask.id} is cast {case.when(flask.cast_start)}, load {load.id} has soaked at {case.when(ready)}"
        yield _cast(flask, text)
    if flask.cast_start > ready + rules.hot_hold_minutes:
        text = f"flask {flask.id} waits hot until {case.when(flask.cast_start)}, load {load.id} may be held until "
        yield _cast(flask, text + case.when(ready + rules.hot_hold_minutes))


def _step(case: Case, before: PlannedFlask, after: PlannedFlask) -> Iterator[Violation]:
    if after.temperature > before.temperature:
        text = f"flask {after.id} at {degrees(after.temperature)} is cast after {before.id} at {degrees(before.temperature)}"
        yield _cast(after, text + ", a kiln only steps down")
    soak = case.problem.rules.step_soak_minutes
    if after.temperature < before.temperature and after.cast_start < before.cast_start + soak:
        text = f"flask {after.id} is cast {after.cast_start - before.cast_start} minutes after the hotter {before.id}"
        yield _cast(after, text + f", the step down soaks {soak} minutes")


def machines_cast(case: Case) -> Iterator[Violation]:
    """Rule 8: a machine in service casts one flask at a time, with time to change crucibles."""
    for flask in case.free_flasks:
        yield from _on_machine(case, flask)
    for machine, casts in case.by_machine.items():
        for a, b in overlaps((f.cast_start, f.cast_end, f) for f in casts):
            if case.is_free(a) or case.is_free(b):
                yield _cast(b, f"flasks {a.id} and {b.id} are both on machine {machine} at {case.when(b.cast_start)}")
        for before, after in pairwise(casts):
            if case.is_free(before) or case.is_free(after):
                yield from _crucible_change(case, before, after)


def _on_machine(case: Case, flask: PlannedFlask) -> Iterator[Violation]:
    machine = case.problem.machine.get(flask.machine)
    if machine is None:
        yield _cast(flask, f"flask {flask.id} is cast on machine {flask.machine}, which the shop does not have")
        return
    if not machine.in_service:
        yield _cast(flask, f"machine {machine.id} is not in service, flask {flask.id} is cast on it")
    if flask.cast_end - flask.cast_start != machine.minutes_per_cast:
        taken = flask.cast_end - flask.cast_start
        yield _cast(flask, f"flask {flask.id} has {taken} minutes on {machine.id}, a cast takes {machine.minutes_per_cast}")
    for outage in case.problem.machine_outages.get(machine.id, ()):
        if flask.cast_start < outage.end and outage.start < flask.cast_end:
            until = case.when(outage.end)
            yield _cast(
                flask, f"machine {machine.id} is down until {until}, flask {flask.id} is cast {case.when(flask.cast_start)}"
            )


def _crucible_change(case: Case, before: PlannedFlask, after: PlannedFlask) -> Iterator[Violation]:
    if case.family(before) == case.family(after) or case.day(before.cast_start) != case.day(after.cast_start):
        return
    gap, change = after.cast_start - before.cast_end, case.problem.rules.crucible_change_minutes
    if gap < change:
        text = f"{gap} minutes between flask {before.id} ({case.family(before)}) and {after.id} ({case.family(after)})"
        yield _cast(after, text + f" on {after.machine}, changing the crucible takes {change}")


def people_cast(case: Case) -> Iterator[Violation]:
    """Rule 8: the machine's number of casters stands at it, each on shift and at one machine."""
    for flask in case.free_flasks:
        yield from _crew(case, flask)
    for person in dict.fromkeys(p for f in case.plan.flasks for p in f.people):
        casts = [f for f in case.plan.flasks if person in f.people]
        for a, b in overlaps((f.cast_start, f.cast_end, f) for f in casts):
            if (case.is_free(a) or case.is_free(b)) and a.id != b.id:
                yield _cast(b, f"{person} casts flasks {a.id} and {b.id} at once, at {case.when(b.cast_start)}")


def _crew(case: Case, flask: PlannedFlask) -> Iterator[Violation]:
    machine = case.problem.machine.get(flask.machine)
    if machine and (len(flask.people) != machine.people or len(set(flask.people)) != len(flask.people)):
        named = ", ".join(flask.people) or "nobody"
        yield _cast(flask, f"{named} at flask {flask.id}, machine {machine.id} asks for {machine.people} people")
    overtime = case.problem.rules.overtime_minutes
    for person in dict.fromkeys(flask.people):
        shifts = [s for s in case.problem.shifts if s.person == person and s.casts]
        if not any(s.opens <= flask.cast_start and flask.cast_end <= s.closes + overtime for s in shifts):
            span = f"{case.when(flask.cast_start)} to {case.when(flask.cast_end)}"
            text = f"{person} is not on shift to cast flask {flask.id} from {span}"
            yield _cast(flask, text)


def knocked_out(case: Case) -> Iterator[Violation]:
    """Rule 8: the alloy cools as it must, then somebody knocks the flask out."""
    for flask in case.free_flasks:
        melt = case.problem.melt.get(flask.melt)
        start, end, takes = flask.knockout_start, flask.knockout_end, case.problem.rules.knockout_minutes
        wait = melt.alloy.cooling.wait_minutes if melt else 0
        if start < flask.cast_end + wait:
            text = f"flask {flask.id} is knocked out {start - flask.cast_end} minutes after the cast, {flask.melt} waits {wait}"
            yield _cast(flask, text)
        if end != start + takes:
            yield _cast(flask, f"knocking out flask {flask.id} has {end - start} minutes, it takes {takes}")
        if not case.open_for(start, end, case.problem.rules.overtime_minutes):
            yield _cast(flask, f"flask {flask.id} is knocked out {case.when(start)} to {case.when(end)}, when nobody is there")
