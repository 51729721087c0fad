"""Lots on the shelf and what suppliers can bring."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from domain.sources import Source
from domain.units import Mass, Money, Share


class MetalKind(StrEnum):
    FINE = "fine metal"
    MASTER = "master alloy"
    GRAIN = "casting grain"
    RECYCLED = "recycled"


@dataclass(frozen=True, slots=True, kw_only=True)
class Metal:
    """Something that can be bought and melted.

    ``composition``: share of each element by mass; adds up to one. ``price``: per ``price_mass``.
    ``lead_days``: working days from order to the shelf; none where nobody sells it to this shop.
    ``pack``: the supplier's least step. ``alloy``: the alloy that a grain already is. ``family``: the
    crucible family that a master alloy is made for; without one it is offered to any alloy.
    """

    id: str
    name: str
    kind: MetalKind
    composition: Mapping[str, Share]
    price: Money
    price_mass: Mass
    lead_days: int | None
    pack: Mass
    alloy: str | None = None
    family: str | None = None
    sources: Mapping[str, Source] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot:
    """A container of metal on the shelf, of known composition.

    ``melts``: how often it has been melted here (0 for fresh). ``alloy``: the alloy that it is, for
    grain and recycled metal. ``owner_job``: a customer's own metal, used only for that job and
    never blended. ``since``: ISO date it came on the shelf; the oldest recycled is used first.
    """

    id: str
    name: str
    kind: MetalKind
    composition: Mapping[str, Share]
    mass: Mass
    melts: int = 0
    metal: str | None = None
    alloy: str | None = None
    owner_job: str | None = None
    since: str = ""
    arrives: str | None = None
    """ISO date of a delivery on its way; none for what is on the shelf."""
    cost: Money = Money(0)
    """what a gram of it stands for in the books"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Powder:
    """Investment powder on the shelf, by investment kind."""

    investment: str
    mass: Mass
    lead_days: int
    pack: Mass
    price: Money
    price_mass: Mass
