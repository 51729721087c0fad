"""Investment kinds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from domain.saying import say
from domain.shop.alloy import Bond
from domain.sources import Source
from domain.units import Share, Temperature, Volume

BONDS = {Bond.GYPSUM: say("gypsum"), Bond.PHOSPHATE: say("phosphate")}
LIQUIDS = {"water": say("water"), "its own mixing liquid": say("its own mixing liquid")}
"""Those of the starting investments; a shop's own is called as it was typed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class InvestmentKind:
    """``water``: water (or special liquid) to powder by mass. ``slurry_yield``: slurry that 100 g of
    powder with its water gives. ``peak``: above this the mould breaks down. Times in minutes."""

    id: str
    name: str
    bond: Bond
    water: Share
    slurry_yield: Volume
    waste: Share
    working_minutes: int
    gloss_off_minutes: int
    bench_set_minutes: int
    bench_limit_minutes: int
    peak: Temperature
    liquid: str = "water"
    sources: Mapping[str, Source] = field(default_factory=dict)
