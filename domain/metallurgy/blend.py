"""The linear program of a charge: what the alloy allows, what is preferred, what is there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from domain.metallurgy.charge_lp import Program, Row, Terms, minimise
from domain.metallurgy.fineness import NO_MINUS, Tolerance
from domain.metallurgy.melt import Offer, fraction, kept, least_and_most
from domain.shop.alloy import Alloy
from domain.units import Mass, Share

NONE = Fraction(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is asked of a charge. ``recycled_limit`` replaces the alloy's own where it is given."""

    alloy: Alloy
    mass: Mass
    step: Mass = Mass(10)
    tolerance: Tolerance = NO_MINUS
    recycled_limit: Share | None = None

    @property
    def steps(self) -> int:
        """The mass in whole steps of the scale, rounded up."""
        return -(-self.mass.base // self.step.base)


def obstacle(alloy: Alloy, offer: Offer) -> str | None:
    """Why an offer cannot go into a melt of ``alloy`` at all; none where it can."""
    allowed = {r.element for r in alloy.composition if r.high.base}
    foreign = next((e for e, share in offer.composition.items() if share and e not in allowed), None)
    if foreign is not None:
        return foreign
    return "melts" if offer.recycled and offer.melts >= alloy.melts_limit else None


def alloy_rows(asked: Asked, offers: Sequence[Offer]) -> list[Row]:
    """The rows that hold for any mass: each element's range with the standard, recycled share."""
    alloy, allowed = asked.alloy, least_and_most(asked.alloy, asked.tolerance)
    keeps = {e: kept(alloy, e) for o in offers for e in o.composition}
    held = [{e: share * keeps[e] for e, share in o.composition.items()} for o in offers]
    whole = [sum(masses.values(), NONE) for masses in held]
    rows: list[Row] = []
    for element, (low, high) in allowed.items():
        mine = [masses.get(element, NONE) for masses in held]
        rows.append(Row({i: m - low * w for i, (m, w) in enumerate(zip(mine, whole, strict=True))}, low=NONE))
        if high < 1:
            rows.append(Row({i: m - high * w for i, (m, w) in enumerate(zip(mine, whole, strict=True))}, high=NONE))
    limit = fraction(alloy.recycled_limit if asked.recycled_limit is None else asked.recycled_limit)
    rows.append(Row({i: int(o.recycled) - limit for i, o in enumerate(offers)}, high=NONE))
    return rows


def preferences(offers: Sequence[Offer], step: Mass) -> list[Terms]:
    """What is minimised, in order: cost of what must be ordered, cost in all, age of recycled metal
    (fresh metal counts as younger than any)."""
    grams = step.to("g")
    ordered = {i: o.cost * grams for i, o in enumerate(offers) if o.to_order}
    cost = {i: o.cost * grams for i, o in enumerate(offers) if o.cost}
    youngest = 1 + max((o.age for o in offers if o.recycled), default=0)
    age = {i: Fraction(o.age if o.recycled else youngest, youngest) for i, o in enumerate(offers)}
    return [ordered, cost, age]


def capacity(offer: Offer, step: Mass) -> Fraction | None:
    """How many steps of the scale the offer holds."""
    return None if offer.available is None else Fraction(max(0, offer.available.base), step.base)


def best_blend(asked: Asked, offers: Sequence[Offer]) -> tuple[Fraction, ...] | None:
    """The linear program's answer in steps of the scale, not yet whole; none where there is none."""
    return minimise(blend_program(asked, offers))


def blend_program(asked: Asked, offers: Sequence[Offer]) -> Program:
    """Exactly the mass asked for, at the least cost."""
    everything = Row(dict.fromkeys(range(len(offers)), Fraction(1)), Fraction(asked.steps), Fraction(asked.steps))
    return Program(
        bounds=[(NONE, capacity(o, asked.step)) for o in offers],
        rows=[*alloy_rows(asked, offers), everything],
        objectives=preferences(offers, asked.step),
    )


def greatest_blend(asked: Asked, offers: Sequence[Offer]) -> tuple[Fraction, ...]:
    """The largest mass up to what is asked that the offers make, in steps of the scale, not yet
    whole. All zeros where they make nothing."""
    everything = dict.fromkeys(range(len(offers)), Fraction(1))
    found = minimise(
        Program(
            bounds=[(Fraction(0), capacity(o, asked.step)) for o in offers],
            rows=[*alloy_rows(asked, offers), Row(everything, high=Fraction(asked.steps))],
            objectives=[{i: Fraction(-1) for i in everything}, *preferences(offers, asked.step)],
        )
    )
    assert found is not None  # nothing at all is always allowed
    return found
