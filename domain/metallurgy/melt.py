"""What a melt is made of, in exact arithmetic, and whether an alloy allows it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from domain.metallurgy.fineness import NO_MINUS, Tolerance
from domain.shop.alloy import Alloy
from domain.units import Mass, Share

MILLION = 1_000_000


def fraction(share: Share) -> Fraction:
    return Fraction(share.base, MILLION)


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """Metal that may go into a charge.

    ``composition``: exact share of each element. ``available``: none for as much as is wanted.
    ``cost``: cents a gram. ``recycled``: cast here before, ``melts`` times. ``age``: the lower, the
    sooner it is used where cost does not decide. ``to_order``: not here yet, so used only where
    what is here does not do.
    """

    id: str
    name: str
    composition: Mapping[str, Fraction]
    available: Mass | None = None
    cost: Fraction = Fraction(0)
    recycled: bool = False
    melts: int = 0
    age: int = 0
    to_order: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    offer: Offer
    mass: Mass


def kept(alloy: Alloy, element: str) -> Fraction:
    """What a melt of ``alloy`` gives back of one part of ``element``."""
    return 1 - fraction(alloy.losses.get(element, Share(0)))


def melt_composition(alloy: Alloy, parts: Iterable[Part]) -> dict[str, Fraction]:
    """The exact share of each element after each element's expected loss."""
    masses: dict[str, Fraction] = {}
    for part in parts:
        for element, share in part.offer.composition.items():
            masses[element] = masses.get(element, Fraction(0)) + part.mass.base * share * kept(alloy, element)
    whole = sum(masses.values(), Fraction(0))
    return {e: m / whole for e, m in masses.items() if m}


def least_and_most(alloy: Alloy, tolerance: Tolerance) -> dict[str, tuple[Fraction, Fraction]]:
    """The allowed share of each element, the fineness standard and its tolerance counted in."""
    allowed = {r.element: (fraction(r.low), fraction(r.high)) for r in alloy.composition}
    if alloy.standard is not None:
        element = alloy.standard.element
        low, high = allowed.get(element, (Fraction(0), Fraction(1)))
        below = fraction(tolerance.minus.get(element, Share(0)))
        allowed[element] = (max(low, fraction(alloy.standard.minimum)) - below, high)
    return allowed


def breaches(
    alloy: Alloy, parts: Sequence[Part], tolerance: Tolerance = NO_MINUS, *, recycled_limit: Share | None = None
) -> tuple[str, ...]:
    """What the alloy does not allow about a charge, judged in exact fractions; empty where it holds.

    ``recycled_limit`` in place of the alloy's own, for a customer's metal that is never blended.
    """
    found: list[str] = []
    melt = melt_composition(alloy, parts)
    allowed = least_and_most(alloy, tolerance)
    for element in sorted(melt.keys() | allowed.keys()):
        low, high = allowed.get(element, (Fraction(0), Fraction(0)))
        share = melt.get(element, Fraction(0))
        if not low <= share <= high:
            found.append(f"{element} is {float(share):.4%}, allowed {float(low):.2%} to {float(high):.2%}")
    if recycled_share(parts) > fraction(alloy.recycled_limit if recycled_limit is None else recycled_limit):
        found.append(f"recycled metal is {float(recycled_share(parts)):.2%} of the charge")
    found.extend(
        f"{p.offer.name} has been melted {p.offer.melts} times"
        for p in parts
        if p.offer.recycled and p.offer.melts >= alloy.melts_limit
    )
    over = {p.offer.id: p for p in parts if p.offer.available is not None and p.mass > p.offer.available}
    found.extend(f"{p.offer.name} does not hold {float(p.mass.to('g')):.3f} g" for p in over.values())
    return tuple(found)


def holds(alloy: Alloy, parts: Sequence[Part], tolerance: Tolerance = NO_MINUS, *, recycled_limit: Share | None = None) -> bool:
    """Whether the alloy allows the charge, judged in exact fractions."""
    return not breaches(alloy, parts, tolerance, recycled_limit=recycled_limit)


def recycled_share(parts: Iterable[Part]) -> Fraction:
    """Recycled metal's share of the charge as weighed."""
    listed = list(parts)
    whole = sum(p.mass.base for p in listed)
    return Fraction(sum(p.mass.base for p in listed if p.offer.recycled), whole) if whole else Fraction(0)
