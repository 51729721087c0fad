"""An alloy as the shop keeps it: composition, fineness, temperatures, limits on recycled metal."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from domain.errors import InvalidValue
from domain.sources import Source
from domain.units import Density, Share, Temperature, TemperatureRange


class Section(StrEnum):
    """How thick a piece is where it is hardest to fill. Thin sections need a hotter mould."""

    THIN = "thin"
    MEDIUM = "medium"
    HEAVY = "heavy"


class Heat(StrEnum):
    """How metal is melted."""

    TORCH = "torch"
    INDUCTION = "induction"


class Bond(StrEnum):
    """What binds an investment."""

    GYPSUM = "gypsum"
    PHOSPHATE = "phosphate"


class Suitability(StrEnum):
    YES = "yes"
    WARN = "warn"
    NEVER = "never"


@dataclass(frozen=True, slots=True, kw_only=True)
class ElementRange:
    """Allowed share of one element by mass, both ends included."""

    element: str
    low: Share
    high: Share


@dataclass(frozen=True, slots=True, kw_only=True)
class FinenessStandard:
    """The least share of the precious metal a casting may have. No minus tolerance unless the
    shop says so (ISO 9202 gives minimum values)."""

    element: str
    minimum: Share


class CoolingMethod(StrEnum):
    QUENCH = "quench"
    AIR = "air cool"


@dataclass(frozen=True, slots=True, kw_only=True)
class CoolingRule:
    """What happens after the pour.

    ``wait_minutes``: least time from the pour to the quench, or to knock-out when air cooled.
    ``not_above`` / ``not_below``: flask temperature window for the quench, where the alloy has one.
    """

    method: CoolingMethod
    wait_minutes: int
    not_above: Temperature | None = None
    not_below: Temperature | None = None
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Alloy:
    """``family`` names the crucible family: crucibles are not shared between families.

    ``losses``: share of each element lost in one melt; an element not listed loses nothing of its
    own. ``melt_loss``: share of the whole charge that the melt does not give back.
    ``sources``: where each field's value comes from, by field name.
    """

    id: str
    name: str
    family: str
    colour: str
    composition: tuple[ElementRange, ...]
    standard: FinenessStandard | None
    density: Density
    density_estimated: bool = False
    melting: TemperatureRange
    pour: TemperatureRange
    flask_temperature: Mapping[Section, TemperatureRange]
    melt_loss: Share
    losses: Mapping[str, Share] = field(default_factory=dict)
    recycled_limit: Share
    melts_limit: int
    cooling: CoolingRule
    heat: frozenset[Heat]
    investment: Mapping[Bond, Suitability]
    cautions: tuple[str, ...] = ()
    sources: Mapping[str, Source] = field(default_factory=dict)

    def __post_init__(self) -> None:
        low = sum(r.low.base for r in self.composition)
        high = sum(r.high.base for r in self.composition)
        if not low <= 1_000_000 <= high:
            raise InvalidValue("composition", f"the composition ranges of {self.name} cannot add up to 100 %")
        missing = [s for s in Section if s not in self.flask_temperature]
        if missing:
            raise InvalidValue("flask_temperature", f"{self.name} has no flask temperature for {', '.join(missing)} sections")
