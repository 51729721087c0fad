"""The planned week as iCalendar (RFC 5545, with the name and the interval of RFC 7986).

Times are in UTC. A local time with a zone beside it cannot say which of the two hours it means in the night when
the clock is set back, and a kiln may well run through it; every calendar shows UTC in its reader's own zone.

Whoever has the address of a feed can read it: no customer, no person, no job, no mass of metal is in it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Protocol

from icalendar import Calendar, Event, vDatetime, vDuration

from domain.planning.clock import Minute
from domain.planning.plan import KilnLoad, Plan, PlannedFlask
from domain.planning.problem import Problem
from domain.saying import heard, listed, say
from webapp import formats

MEDIA_TYPE = "text/calendar; charset=utf-8"
PRODUCT = "-//Castweek//The planned week//EN"
ASK_AGAIN = timedelta(hours=1)

_NO_TEXT = re.compile("[\x00-\x08\x0b-\x1f\x7f]")
"""CONTROL of RFC 5545, section 3.1"""


class Named(Protocol):
    @property
    def name(self) -> str: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """``key``: the same for the same work in every version of the plan. Times in UTC. ``busy``: somebody has
    their hands full."""

    key: str
    kind: str
    start: datetime
    end: datetime
    summary: str
    description: str
    busy: bool = True


def entries_of(problem: Problem, plan: Plan) -> tuple[Entry, ...]:
    """All work of the plan that takes time, as it follows."""
    found = [
        *(_investing(problem, block) for block in _blocks(plan.flasks)),
        *(_kiln(problem, load) for load in plan.loads),
        *(_cast(problem, flask) for flask in plan.flasks),
        *(_knock_out(problem, flask) for flask in plan.flasks),
    ]
    return tuple(sorted(found, key=lambda entry: (entry.start, entry.key)))


def written(entries: Iterable[Entry], *, shop: str, made_at: datetime, version: int) -> bytes:
    """``shop``: tells this shop's entries from another's in one calendar. ``made_at``: when the plan was made (UTC).
    ``version``: of the plan; a later one stands for newer entries."""
    calendar = _empty()
    for entry in entries:
        event = Event()
        event.add("uid", f"{entry.key}.{shop}@castweek")
        event["dtstamp"] = event["last-modified"] = vDatetime(made_at.replace(microsecond=0))
        event.add("sequence", version)
        event.add("dtstart", entry.start)
        if entry.end > entry.start:
            event.add("dtend", entry.end)
        event.add("summary", _NO_TEXT.sub("", heard(entry.summary)))
        event.add("description", _NO_TEXT.sub("", heard(entry.description)))
        event.add("categories", [heard(entry.kind)])
        event.add("transp", "OPAQUE" if entry.busy else "TRANSPARENT")
        calendar.add_component(event)
    return bytes(calendar.to_ical())


def nothing_planned(today: date, now: datetime) -> bytes:
    """RFC 5545 knows no empty calendar, so one without a plan says so on ``today``. ``now`` in UTC."""
    calendar, event = _empty(), Event()
    event.add("uid", "no-plan@castweek")
    event.add("dtstamp", now.replace(microsecond=0))
    event.add("dtstart", today)
    event.add("summary", heard(say("No flask is planned yet")))
    event.add("description", heard(say("Plan the week in Castweek; its work then appears here.")))
    event.add("transp", "TRANSPARENT")
    calendar.add_component(event)
    return bytes(calendar.to_ical())


def _empty() -> Calendar:
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    for name in ("name", "x-wr-calname"):  # the standard's, and the one that is read
        calendar.add(name, "Castweek")
    calendar["refresh-interval"] = vDuration(ASK_AGAIN)
    calendar["refresh-interval"].params["VALUE"] = "DURATION"
    return calendar


def _blocks(flasks: Iterable[PlannedFlask]) -> Iterator[tuple[PlannedFlask, ...]]:
    """Flasks that are invested one right after the other."""
    block: list[PlannedFlask] = []
    for flask in sorted(flasks, key=lambda f: (f.invest_start, f.invest_end, f.id)):
        if block and flask.invest_start > max(f.invest_end for f in block):
            yield tuple(block)
            block = []
        block.append(flask)
    if block:
        yield tuple(block)


def _investing(problem: Problem, block: tuple[PlannedFlask, ...]) -> Entry:
    kinds = dict.fromkeys(_named(problem.investment, flask.investment) for flask in block)
    return Entry(
        key=f"invest-{block[0].id}",
        kind=say("Investing"),
        start=_utc(problem, block[0].invest_start),
        end=_utc(problem, max(flask.invest_end for flask in block)),
        summary=say("Invest {flasks}", flasks=_flasks(flask.id for flask in block)),
        description="\n".join([", ".join(kinds), *(f"{f.id}: {_named(problem.size, f.size)}" for f in block)]),
    )


def _kiln(problem: Problem, load: KilnLoad) -> Entry:
    """Its id comes again in other weeks, so the day belongs to its key."""
    return Entry(
        key=f"kiln-{load.id}-{problem.clock.day_of(load.start):%Y%m%d}",
        kind=say("Kiln"),
        start=_utc(problem, load.start),
        end=_utc(problem, load.program_end),
        summary=say(
            "{kiln}: load {load}, {flasks}", kiln=_named(problem.kiln, load.kiln), load=load.id, flasks=_flasks(load.flasks)
        ),
        description=say("Program {program}", program=_named(problem.program, load.program)),
        busy=False,
    )


def _cast(problem: Problem, flask: PlannedFlask) -> Entry:
    pieces = formats.count(sum(flask.contents.values()), "piece")
    return Entry(
        key=f"cast-{flask.id}",
        kind=say("Casting"),
        start=_utc(problem, flask.cast_start),
        end=_utc(problem, flask.cast_end),
        summary=say(
            "Cast flask {flask}: {alloy}, {size}",
            flask=flask.id,
            alloy=_alloy(problem, flask),
            size=_named(problem.size, flask.size),
        ),
        description=say(
            "{pieces}. Flask at {temperature}, from kiln load {load}. {machine}.",
            pieces=pieces,
            temperature=formats.temperature(flask.temperature),
            load=flask.load,
            machine=_named(problem.machine, flask.machine),
        ),
    )


def _knock_out(problem: Problem, flask: PlannedFlask) -> Entry:
    return Entry(
        key=f"knock-out-{flask.id}",
        kind=say("Knock-out"),
        start=_utc(problem, flask.knockout_start),
        end=_utc(problem, flask.knockout_end),
        summary=say("Knock out flask {flask}", flask=flask.id),
        description=f"{_alloy(problem, flask)}, {_named(problem.size, flask.size)}",
    )


def _alloy(problem: Problem, flask: PlannedFlask) -> str:
    """The alloy alone: whose metal it is does not leave the shop."""
    alloy = flask.melt.split("/")[0]
    return next((a.name for a in problem.shop.alloys if a.id == alloy), alloy)


def _named(nouns: Mapping[str, Named], id: str) -> str:
    """Its name; the id where the shop no longer has it."""
    return nouns[id].name if id in nouns else id


def _flasks(ids: Iterable[str]) -> str:
    names = tuple(ids)
    return say("flask {flask}", flask=names[0]) if len(names) == 1 else say("flasks {flasks}", flasks=listed(names))


def _utc(problem: Problem, minute: Minute) -> datetime:
    return problem.clock.local(minute).astimezone(UTC)
