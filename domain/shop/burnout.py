"""Burnout programs and kilns."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from domain.shop.alloy import Bond
from domain.sources import Source
from domain.units import Length, Temperature


class Purpose(StrEnum):
    DEWAX = "dewax"
    BURN = "burn"
    CURE = "cure"
    COOL = "cool to flask temperature"


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """Reach ``target`` in ``ramp_minutes``, then hold it for ``hold_minutes``."""

    target: Temperature
    ramp_minutes: int
    hold_minutes: int
    purpose: Purpose


@dataclass(frozen=True, slots=True, kw_only=True)
class BurnoutProgram:
    """The program up to the end of its last segment. The soak at flask temperature that follows
    belongs to the kiln load, because it depends on what is in it. ``bonds``: which investments
    it is written for."""

    id: str
    name: str
    segments: tuple[Segment, ...]
    bonds: frozenset[Bond]
    sources: Mapping[str, Source] = field(default_factory=dict)

    @property
    def minutes(self) -> int:
        """Total time from kiln start to the end of the last segment."""
        return sum(s.ramp_minutes + s.hold_minutes for s in self.segments)

    @property
    def peak(self) -> Temperature:
        return max(s.target for s in self.segments)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outage:
    """Not in service from ``first`` to ``last`` day (ISO dates, both included)."""

    first: str
    last: str
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kiln:
    """``width`` × ``depth`` of the usable floor, ``height`` of the chamber. Flasks stand in rows,
    ``gap`` apart and from the walls. ``unattended``: may run (and start by its timer) with nobody
    in the shop, which is for the fire code, the landlord and the insurer to allow. ``nights``: days (ISO
    dates) on which a load that goes in may do so all the same, if its program ends by noon of the day after.
    ``cooldown_minutes``: from the last flask out until the next load may go in. ``cost``: what one
    load is worth in the plan's cost units."""

    id: str
    name: str
    width: Length
    depth: Length
    height: Length
    gap: Length
    top_temperature: Temperature
    fastest_ramp: int
    """degrees Celsius an hour"""
    in_service: bool
    unattended: bool
    cooldown_minutes: int
    cost: int
    outages: tuple[Outage, ...] = ()
    nights: tuple[str, ...] = ()
    sources: Mapping[str, Source] = field(default_factory=dict)
