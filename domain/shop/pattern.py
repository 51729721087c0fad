"""What patterns are made of, and the box a pattern takes on the tree."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from domain.sources import Source
from domain.units import Density, Length, Temperature


@dataclass(frozen=True, slots=True, kw_only=True)
class PatternMaterial:
    """``burnout_minutes`` and ``burnout_peak``: the least program that removes it cleanly.

    ``fume``: true where burning it out calls for more air than wax does.
    """

    id: str
    name: str
    density: Density
    burnout_minutes: int
    burnout_peak: Temperature
    fume: bool = False
    sources: Mapping[str, Source] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceSize:
    """The box of one pattern as it sits on the tree: ``width`` along the ring, ``height`` along
    the trunk, ``reach`` away from it (measured from the end of its feed sprue)."""

    width: Length
    height: Length
    reach: Length
