"""What customers want cast."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from domain.errors import InvalidValue
from domain.shop.alloy import Section
from domain.shop.pattern import PieceSize
from domain.units import Mass, Volume


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """Pieces of one pattern in one alloy. Exactly one of ``pattern_mass`` (one pattern, weighed) and
    ``metal_volume`` (one piece, from a model) is known. Dates are ISO dates. ``weight``: how much a
    day late counts, 1 for ordinary work. ``per_tree``: the shop's own pieces per tree, by flask
    size, in place of the ring rule. ``own_metal``: lot id of the customer's own metal.
    """

    id: str
    customer: str = ""
    item: str
    alloy: str
    section: Section
    material: str
    quantity: int
    pattern_mass: Mass | None = None
    metal_volume: Volume | None = None
    size: PieceSize
    ready: str
    due: str
    weight: int = 1
    may_split: bool = True
    own_metal: str | None = None
    per_tree: Mapping[str, int] = field(default_factory=dict)
    notes: str = ""

    def __post_init__(self) -> None:
        if (self.pattern_mass is None) == (self.metal_volume is None):
            raise InvalidValue("pattern_mass", f"job {self.id}: give the pattern's mass or the piece's volume, one of them")
        if self.quantity < 1:
            raise InvalidValue("quantity", f"job {self.id}: a job has at least one piece")
        if self.weight < 1:
            raise InvalidValue("weight", f"job {self.id}: a day late counts at least 1")
