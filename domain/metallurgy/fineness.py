"""Standards of fineness and what the law of a place lets an article fall short by.

The project's default is no minus tolerance, as in ISO 9202 and in section 1(4) of the UK
Hallmarking Act 1973. Other regimes are separate policies that a shop may choose.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from domain.sources import Mark, Source
from domain.units import Share


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolerance:
    """``minus``: by how much an element may fall short of its standard."""

    name: str
    minus: Mapping[str, Share] = field(default_factory=dict)
    source: Source

    def least(self, element: str, minimum: Share) -> Share:
        """The least share of ``element`` that still passes for ``minimum``."""
        return minimum - self.minus.get(element, Share(0))


NO_MINUS = Tolerance(name="no minus tolerance", source=Source(Mark.PUBLISHED, "ISO 9202; UK Hallmarking Act 1973, section 1(4)"))
US_METAL = Tolerance(
    name="United States, the metal itself",
    minus={"Au": Share.permille(3), "Ag": Share.permille(4)},
    source=Source(Mark.PUBLISHED, "15 U.S.C. 295 (gold); 15 U.S.C. 296 (silver, from memory)"),
)
US_WITH_SOLDER = Tolerance(
    name="United States, the whole article with its solder (not for watch cases and flatware)",
    minus={"Au": Share.permille(7), "Ag": Share.permille(10)},
    source=Source(Mark.PUBLISHED, "15 U.S.C. 295 (gold); 15 U.S.C. 296 (silver, from memory)"),
)

STANDARDS: Mapping[str, tuple[int, ...]] = {
    "Au": (375, 585, 750, 916, 990, 999),
    "Ag": (800, 925, 958, 999),
    "Pt": (850, 900, 950, 999),
    "Pd": (500, 950, 999),
}
"""Standards in ‰ under the UK Hallmarking Act 1973, as amended."""


def markable(element: str, actual: Share, standards: Iterable[Share], tolerance: Tolerance = NO_MINUS) -> Share | None:
    """The highest of ``standards`` that metal of fineness ``actual`` may be marked with; none
    where it reaches no standard."""
    return max((s for s in standards if actual >= tolerance.least(element, s)), default=None)
