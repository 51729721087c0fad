"""The shop: everything that stays from week to week, in one value."""

from __future__ import annotations

from dataclasses import dataclass

from domain.shop.alloy import Alloy
from domain.shop.burnout import BurnoutProgram, Kiln, Outage
from domain.shop.casting import CastingMachine, Person
from domain.shop.flask import FlaskSize
from domain.shop.investment import InvestmentKind
from domain.shop.lots import Metal
from domain.shop.pattern import PatternMaterial
from domain.units import Length, Mass, Share


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopRules:
    """The shop's own rules, all editable. Times in minutes.

    ``piece_gap`` between pieces in a ring, ``ring_gap`` between rings, ``wall_clearance`` from the
    tree to the flask wall, ``top_clearance`` above the tip. ``feed_length`` and ``feed_diameter`` of
    one feed sprue. ``button_share`` of pieces, feeds and trunk, on top of the base's fixed volume.
    ``soak_minutes`` at flask temperature before the first cast; ``step_soak_minutes`` after each
    step down. ``hot_hold_minutes``: how long a flask may wait hot after its program's end.
    ``clean_minutes``: until returns are back on the shelf. ``overtime_minutes`` a day at most.
    ``horizon_days``: calendar days that a plan looks ahead.
    """

    timezone: str = "UTC"
    piece_gap: Length = Length(3_000)
    ring_gap: Length = Length(3_000)
    wall_clearance: Length = Length(6_000)
    top_clearance: Length = Length(15_000)
    feed_length: Length = Length(8_000)
    feed_diameter: Length = Length(3_000)
    button_share: Share = Share(100_000)
    invest_minutes: int = 15
    knockout_minutes: int = 5
    soak_minutes: int = 60
    step_soak_minutes: int = 30
    hot_hold_minutes: int = 600
    crucible_change_minutes: int = 10
    clean_minutes: int = 1_440
    overtime_minutes: int = 120
    horizon_days: int = 14
    scale_step: Mass = Mass(10)
    currency: str = "EUR"


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    rules: ShopRules
    alloys: tuple[Alloy, ...]
    materials: tuple[PatternMaterial, ...]
    sizes: tuple[FlaskSize, ...]
    investments: tuple[InvestmentKind, ...]
    programs: tuple[BurnoutProgram, ...]
    kilns: tuple[Kiln, ...]
    machines: tuple[CastingMachine, ...]
    people: tuple[Person, ...]
    closures: tuple[Outage, ...]
    metals: tuple[Metal, ...]
