"""The last times a pattern, or an alloy at a section, was cast, and how it came out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from domain.shop.alloy import Section
from domain.units import Mass, Temperature, Volume

LAST = 5
"""so many times are shown"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PatternCast:
    """Pieces of one pattern in a cast flask. ``item``: what people call the pattern."""

    job: str
    item: str
    section: Section
    pieces: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CastAs:
    """What a flask held and how it was to be cast, kept with the cast: jobs and plans change afterwards.

    ``machine``: its name, ``machine_id`` its id; ``size``: of the flask. ``follows``: the flask that the plan cast right
    before it on the same machine. ``asked``: the planned charge, ``sprues``: feeds and trunk in it, ``button``: the
    fixed part of its button. Empty or none where that is not known."""

    alloy: str
    flask_temperature: Temperature
    machine: str
    patterns: tuple[PatternCast, ...]
    machine_id: str = ""
    size: str = ""
    follows: str = ""
    asked: Mass | None = None
    sprues: Mass | None = None
    button: Volume | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """``pieces`` of a job that came out alike. ``defect``: its id, empty for pieces that passed."""

    job: str
    pieces: int
    defect: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PastCast:
    """``at`` in UTC. ``readings``: as they were written down."""

    flask: str
    at: datetime
    cast_as: CastAs
    readings: Mapping[str, str]
    outcomes: tuple[Outcome, ...]

    def outcomes_of(self, jobs: Iterable[str]) -> tuple[Outcome, ...]:
        wanted = set(jobs)
        return tuple(one for one in self.outcomes if one.job in wanted)


@dataclass(frozen=True, slots=True, kw_only=True)
class Time:
    """One time: the cast, and of it the patterns that were looked for with what became of them."""

    cast: PastCast
    patterns: tuple[PatternCast, ...]

    @property
    def outcomes(self) -> tuple[Outcome, ...]:
        return self.cast.outcomes_of(p.job for p in self.patterns)


def same_pattern(casts: Iterable[PastCast], item: str) -> tuple[Time, ...]:
    """The last times that a pattern of this name was cast, in whatever alloy, the newest first."""
    wanted = _plain(item)
    return _newest((c, tuple(p for p in c.cast_as.patterns if _plain(p.item) == wanted)) for c in casts)


def same_alloy(casts: Iterable[PastCast], alloy: str, section: Section) -> tuple[Time, ...]:
    """The last times that this alloy was cast in pieces of this section, the newest first."""
    return _newest((c, tuple(p for p in c.cast_as.patterns if p.section is section)) for c in casts if c.cast_as.alloy == alloy)


def _newest(found: Iterable[tuple[PastCast, tuple[PatternCast, ...]]]) -> tuple[Time, ...]:
    times = [Time(cast=cast, patterns=patterns) for cast, patterns in found if patterns]
    return tuple(sorted(times, key=lambda time: time.cast.at, reverse=True)[:LAST])


def _plain(name: str) -> str:
    return " ".join(name.split()).casefold()
