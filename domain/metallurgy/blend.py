"""The linear program of a charge: what the alloy allows, what is preferred, what is there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from domain.metallurgy.charge_lp import Program, Row, Terms, minimise
from domain.metallurgy.fineness import NO_MINUS, Tolerance
from domain.metallurgy.melt import Offer, fraction, kept, least_and_most
from domain.shop.alloy import Alloy
from domain.units import Mass, Share

NONE = Fraction(0)


@dataclass(slots=True)
class Known:
    """What was reckoned of offers for one alloy, by their ids, so that it is done once for many charges.
    ``counts``: of what an offer is made and what a gram of it counts in each row."""

    counts: dict[str, tuple[Mapping[str, Fraction], tuple[Fraction, ...]]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is asked of a charge. ``recycled_limit`` replaces the alloy's own where it is given. ``known``: shared by
    what is asked of the same alloy."""

    alloy: Alloy
    mass: Mass
    step: Mass = Mass(10)
    tolerance: Tolerance = NO_MINUS
    recycled_limit: Share | None = None
    known: Known = field(default_factory=Known, compare=False, repr=False)

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
    allowed = least_and_most(asked.alloy, asked.tolerance)
    counts = list(zip(*(_counts(asked, offer, allowed) for offer in offers), strict=True))
    lows, highs = counts[: len(allowed)], counts[len(allowed) :]
    rows: list[Row] = []
    for (_, high), above, below in zip(allowed.values(), lows, highs, strict=False):
        rows.append(Row(dict(enumerate(above)), low=NONE))
        if high < 1:
            rows.append(Row(dict(enumerate(below)), high=NONE))
    limit = fraction(asked.alloy.recycled_limit if asked.recycled_limit is None else asked.recycled_limit)
    rows.append(Row({i: int(o.recycled) - limit for i, o in enumerate(offers)}, high=NONE))
    return rows


def _counts(asked: Asked, offer: Offer, allowed: Mapping[str, tuple[Fraction, Fraction]]) -> tuple[Fraction, ...]:
    """By how much a gram of an offer, after the losses, is above the least share of each element, then above the
    greatest of each."""
    made_of, counts = asked.known.counts.get(offer.id, ({}, ()))
    if counts and made_of == offer.composition:
        return counts
    held = {e: share * kept(asked.alloy, e) for e, share in offer.composition.items()}
    whole = sum(held.values(), NONE)
    least = (held.get(e, NONE) - low * whole for e, (low, _) in allowed.items())
    most = (held.get(e, NONE) - high * whole for e, (_, high) in allowed.items())
    counts = (*least, *most)
    asked.known.counts[offer.id] = (offer.composition, counts)
    return counts


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
