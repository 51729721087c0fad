"""What a pot of metal holds, element by element, and what that is worth as fine metal."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from domain.books.content import Content, composition_of
from domain.metallurgy.elements import named
from domain.shop.lots import Metal, MetalKind
from domain.units import Mass, Money, Share, total

PRECIOUS = ("Au", "Ag", "Pt", "Pd")
"""What a refiner pays for; other metals are worth next to nothing to one. Common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RefinerLine:
    """``mass`` in whole milligrams rounded down. ``worth``: at the shop's price of the fine metal, before the
    refiner's charge; none where nobody pays for it or the shop has no price."""

    element: str
    name: str
    mass: Mass
    share: Share
    worth: Money | None


def refiner_lines(content: Content, metals: Iterable[Metal]) -> tuple[RefinerLine, ...]:
    """The most first."""
    fine = {next(iter(m.composition)): m for m in metals if m.kind is MetalKind.FINE and len(m.composition) == 1}
    shares = composition_of(content) if content.mass.base else {}
    lines = [_line(element, Mass(content.elements[element] // 1_000_000), share, fine) for element, share in shares.items()]
    return tuple(sorted(lines, key=lambda line: (line.element not in PRECIOUS, -line.mass.base)))


def _line(element: str, mass: Mass, share: Share, fine: dict[str, Metal]) -> RefinerLine:
    metal = fine.get(element) if element in PRECIOUS else None
    worth = Money(int(Fraction(metal.price.base) * mass.over(metal.price_mass))) if metal else None
    return RefinerLine(element=element, name=named(element), mass=mass, share=share, worth=worth)


def fine_worth(lines: Iterable[RefinerLine]) -> Money:
    return total(Money, (line.worth for line in lines if line.worth is not None))
