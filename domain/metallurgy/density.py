"""The density of an alloy where none is given: an estimate, and marked as one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from domain.errors import InvalidValue
from domain.metallurgy.elements import elements, named
from domain.metallurgy.melt import fraction
from domain.saying import say
from domain.shop.alloy import ElementRange
from domain.sources import Mark, Source
from domain.units import Density

ESTIMATE = Source(Mark.COMPUTED, "ideal mixture 1/ρ = Σ w/ρ; a measured density is better")

DEPARTS = {"Si": Fraction(5, 1000), "Al": Fraction(5, 1000), "Be": Fraction(2, 1000)}
"""Light elements that dissolve with a strong contraction, and the share up to which the rule may be
trusted: for silicon bronze C87300 it gives 8.03 where 8.36 is measured (Copper Development Association)."""


def mixture_density(composition: Mapping[str, Fraction]) -> Density:
    """1/ρ = Σ w/ρ for a composition by mass, an estimate good to 1–2 % for the alloys it is given for.

    Raises ``InvalidValue`` for an element of unknown density, a composition that is not a whole, and
    for alloys that the rule is known to fail for: those need a measured density.
    """
    _estimable(composition)
    volume = sum((share / elements()[e].density.to("g/cm³") for e, share in composition.items() if share), Fraction(0))
    return Density.g_cm3(1 / volume)


def _estimable(composition: Mapping[str, Fraction]) -> None:
    if abs(sum(composition.values(), Fraction(0)) - 1) > Fraction(1, 1000):
        raise InvalidValue("composition", say("the shares of the elements do not add up to 100 %"))
    for element, share in composition.items():
        if share and element not in elements():
            raise InvalidValue(
                "density",
                say("the density of {element} is not known here: give the alloy's measured density", element=element),
            )
        if share > DEPARTS.get(element, Fraction(1)):
            raise InvalidValue(
                "density",
                say("alloys with {element} are denser than a mixture: give the measured density", element=named(element)),
            )


def nominal(composition: Sequence[ElementRange]) -> dict[str, Fraction]:
    """A composition inside the ranges that adds up to one: each element equally far up its range."""
    low = sum((fraction(r.low) for r in composition), Fraction(0))
    high = sum((fraction(r.high) for r in composition), Fraction(0))
    along = (1 - low) / (high - low) if high > low else Fraction(0)
    return {r.element: fraction(r.low) + along * (fraction(r.high) - fraction(r.low)) for r in composition}
