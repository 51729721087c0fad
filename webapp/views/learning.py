"""What the record says, in words and drawn: suggestions, spreads, groups, defects by flask temperature."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime

from domain.floor.defects import defect
from domain.floor.learning import (
    RECENT,
    Band,
    CastFact,
    Decision,
    GroupFacts,
    Learned,
    Spread,
    Suggestion,
    bands_of,
    group_facts,
    spread_of,
)
from domain.floor.times import PastCast
from domain.saying import listed, say
from domain.shop.alloy import Alloy, Section
from domain.shop.casting import CastingMachine
from domain.shop.flask import FlaskSize
from domain.units import Mass, Share, Temperature, TemperatureRange, Volume
from webapp import formats

WIDTH, HEIGHT, MARGIN, DOT = 300, 46, 12, 4
BAR = 220
WORDS: Mapping[Learned, Callable[[int], str]] = {
    Learned.MINUTES: formats.minutes,
    Learned.MELT_LOSS: lambda ppm: formats.percent(Share(ppm), 2),
    Learned.BUTTON: lambda nl: formats.volume(Volume(nl), places=1),
}
CALLED = {
    Learned.MINUTES: say("minutes for each cast"),
    Learned.MELT_LOSS: say("melt loss"),
    Learned.BUTTON: say("fixed part of the button"),
}
PAGES = {Learned.MINUTES: "machines", Learned.MELT_LOSS: "alloys", Learned.BUTTON: "flask-sizes"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """``facts``: of casts, the oldest first. ``heats``: casts with the temperature at which the flask was cast."""

    facts: tuple[CastFact, ...]
    heats: tuple[tuple[PastCast, Temperature], ...]
    machines: Mapping[str, CastingMachine]
    alloys: Mapping[str, Alloy]
    sizes: Mapping[str, FlaskSize]
    suggestions: tuple[Suggestion, ...]
    decisions: tuple[Decision, ...]


def mark_of(one: Suggestion) -> str:
    """What is said yes or no to: other casts or another value are asked about again."""
    return f"{one.what.name}/{one.planned}/{one.use}/{one.subject}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """A suggestion in words. ``mark`` names it; ``href``: where the shop keeps the value."""

    mark: str
    name: str
    href: str
    says: str
    planned: str
    use: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """One dot for each cast. ``median`` and ``plan``: where their lines stand; ``words`` says the same."""

    width: int
    height: int
    dots: tuple[tuple[int, int], ...]
    median: int
    plan: int | None
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadLine:
    """A machine's minutes or an alloy's loss. ``usual`` and ``half`` are empty where there are too few casts to say."""

    name: str
    href: str
    count: int
    few: bool
    usual: str
    half: str
    planned: str
    strip: Strip


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupLine:
    """Cells in words: the median with its half, or how many casts there are too few."""

    alloy: str
    size: str
    machine: str
    casts: int
    minutes: str
    loss: str
    button: str
    yielded: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BandLine:
    """``bar``, ``least``, ``most``: the rate and its interval, in parts of the drawing's width."""

    heat: str
    casts: int
    few: bool
    pieces: int
    miscast: int
    rate: str
    between: str
    bar: int
    least: int
    most: int
    defects: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatTable:
    """Pieces of an alloy and section. ``planned``: the range that the shop keeps for it."""

    alloy: str
    href: str
    section: str
    planned: TemperatureRange | None
    width: int
    lines: tuple[BandLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DecisionLine:
    at: datetime
    name: str
    says: str
    accepted: bool
    who: str
    note: str


def asks(record: Record) -> tuple[Ask, ...]:
    return tuple(_ask(record, one) for one in record.suggestions)


def _ask(record: Record, one: Suggestion) -> Ask:
    words, name = WORDS[one.what], name_of(record, one.what, one.subject)
    half = say("half of them from {low} to {high}", low=words(one.seen.low), high=words(one.seen.high))
    measured = (
        say("the last {count} casts measured", count=one.seen.count)
        if one.of > one.seen.count
        else say("{count} casts measured", count=one.seen.count)
    )
    says = {
        Learned.MINUTES: say(
            "{name}: from one pour to the next it takes {median} ({measured}, {half}).",
            name=name,
            median=words(one.seen.median),
            measured=measured,
            half=half,
        ),
        Learned.MELT_LOSS: say(
            "{name}: a melt loses {median} of its charge ({measured}, {half}).",
            name=name,
            median=words(one.seen.median),
            measured=measured,
            half=half,
        ),
        Learned.BUTTON: say(
            "Flasks {name}: what is weighed in leaves {median} for the button's fixed part ({measured}, {half}).",
            name=name,
            median=words(one.seen.median),
            measured=measured,
            half=half,
        ),
    }[one.what]
    return Ask(
        mark=mark_of(one),
        name=say("{name}, {what}", name=name, what=CALLED[one.what]),
        href=f"/shop/{PAGES[one.what]}/{one.subject}",
        says=says,
        planned=words(one.planned),
        use=words(one.use),
    )


def name_of(record: Record, what: Learned, subject: str) -> str:
    if what is Learned.MINUTES:
        machine = record.machines.get(subject)
        return machine.name if machine else subject
    if what is Learned.MELT_LOSS:
        alloy = record.alloys.get(subject)
        return alloy.name if alloy else subject
    size = record.sizes.get(subject)
    return size.name if size else subject


def minute_lines(record: Record) -> tuple[SpreadLine, ...]:
    """How long the casts of each machine took."""
    lines = []
    for machine in record.machines.values():
        minutes = [f.minutes for f in record.facts if f.machine == machine.id and f.minutes is not None]
        lines.append(_spread_line(Learned.MINUTES, machine.id, machine.name, minutes, machine.minutes_per_cast))
    return tuple(line for line in lines if line is not None)


def loss_lines(record: Record) -> tuple[SpreadLine, ...]:
    """What the melts of each alloy lost."""
    lines = []
    for alloy in record.alloys.values():
        lost = [f.loss.base for f in record.facts if f.alloy == alloy.id and f.loss is not None]
        lines.append(_spread_line(Learned.MELT_LOSS, alloy.id, alloy.name, lost, alloy.melt_loss.base))
    return tuple(line for line in lines if line is not None)


def _spread_line(what: Learned, subject: str, name: str, values: list[int], planned: int) -> SpreadLine | None:
    seen, words = spread_of(values[-RECENT:]), WORDS[what]
    if seen is None:
        return None
    return SpreadLine(
        name=name,
        href=f"/shop/{PAGES[what]}/{subject}",
        count=seen.count,
        few=not seen.enough,
        usual=words(seen.median) if seen.enough else "",
        half=say("{low} to {high}", low=words(seen.low), high=words(seen.high)) if seen.enough else "",
        planned=words(planned),
        strip=_strip(seen, planned, words, name),
    )


def _strip(seen: Spread, planned: int, words: Callable[[int], str], name: str) -> Strip:
    low, high = min(seen.values[0], planned), max(seen.values[-1], planned)
    span = max(1, high - low)

    def x(value: int) -> int:
        return MARGIN + (value - low) * (WIDTH - 2 * MARGIN) // span

    dots: list[tuple[int, int]] = []
    for value in seen.values:
        place = x(value)
        under = sum(1 for other, _ in dots if abs(other - place) < DOT)
        dots.append((place, max(DOT, HEIGHT - 8 - under * DOT)))
    reach = say("{values} to {values2}", values=words(seen.values[0]), values2=words(seen.values[-1]))
    told = say(
        "{name}: {count} from {reach}, planned {planned}",
        name=name,
        count=formats.count(seen.count, "cast"),
        reach=reach,
        planned=words(planned),
    )
    return Strip(width=WIDTH, height=HEIGHT, dots=tuple(dots), median=x(seen.median), plan=x(planned), words=told)


def group_lines(record: Record) -> tuple[GroupLine, ...]:
    return tuple(_group_line(record, group) for group in group_facts(record.facts))


def _group_line(record: Record, group: GroupFacts) -> GroupLine:
    size = record.sizes.get(group.size)
    return GroupLine(
        alloy=name_of(record, Learned.MELT_LOSS, group.alloy),
        size=size.name if size else group.size or say("not known"),
        machine=name_of(record, Learned.MINUTES, group.machine),
        casts=group.casts,
        minutes=_cell(group.minutes, formats.minutes),
        loss=_cell(group.loss, lambda ppm: formats.percent(Share(ppm), 2)),
        button=_cell(group.button, lambda mg: formats.mass(Mass(mg), places=1)),
        yielded=_cell(group.yielded, lambda ppm: formats.percent(Share(ppm))),
    )


def _cell(seen: Spread | None, words: Callable[[int], str]) -> str:
    if seen is None:
        return say("not measured")
    if not seen.enough:
        return say("too few to say ({count})", count=seen.count)
    return say("{median} ({low} to {high})", median=words(seen.median), low=words(seen.low), high=words(seen.high))


def heat_tables(record: Record) -> tuple[HeatTable, ...]:
    """For each alloy and section of which pieces were looked at."""
    tables = []
    for alloy, section in dict.fromkeys((c.cast_as.alloy, p.section) for c, _ in record.heats for p in c.cast_as.patterns):
        bands = bands_of(record.heats, alloy, section)
        if bands:
            tables.append(_heat_table(record, alloy, section, bands))
    return tuple(sorted(tables, key=lambda t: (-sum(line.pieces for line in t.lines), t.alloy, t.section)))


def _heat_table(record: Record, alloy: str, section: Section, bands: tuple[Band, ...]) -> HeatTable:
    known = record.alloys.get(alloy)
    return HeatTable(
        alloy=known.name if known else alloy,
        href=f"/shop/alloys/{alloy}" if known else "",
        section=str(section),
        planned=known.flask_temperature[section] if known else None,
        width=BAR,
        lines=tuple(_band_line(band) for band in bands),
    )


def _band_line(band: Band) -> BandLine:
    return BandLine(
        heat=say(
            "{rpartition} to {high}",
            rpartition=formats.temperature(band.low).rpartition(formats.SPACE)[0],
            high=formats.temperature(band.high),
        ),
        casts=band.casts,
        few=not band.enough,
        pieces=band.pieces,
        miscast=band.miscast,
        rate=formats.percent(band.rate, 0),
        between=say("{least} to {most}", least=formats.percent(band.least, 0), most=formats.percent(band.most, 0)),
        bar=BAR * band.rate.base // 1_000_000,
        least=BAR * band.least.base // 1_000_000,
        most=BAR * band.most.base // 1_000_000,
        defects=listed(say("{count} {defect}", count=count, defect=defect(name).name) for name, count in band.defects),
    )


def decision_lines(record: Record, timezone: str) -> tuple[DecisionLine, ...]:
    return tuple(_decision(record, one, timezone) for one in record.decisions)


def _decision(record: Record, one: Decision, timezone: str) -> DecisionLine:
    words = WORDS[one.what]
    after = (
        say("{planned} became {use}", planned=words(one.planned), use=words(one.use))
        if one.accepted
        else say("{planned} kept, not {use}", planned=words(one.planned), use=words(one.use))
    )
    return DecisionLine(
        at=formats.local(one.at, timezone),
        name=say("{name}, {what}", name=name_of(record, one.what, one.subject), what=CALLED[one.what]),
        says=say("{after}, from {count}", after=after, count=formats.count(one.count, "cast")),
        accepted=one.accepted,
        who=one.who,
        note=one.note,
    )
