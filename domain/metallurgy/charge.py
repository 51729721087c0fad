"""Composing a charge: which metals, how much of each, for a melt that its alloy allows.

A linear program over what is offered. After each element's expected loss the melt lies inside the
alloy's composition range and never below its fineness standard; recycled share, melt count and
what each lot holds are kept. Among the charges that do, in this order: least cost of metal to
order, least cost in all, oldest recycled metal first; and no metal that saves next to nothing. The
masses are then found again in whole steps of the scale and verified in exact fractions.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from domain.errors import CannotCompose
from domain.metallurgy.blend import Asked, alloy_rows, best_blend, capacity, obstacle, preferences
from domain.metallurgy.charge_lp import Program, Row, Terms, minimise
from domain.metallurgy.charge_why import why_not
from domain.metallurgy.few_parts import USED, with_few_parts
from domain.metallurgy.fineness import NO_MINUS, Tolerance
from domain.metallurgy.melt import Offer, Part, holds, melt_composition, recycled_share
from domain.metallurgy.near_steps import cheapest_near
from domain.saying import say
from domain.shop.alloy import Alloy
from domain.units import Mass, Money, Share

STEPS_OVER = (1, 2, 3, 16, 64)
"""By how many steps of the scale a charge may exceed what was asked, tried in this order."""
NEAR = 6
"""How many steps a part may move from the linear program's answer when it is made whole."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ComposedCharge:
    """``melt``: exact composition after the expected losses. ``fineness``: of the alloy's precious
    metal, rounded down. ``melts``: how often the charge's returns have been melted."""

    parts: tuple[Part, ...]
    mass: Mass
    melt: dict[str, Fraction]
    fineness: Share | None
    recycled: Share
    melts: int
    cost: Money


def compose(
    alloy: Alloy,
    mass: Mass,
    offers: Sequence[Offer],
    step: Mass = Mass(10),
    tolerance: Tolerance = NO_MINUS,
    *,
    recycled_limit: Share | None = None,
) -> ComposedCharge:
    """A charge of at least ``mass``, in steps of the scale, and at most a few steps more.

    Raises ``CannotCompose``, which names the element, lot or limit in the way.
    """
    return compose_asked(Asked(alloy=alloy, mass=mass, step=step, tolerance=tolerance, recycled_limit=recycled_limit), offers)


def compose_asked(asked: Asked, offers: Sequence[Offer]) -> ComposedCharge:
    """The same where the question stands already."""
    usable = [o for o in offers if obstacle(asked.alloy, o) is None]
    optimum = best_blend(asked, usable)
    if optimum is None:
        raise why_not(asked, offers)
    parts = in_whole_steps(asked, usable, [with_few_parts(asked, usable, optimum), optimum])
    if parts is None:
        raise CannotCompose(
            say(
                "no charge of {alloy} can be weighed in steps of {step} g within its limits",
                alloy=asked.alloy.name,
                step=asked.step.to("g"),
            ),
            say("A finer scale or a wider composition range would mend it"),
        )
    return charge_of(asked.alloy, parts)


def in_whole_steps(asked: Asked, offers: Sequence[Offer], blends: Sequence[Sequence[Fraction]]) -> tuple[Part, ...] | None:
    """Whole steps near one of the linear program's answers, else anywhere; none where there are none.

    Where there are too many to look at all of them, the solver is asked. It works to a tolerance, so an answer is
    taken only when it holds in exact fractions; one that misses is asked for again with a margin of a
    ten-thousandth of a step.
    """
    choices = [_near(offers, blend) for blend in blends] + [[(o, 0, asked.steps + STEPS_OVER[-1]) for o in offers]]
    for over in STEPS_OVER:
        for choice in choices:
            parts = _near_steps(asked, choice, over)
            if parts:
                return parts
    return None


def _near_steps(asked: Asked, choice: Sequence[tuple[Offer, int, int]], over: int) -> tuple[Part, ...] | None:
    """The cheapest whole steps within a choice: by looking at all of them, else by the solver."""
    offers = [offer for offer, _, _ in choice]
    ranges = [(low, math.floor(_most(offer, high, asked.step))) for offer, low, high in choice]
    if not ranges or any(high < low for low, high in ranges):
        return None

    def keeps(steps: Sequence[int]) -> bool:
        return _holds(asked, _parts(asked, offers, steps))

    cost = _one_preference(offers, asked.step)
    all_seen, found = cheapest_near(ranges, asked.steps, over, alloy_rows(asked, offers), cost, keeps)
    if found is not None:
        return _parts(asked, offers, found)
    for margin in () if all_seen else (Fraction(0), Fraction(1, 10_000)):
        parts = _whole(asked, choice, over, margin)
        if parts and _holds(asked, parts):
            return parts
    return None


def _holds(asked: Asked, parts: Sequence[Part]) -> bool:
    return bool(parts) and holds(asked.alloy, parts, asked.tolerance, recycled_limit=asked.recycled_limit)


def _parts(asked: Asked, offers: Sequence[Offer], steps: Sequence[int]) -> tuple[Part, ...]:
    return tuple(Part(offer=o, mass=Mass(n * asked.step.base)) for o, n in zip(offers, steps, strict=True) if n)


def _near(offers: Sequence[Offer], blend: Sequence[Fraction]) -> list[tuple[Offer, int, int]]:
    """Each offer in use with the least and most steps to try."""
    used = [i for i, x in enumerate(blend) if x > USED]
    return [(offers[i], max(0, math.floor(blend[i]) - NEAR), math.ceil(blend[i]) + NEAR) for i in used]


def _whole(asked: Asked, choice: Sequence[tuple[Offer, int, int]], over: int, margin: Fraction) -> tuple[Part, ...] | None:
    offers = [offer for offer, _, _ in choice]
    bounds = [(Fraction(low), _most(offer, high, asked.step)) for offer, low, high in choice]
    everything = Row(dict.fromkeys(range(len(offers)), Fraction(1)), Fraction(asked.steps), Fraction(asked.steps + over))
    rows = [*(_inside(row, margin) for row in alloy_rows(asked, offers)), everything]
    found = minimise(Program(bounds=bounds, rows=rows, objectives=[_one_preference(offers, asked.step)], whole=True))
    if found is None:
        return None
    return _parts(asked, offers, [round(x) for x in found])


def _most(offer: Offer, high: int, step: Mass) -> Fraction:
    held = capacity(offer, step)
    return Fraction(high) if held is None else Fraction(min(high, math.floor(held)))


def _inside(row: Row, margin: Fraction) -> Row:
    return Row(row.terms, None if row.low is None else row.low + margin, None if row.high is None else row.high - margin)


def _one_preference(offers: Sequence[Offer], step: Mass) -> Terms:
    """Near the best blend one objective is enough: cost, with each step over what was asked counted
    so that nothing is weighed for nothing, and age counted least."""
    _, _, age = preferences(offers, step)
    cost = {i: (o.cost * (1000 if o.to_order else 1) * step.to("g")) for i, o in enumerate(offers)}
    typical = max(cost.values(), default=Fraction(0)) / 1000 + Fraction(1, 1000)
    return {i: c + typical + age[i] * typical / 10 for i, c in cost.items()}


def charge_of(alloy: Alloy, parts: tuple[Part, ...]) -> ComposedCharge:
    """What a charge of these parts gives."""
    melt = melt_composition(alloy, parts)
    standard = alloy.standard
    return ComposedCharge(
        parts=parts,
        mass=Mass(sum(p.mass.base for p in parts)),
        melt=melt,
        fineness=None if standard is None else Share(math.floor(melt.get(standard.element, Fraction(0)) * 1_000_000)),
        recycled=Share(math.ceil(recycled_share(parts) * 1_000_000)),
        melts=1 + max((p.offer.melts for p in parts), default=0),
        cost=Money(math.ceil(sum((p.offer.cost * p.mass.to("g") for p in parts), Fraction(0)))),
    )
