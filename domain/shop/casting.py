"""Casting machines, and the people who stand at them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from domain.shop.alloy import Heat
from domain.shop.burnout import Outage
from domain.sources import Source
from domain.units import Length, Mass, Volume


class MachineKind(StrEnum):
    CENTRIFUGE = "spring centrifuge"
    VACUUM = "vacuum"


@dataclass(frozen=True, slots=True, kw_only=True)
class CastingMachine:
    """``fits``: ids of the flask sizes it takes. Crucible limits by mass and by volume of melt.
    ``minutes_per_cast``: from one flask to the next with the same crucible.
    ``arm_radius`` and ``speed_rpm``: for the spin force, where it has an arm."""

    id: str
    name: str
    kind: MachineKind
    heat: Heat
    fits: frozenset[str]
    crucible_mass: Mass
    crucible_volume: Volume
    minutes_per_cast: int
    people: int = 1
    arm_radius: Length | None = None
    speed_rpm: int | None = None
    in_service: bool = True
    outages: tuple[Outage, ...] = ()
    sources: Mapping[str, Source] = field(default_factory=dict)


class Weekday(StrEnum):
    MONDAY = "Mon"
    TUESDAY = "Tue"
    WEDNESDAY = "Wed"
    THURSDAY = "Thu"
    FRIDAY = "Fri"
    SATURDAY = "Sat"
    SUNDAY = "Sun"


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """``opens`` and ``closes``: minutes after local midnight."""

    day: Weekday
    opens: int
    closes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class DayHours:
    """Hours on one ``day`` (ISO date) alone, in minutes after local midnight."""

    day: str
    opens: int
    closes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """``casts``: may stand at a casting machine. ``away``: holidays, illness. ``other_hours``: days on which
    these hours hold, whatever the week, absences and closures say."""

    id: str
    name: str
    casts: bool
    shifts: tuple[Shift, ...]
    away: tuple[Outage, ...] = ()
    other_hours: tuple[DayHours, ...] = ()
