"""A flask on the tablet: its steps, the fields of one, its record, and the last times."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TypeAlias

from domain.books.entries import WEIGHED, EntryKind
from domain.floor.asks import ASKS, Asked, Kind, Value, kept
from domain.floor.defects import Defect, defect
from domain.floor.expect import Expected, Wait, left
from domain.floor.stages import Stage, missing, too_late
from domain.floor.times import Outcome, PastCast, Time
from domain.floor.work import FloorFlask, Work
from domain.saying import listed, say
from domain.units import Mass, Pressure, Temperature
from webapp import formats
from webapp.languages.recall import recalled
from webapp.steady import utc_now
from webapp.store.books import Entry
from webapp.store.charges import Weighed
from webapp.store.floor import Happened
from webapp.views.check_links import CheckLink
from webapp.ways import current

Local: TypeAlias = Callable[[datetime], datetime]
"""A moment of the record on the shop's own clock."""

DOES = {
    Stage.INVESTED: say("Invest the flask"),
    Stage.LOADED: say("Load it into the kiln"),
    Stage.STARTED: say("Start the program"),
    Stage.CAST: say("Cast the flask"),
    Stage.QUENCHED: say("Quench it"),
    Stage.KNOCKED_OUT: say("Knock it out"),
}
HINTS = {
    Stage.LOADED: say("Paper does not go into a kiln: scratch the flask's number into the investment, or wire a steel tag to it."),
    Stage.STARTED: say("One press starts the record of all flasks that are in this kiln."),
    Stage.QUENCHED: say("The wait counts from the pour. Goggles and apron on; steam and hot investment spit."),
    Stage.KNOCKED_OUT: say("Wet, or under the extraction with a respirator: the dust of investment holds silica."),
}
LABELS = {asked.name: asked for asks in ASKS.values() for asked in asks}


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One line of the way. ``href``: where it is done; empty while ``waits`` says what must be first, or it is
    done and not done again. ``told``: what was written down, in words."""

    name: str
    done: bool
    at: datetime | None = None
    who: str = ""
    told: tuple[str, ...] = ()
    href: str = ""
    waits: str = ""
    next: bool = False


def steps(
    local: Local,
    flask: FloorFlask,
    rows: tuple[Happened, ...],
    entries: tuple[Entry, ...],
    tree: Weighed | None,
    checks: Mapping[str, tuple[CheckLink, ...]],
) -> list[Step]:
    """The whole way of a flask, from its tree to its pieces; next is the first that can be done. ``checks``: the
    checklists by the stage that they stand before."""
    name = flask.planned.id
    last = {one.stage: one for one in rows}
    address = f"/flask/{name}"
    found = [_tree_step(local, tree, last, address)]
    for stage in DOES:
        if stage is Stage.QUENCHED and not flask.quenches:
            continue
        if stage is Stage.CAST:
            found.append(_charge_step(local, entries, address))
        step = _stage_step(local, stage, last, address)
        before = () if stage is Stage.KNOCKED_OUT and flask.quenches else checks.get(stage, ())
        found += [_check_step(link, step) for link in before]
        found.append(step)
    found += [_out_step(local, entries, last, address), _pieces_step(rows, address)]
    coming = next((step for step in found if step.href and not step.done), None)
    return [replace(step, next=step is coming) for step in found]


def _tree_step(local: Local, tree: Weighed | None, last: Mapping[Stage, Happened], address: str) -> Step:
    told = (say("{gross} with its base of {base}", gross=formats.mass(tree.gross), base=formats.mass(tree.base)),) if tree else ()
    href = "" if Stage.INVESTED in last else f"{address}/tree"
    return Step(name=say("Weigh the tree"), done=tree is not None, at=local(tree.at) if tree else None, told=told, href=href)


def _charge_step(local: Local, entries: tuple[Entry, ...], address: str) -> Step:
    return _weighed(local, say("Weigh the charge"), entries, EntryKind.CHARGE, f"{address}/metal#in")


def _weighed(local: Local, name: str, entries: tuple[Entry, ...], kind: EntryKind, href: str, waits: str = "") -> Step:
    found = [e for e in entries if e.kind is kind and e.reverses is None and e.taken_back_by is None]
    at = local(found[0].at) if found else None
    return Step(name=name, done=bool(found), at=at, href="" if waits else href, waits=waits)


def _out_step(local: Local, entries: tuple[Entry, ...], last: Mapping[Stage, Happened], address: str) -> Step:
    waits = "" if Stage.KNOCKED_OUT in last else say("not knocked out yet")
    return _weighed(local, say("Cut off, weigh castings and returns"), entries, EntryKind.CAST, f"{address}/metal#out", waits)


def _stage_step(local: Local, stage: Stage, last: Mapping[Stage, Happened], address: str) -> Step:
    one = last.get(stage)
    if one is not None:
        told = tuple(readings_in_words(local, one.readings))
        return Step(name=DOES[stage], done=True, at=local(one.at), who=one.who, told=told)
    before = missing(stage, last) or too_late(stage, last)
    waits = ""
    if before and missing(stage, last):
        waits = say("not {before} yet", before=say(str(before)))
    elif before:
        waits = say("{before} already", before=say(str(before)))
    href = "" if waits else f"{address}/floor/{stage.name.lower()}"
    return Step(name=DOES[stage], done=False, href=href, waits=waits)


def _check_step(link: CheckLink, step: Step) -> Step:
    """The checklist before ``step``."""
    return Step(name=say("Check {title}", title=link.title), done=step.done or not link.holds, told=(link.words,), href=link.href)


def _pieces_step(rows: tuple[Happened, ...], address: str) -> Step:
    out = any(one.stage is Stage.KNOCKED_OUT for one in rows)
    seen = sum(count for one in rows if one.stage is Stage.LOOKED_AT for count in one.pieces.values())
    held = sum(count for one in rows if one.stage is Stage.KNOCKED_OUT for count in one.pieces.values())
    told = (say("{seen} of {held} looked at", seen=seen, held=formats.count(held, "piece")),) if seen else ()
    done = out and seen >= held
    return Step(
        name=say("Look at each piece"),
        done=done,
        told=told,
        href=f"{address}/pieces" if out else "",
        waits="" if out else say("not knocked out yet"),
    )


def wait_words(local: Local, wait: Wait | None) -> str:
    """Until when it waits, on the shop's clock, and how long that still is."""
    if wait is None:
        return ""
    until, now = local(wait.until), utc_now()
    moment = formats.clock(until) if until.date() == local(now).date() else formats.moment(until)
    if wait.until > now:
        return say("{what} ends at {moment}, {left} to go", what=wait.what, moment=moment, left=left(wait.until - now))
    return say("{what} ends at {moment}, it is over", what=wait.what, moment=moment)


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """A field of the form. ``expects``: the planned value, or the usual range, in words; ``source`` of the latter."""

    asked: Asked
    text: str
    expects: str
    source: str
    options: tuple[tuple[str, str], ...]
    unit: str


def fields(work: Work, typed: Mapping[str, str]) -> tuple[Field, ...]:
    return tuple(
        Field(
            asked=asked,
            text=typed.get(asked.name, work.planned.get(asked.name, "") if asked.kind is Kind.CHOICE else ""),
            expects=_expects(work.expected.get(asked.name), work.planned.get(asked.name, "")),
            source=_source(work.expected.get(asked.name)),
            options=tuple(("".join(option), option) for option in work.choices.get(asked.name, ())),
            unit=_unit(asked),
        )
        for asked in work.asks
    )


def _unit(asked: Asked) -> str:
    ways = current()
    units_of = {Kind.MASS: ways.investment, Kind.TEMPERATURE: ways.degrees, Kind.PRESSURE: "mbar", Kind.MINUTES: "min"}
    return units_of.get(asked.kind, "")


def _source(expected: Expected | None) -> str:
    return "" if expected is None or expected.source is None else str(expected.source)


def _expects(expected: Expected | None, planned: str) -> str:
    if expected is None:
        return say("planned: {planned}", planned=planned) if planned else ""
    told = [say("planned: {planned}", planned=in_words(expected.planned))] if expected.planned is not None else []
    if expected.low is not None and expected.high is not None and not isinstance(expected.planned, Mass):
        ends = say("{low} to {high}", low=in_words(expected.low), high=in_words(expected.high))
        told.append(say("usual: {ends}", ends=ends) if expected.planned is None else say("its pieces allow {ends}", ends=ends))
    return listed(told, "; ")


def in_words(value: Value) -> str:
    if isinstance(value, Mass):
        return formats.bulk(value, 0 if value >= Mass.g(100) else 2)
    if isinstance(value, Temperature):
        return formats.temperature(value)
    if isinstance(value, Pressure):
        return f"{formats.number(value.decimal('mbar', 0))} mbar"
    return recalled(value) if isinstance(value, str) else str(value)


SEEN = {
    "ventilation": say("The ventilation is on, and stays on until the last flask is cold"),
    "no_glow": say("Button and flask do not glow in the shade"),
}
"""What was ticked, as the record tells it."""


def readings_in_words(local: Local, readings: Mapping[str, str]) -> Iterable[str]:
    """What was read, each with its label and unit."""
    for name, text in readings.items():
        asked = LABELS.get(name)
        if asked is None:
            continue
        value = kept(asked, text)
        if asked.kind is Kind.YES:
            yield SEEN[name]
        elif isinstance(value, datetime):
            yield say("{label} {value}", label=asked.label, value=formats.clock(local(value)))
        else:
            told = f"{in_words(value)} min" if asked.kind is Kind.MINUTES else in_words(value)
            yield say("{label}: {told}", label=say("metal, judged by eye") if name == "judgement" else asked.label, told=told)


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordLine:
    """``undone``: when it was taken back; none where it stands. ``struck``: who took it back."""

    at: datetime
    what: str
    who: str
    told: tuple[str, ...]
    undone: datetime | None = None
    struck: str = ""


def record_lines(
    local: Local,
    rows: tuple[Happened, ...],
    entries: tuple[Entry, ...],
    trees: tuple[Weighed, ...],
    ticked: tuple[RecordLine, ...],
) -> tuple[RecordLine, ...]:
    """Everything that was written down for a flask, in the order of time, what was undone with it."""
    lines = [*_floor_lines(local, rows), *_book_lines(local, entries), *ticked]
    lines += [
        RecordLine(
            at=local(t.at),
            what=say("tree weighed"),
            who=t.who,
            told=(say("{gross}, base {base}", gross=formats.mass(t.gross), base=formats.mass(t.base)),),
        )
        for t in trees
    ]
    return tuple(sorted(lines, key=lambda line: line.at))


def _floor_lines(local: Local, rows: tuple[Happened, ...]) -> Iterable[RecordLine]:
    backs = {row.takes_back: row for row in rows if row.takes_back is not None}
    for row in rows:
        if row.takes_back is not None:
            continue
        back = backs.get(row.id)
        yield RecordLine(
            at=local(row.at),
            what=say(str(row.stage)),
            who=row.who,
            told=(*_pieces_told(row), *readings_in_words(local, row.readings), *([row.note] if row.note else [])),
            undone=local(back.at) if back else None,
            struck=back.who if back else "",
        )


def _pieces_told(row: Happened) -> Iterable[str]:
    if row.stage is Stage.LOOKED_AT:
        outcome = row.readings.get("outcome", "")
        for job, count in row.pieces.items():
            told = say("miscast: {defect}", defect=defect(outcome).name) if outcome else say("passed")
            yield say("{count} of {job} {told}", count=count, job=job, told=told)
    elif row.stage is Stage.RECAST:
        yield say("{job} again as {recast}", job=row.readings.get("job", ""), recast=row.readings.get("recast", ""))


def _book_lines(local: Local, entries: tuple[Entry, ...]) -> Iterable[RecordLine]:
    back = {e.reverses: e for e in entries if e.reverses is not None}
    for entry in entries:
        if entry.kind in WEIGHED:
            undo = back.get(entry.id)
            yield RecordLine(
                at=local(entry.at),
                what=WEIGHED[entry.kind],
                who=entry.who,
                told=(entry.note,) if entry.note else (),
                undone=local(undo.at) if undo else None,
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeLine:
    """One of the last times, in words."""

    at: datetime
    flask: str
    patterns: str
    planned: Temperature
    flask_read: str
    metal: str
    machine: str
    force: str
    outcomes: tuple[tuple[str, bool], ...]


def time_lines(local: Local, times: tuple[Time, ...]) -> tuple[TimeLine, ...]:
    return tuple(_time_line(local, time) for time in times)


def _time_line(local: Local, time: Time) -> TimeLine:
    readings = time.cast.readings
    return TimeLine(
        at=local(time.cast.at),
        flask=time.cast.flask,
        patterns=", ".join(f"{p.pieces} × {p.item}" for p in time.patterns),
        planned=time.cast.cast_as.flask_temperature,
        flask_read=_read("flask_temperature", readings),
        metal=_read("metal_temperature", readings) or readings.get("judgement", ""),
        machine=time.cast.cast_as.machine,
        force=say("{number} turns", number=readings["turns"]) if "turns" in readings else _read("vacuum", readings),
        outcomes=tuple((_outcome(one), not one.defect) for one in time.outcomes),
    )


def _read(name: str, readings: Mapping[str, str]) -> str:
    return in_words(kept(LABELS[name], readings[name])) if name in readings else ""


def _outcome(one: Outcome) -> str:
    if one.defect:
        return say("{pieces} miscast: {defect}", pieces=one.pieces, defect=defect(one.defect).name)
    return say("{pieces} passed", pieces=one.pieces)


def past_casts(casts: Iterable[Happened], looked_at: Iterable[Happened]) -> tuple[PastCast, ...]:
    """Casts with what became of their pieces."""
    seen: dict[str, list[Outcome]] = {}
    for one in looked_at:
        for job, count in one.pieces.items():
            seen.setdefault(one.flask, []).append(Outcome(job=job, pieces=count, defect=one.readings.get("outcome", "")))
    return tuple(
        PastCast(flask=c.flask, at=c.at, cast_as=c.cast_as, readings=c.readings, outcomes=tuple(seen.get(c.flask, ())))
        for c in casts
        if c.cast_as is not None
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Met:
    """A stage that somebody else has written down otherwise: the row's id, when, by whom, and by label what differs."""

    row: int
    at: datetime
    who: str
    differs: tuple[tuple[str, str, str], ...]


def met(local: Local, theirs: Happened, yours: Mapping[str, Value]) -> Met:
    """``theirs`` as it stands in the record, ``yours`` as typed."""
    names = [name for name in LABELS if name in theirs.readings or name in yours]
    told = [(name, _told(local, name, theirs.readings.get(name, "")), _value(local, yours.get(name))) for name in names]
    differs = tuple(
        (LABELS[name].label, one or say("nothing"), other or say("nothing")) for name, one, other in told if one != other
    )
    return Met(row=theirs.id, at=local(theirs.at), who=theirs.who, differs=differs)


def _told(local: Local, name: str, text: str) -> str:
    return _value(local, kept(LABELS[name], text)) if text else ""


def _value(local: Local, value: Value | None) -> str:
    if value is None:
        return ""
    return formats.clock(local(value)) if isinstance(value, datetime) else in_words(value)


def defect_of(row: Happened) -> Defect:
    return defect(row.readings["outcome"])
