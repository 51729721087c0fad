"""What casting uses up beside metal: crucibles, flux, gas, wax wire, gloves."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import ClassVar

from domain.units import Money, Quantity


class Amount(Quantity):
    """So much of something, in thousandths of the unit that the thing is counted in."""

    UNITS: ClassVar[dict[str, Fraction]] = {"unit": Fraction(1000)}


class CountedIn(StrEnum):
    GRAM = "g"
    LITRE = "l"
    PIECE = "pieces"


class UsedPer(StrEnum):
    """What uses it up."""

    FLASK = "flask invested"
    LOAD = "kiln load started"
    CAST = "flask cast"


@dataclass(frozen=True, slots=True, kw_only=True)
class Consumable:
    """``use``: what one of ``per`` takes, as the shop has found it. ``amount``: on the shelf. ``pack``: the
    supplier's least step, which costs ``price``. ``lead_days``: working days from order to the shelf."""

    id: str
    name: str
    unit: CountedIn
    per: UsedPer
    use: Amount
    amount: Amount
    pack: Amount
    price: Money
    lead_days: int
