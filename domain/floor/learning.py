"""What the record says about the shop: how long casts take, what melts lose, how large buttons are, at which flask
temperature pieces fail; and which values of the plan the shop's own casts speak against.

Medians and quartiles are used because one forgotten entry must not move them. A value of the plan is spoken against
where it lies outside the interval in which the median lies with 95 %, counted off from the ordered values (the
interval of the sign test; W. J. Conover, Practical Nonparametric Statistics, 3.2). All values are whole base units:
minutes, parts per million, nanolitres.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from fractions import Fraction
from math import comb, isqrt

from domain.floor.times import PastCast
from domain.shop.alloy import Section
from domain.units import Density, Mass, Share, Temperature, Volume

ENOUGH = 8
"""Casts from which on something is said. Common practice, no source."""
RECENT = 40
"""So many of the newest casts count: a shop changes."""
LONGEST, SHORTEST = 60, 2
"""Minutes from pour to pour that are still one cast: longer is a break, shorter was written down together."""
MILLION = 1_000_000
BAND = 25
"""Degrees Celsius of a band of flask temperatures."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CastFact:
    """What the record and the books hold of one cast; what is not known is none. ``minutes``: from the pour of the
    flask before, where the plan has both back to back on one machine. ``charged``: as weighed, none where nobody
    weighed. ``back``: button and sprues. ``sprues``, ``asked``, ``button``: sprues, charge and the button's fixed
    part, as planned then."""

    flask: str
    at: datetime
    alloy: str
    size: str
    machine: str
    minutes: int | None = None
    charged: Mass | None = None
    castings: Mass | None = None
    back: Mass | None = None
    sprues: Mass | None = None
    asked: Mass | None = None
    button: Volume | None = None

    @property
    def loss(self) -> Share | None:
        """Of the charge, below nothing where more came out than went in."""
        if not self.charged or not self.charged.base or self.castings is None or self.back is None:
            return None
        lost = self.charged - self.castings - self.back
        return Share(round(Fraction(lost.base * MILLION, self.charged.base)))

    @property
    def yielded(self) -> Share | None:
        """Castings of the charge."""
        if not self.charged or not self.charged.base or self.castings is None:
            return None
        return Share(round(Fraction(self.castings.base * MILLION, self.charged.base)))

    @property
    def button_mass(self) -> Mass | None:
        """What came back less the sprues, which are cut as planned."""
        return None if self.back is None or self.sprues is None else Mass(max(0, self.back.base - self.sprues.base))


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """``values`` in their order of size. Half of them lie from ``low`` to ``high``."""

    values: tuple[int, ...]
    median: int
    low: int
    high: int

    @property
    def count(self) -> int:
        return len(self.values)

    @property
    def enough(self) -> bool:
        return self.count >= ENOUGH


def spread_of(values: Iterable[int]) -> Spread | None:
    """Median and quartiles, interpolated between neighbours; none of nothing."""
    ordered = tuple(sorted(values))
    if not ordered:
        return None
    return Spread(values=ordered, median=_quantile(ordered, 2), low=_quantile(ordered, 1), high=_quantile(ordered, 3))


def _quantile(ordered: Sequence[int], quarters: int) -> int:
    place = Fraction(quarters * (len(ordered) - 1), 4)
    below = int(place)
    above = min(below + 1, len(ordered) - 1)
    return round(ordered[below] + (ordered[above] - ordered[below]) * (place - below))


def median_between(ordered: Sequence[int]) -> tuple[int, int]:
    """Between which two of the ordered values the median of all casts lies, with at least 95 % where there are six
    values or more, with less where there are fewer."""
    count, outside, cut = len(ordered), 0, 0
    while cut < count // 2 and 40 * (outside + comb(count, cut)) <= 2**count:
        outside += comb(count, cut)
        cut += 1
    cut = max(cut, 1)
    return ordered[cut - 1], ordered[count - cut]


class Learned(StrEnum):
    """A value of the plan that the record may speak against."""

    MINUTES = "minutes for each cast"
    MELT_LOSS = "melt loss"
    BUTTON = "fixed part of the button"


STEPS = {Learned.MINUTES: 1, Learned.MELT_LOSS: 500, Learned.BUTTON: 100_000}
"""To what a suggested value is rounded: a minute, 0.05 %, 0.1 cm³."""
LEAST = {Learned.MINUTES: 1, Learned.MELT_LOSS: 2_000, Learned.BUTTON: 200_000}
"""Smaller differences are not worth a change: a minute, 0.2 %, 0.2 cm³. Common practice, no source."""


def noticeable(what: Learned, planned: int) -> int:
    """From which difference on a change is worth it: a tenth of what is planned, and not less than ``LEAST``."""
    return max(LEAST[what], -(-planned // 10))


@dataclass(frozen=True, slots=True, kw_only=True)
class Suggestion:
    """``subject``: the id of the machine, alloy or flask size whose value is ``planned``; ``use`` instead. ``of``:
    so many casts were measured in all, of which ``seen`` holds the newest."""

    what: Learned
    subject: str
    planned: int
    use: int
    seen: Spread
    of: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """What the shop made of a suggestion, when, and why. ``count``: of the casts measured then."""

    what: Learned
    subject: str
    accepted: bool
    planned: int
    use: int
    count: int
    at: datetime
    who: str = ""
    note: str = ""

    def holds(self, suggestion: Suggestion) -> bool:
        """Whether it answers the suggestion too: refused, and neither plan nor record has changed noticeably since."""
        if self.accepted or (self.what, self.subject) != (suggestion.what, suggestion.subject):
            return False
        near = abs(self.use - suggestion.use) < noticeable(self.what, self.planned)
        return near and self.planned == suggestion.planned and suggestion.of < 2 * self.count


def suggestion(what: Learned, subject: str, planned: int, values: Sequence[int]) -> Suggestion | None:
    """What ``values`` (the oldest first) suggest in place of ``planned``; none where they are too few, agree with it,
    differ by too little, or cannot be (a loss below nothing)."""
    seen = spread_of(values[-RECENT:])
    if seen is None or not seen.enough:
        return None
    low, high = median_between(seen.values)
    use = round(Fraction(seen.median, STEPS[what])) * STEPS[what]
    if low <= planned <= high or use < 0 or (what is Learned.MINUTES and use < 1):
        return None
    if abs(use - planned) < noticeable(what, planned):
        return None
    return Suggestion(what=what, subject=subject, planned=planned, use=use, seen=seen, of=len(values))


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupFacts:
    """The newest casts of one alloy, size and machine; what nobody measured is none."""

    alloy: str
    size: str
    machine: str
    casts: int
    minutes: Spread | None
    loss: Spread | None
    button: Spread | None
    yielded: Spread | None


def group_facts(facts: Iterable[CastFact]) -> tuple[GroupFacts, ...]:
    """By alloy, size and machine; those with the most casts first."""
    groups: dict[tuple[str, str, str], list[CastFact]] = {}
    for fact in sorted(facts, key=lambda one: one.at):
        groups.setdefault((fact.alloy, fact.size, fact.machine), []).append(fact)
    found = [_group(key, mine) for key, mine in groups.items()]
    return tuple(sorted(found, key=lambda g: (-g.casts, g.alloy, g.size, g.machine)))


def _group(key: tuple[str, str, str], facts: Sequence[CastFact]) -> GroupFacts:
    alloy, size, machine = key
    newest = facts[-RECENT:]
    return GroupFacts(
        alloy=alloy,
        size=size,
        machine=machine,
        casts=len(facts),
        minutes=spread_of(f.minutes for f in newest if f.minutes is not None),
        loss=spread_of(f.loss.base for f in newest if f.loss is not None),
        button=spread_of(f.button_mass.base for f in newest if f.button_mass is not None),
        yielded=spread_of(f.yielded.base for f in newest if f.yielded is not None),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """Pieces cast with the flask from ``low`` up to, not including, ``high``. The rate of miscast ones lies from
    ``least`` to ``most`` with 95 %. ``defects``: pieces by the id of their defect, the most frequent first."""

    low: Temperature
    high: Temperature
    casts: int
    pieces: int
    miscast: int
    least: Share
    most: Share
    defects: tuple[tuple[str, int], ...]

    @property
    def rate(self) -> Share:
        return Share(round(Fraction(self.miscast * MILLION, self.pieces)))

    @property
    def enough(self) -> bool:
        return self.casts >= ENOUGH


def bands_of(casts: Iterable[tuple[PastCast, Temperature]], alloy: str, section: Section) -> tuple[Band, ...]:
    """Pieces of an alloy and section that were looked at, by the temperature of their flask, the coldest first."""
    found: dict[int, list[tuple[str, int]]] = {}
    flasks: dict[int, int] = {}
    for cast, temperature in casts:
        jobs = {p.job for p in cast.cast_as.patterns if p.section is section}
        seen = cast.outcomes_of(jobs)
        if cast.cast_as.alloy == alloy and seen:
            band = temperature.millidegrees // (BAND * 1000)
            found.setdefault(band, []).extend((one.defect, one.pieces) for one in seen)
            flasks[band] = flasks.get(band, 0) + 1
    return tuple(_band(number, flasks[number], found[number]) for number in sorted(found))


def _band(number: int, casts: int, outcomes: Sequence[tuple[str, int]]) -> Band:
    pieces = sum(count for _, count in outcomes)
    by_defect: dict[str, int] = {}
    for name, count in outcomes:
        if name:
            by_defect[name] = by_defect.get(name, 0) + count
    miscast = sum(by_defect.values())
    least, most = rate_between(miscast, pieces)
    return Band(
        low=Temperature.c(number * BAND),
        high=Temperature.c((number + 1) * BAND),
        casts=casts,
        pieces=pieces,
        miscast=miscast,
        least=least,
        most=most,
        defects=tuple(sorted(by_defect.items(), key=lambda one: (-one[1], one[0]))),
    )


def rate_between(bad: int, of: int) -> tuple[Share, Share]:
    """Between which rates the true one lies with 95 %, when ``bad`` of ``of`` (at least one) were: E. B. Wilson,
    J. Am. Stat. Assoc. 22 (1927) 209–212; p̂ is drawn towards one half by z² = 1.959964²."""
    z2 = Fraction(3_841_459, MILLION)
    share, weight = Fraction(bad, of), 1 + z2 / of
    middle = (share + z2 / (2 * of)) / weight
    square = z2 * (share * (1 - share) / of + z2 / (4 * of * of)) / (weight * weight)
    reach = Fraction(isqrt(int(square * MILLION**2)), MILLION)
    return Share(max(0, round((middle - reach) * MILLION))), Share(min(MILLION, round((middle + reach) * MILLION)))


def minutes_between(before: datetime | None, poured: datetime) -> int | None:
    """Minutes of a cast from the pour before; none where that is not known, was a break, or was written down together."""
    if before is None:
        return None
    minutes = round((poured - before).total_seconds() / 60)
    return minutes if SHORTEST <= minutes <= LONGEST else None


def fixed_button(fact: CastFact, melt_loss: Share, density: Density) -> int | None:
    """The button's fixed part, in nanolitres, that the charge as weighed amounts to: what the plan reckoned with, and
    what the shop weighed beyond the plan's charge after its melt loss. Buttons as they came out are no measure for the
    plan: pieces that came out lighter than planned leave larger buttons however much is charged."""
    if fact.charged is None or fact.asked is None or fact.button is None:
        return None
    more = Fraction((fact.charged.base - fact.asked.base) * (MILLION - melt_loss.base), MILLION)
    return max(0, fact.button.base + round(more * MILLION / density.base))
