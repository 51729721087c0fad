"""Why no charge can be composed, and the least that would mend it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from domain.errors import CannotCompose
from domain.metallurgy.blend import Asked, alloy_rows, best_blend, capacity, obstacle
from domain.metallurgy.charge_lp import Program, Row, minimise
from domain.metallurgy.elements import named
from domain.metallurgy.melt import Offer
from domain.saying import listed, say
from domain.units import UP, Mass, Share


def grams(mass: Mass) -> str:
    """A mass for a message, in grams, rounded up to the hundredth."""
    return f"{mass.decimal('g', 2, UP)} g"


def why_not(asked: Asked, offers: Sequence[Offer]) -> CannotCompose:
    """The error to raise for a charge that the offers cannot make."""
    usable = [o for o in offers if obstacle(asked.alloy, o) is None]
    return _limit_in_the_way(asked, usable) or _lot_in_the_way(asked, offers) or _metal_missing(asked, usable)


def _limit_in_the_way(asked: Asked, usable: Sequence[Offer]) -> CannotCompose | None:
    if best_blend(replace(asked, recycled_limit=Share.percent(100)), usable) is None:
        return None
    limit = (asked.alloy.recycled_limit if asked.recycled_limit is None else asked.recycled_limit).to("%")
    return CannotCompose(
        say(
            "{charge} would need more recycled metal than the {limit} % that {alloy} allows",
            charge=_charge(asked),
            limit=f"{float(limit):g}",
            alloy=asked.alloy.name,
        ),
        say("{metals} of fresh metal would mend it", metals=_listed(missing(asked, usable))),
    )


def _lot_in_the_way(asked: Asked, offers: Sequence[Offer]) -> CannotCompose | None:
    """A lot that would do but for its melt count."""
    tired = [o for o in offers if obstacle(asked.alloy, o) == "melts"]
    rested = [replace(o, melts=0) if o in tired else o for o in offers]
    if not tired or best_blend(asked, [o for o in rested if obstacle(asked.alloy, o) is None]) is None:
        return None
    lot = tired[0]
    fresh = missing(asked, [o for o in offers if obstacle(asked.alloy, o) is None])
    return CannotCompose(
        say(
            "{charge} would need {lot}, which has been melted {melts} times; {alloy} allows no more",
            charge=_charge(asked),
            lot=lot.name,
            melts=lot.melts,
            alloy=asked.alloy.name,
        ),
        say("{metals} of fresh metal would mend it; the lot goes to the refiner", metals=_listed(fresh)),
    )


def _metal_missing(asked: Asked, usable: Sequence[Offer]) -> CannotCompose:
    short = missing(asked, usable)
    if not usable or not any(o.available is None or o.available.base for o in usable):
        return CannotCompose(
            say("{charge}: there is no metal that may go into it", charge=_charge(asked)),
            say("{metals} would mend it", metals=_listed(short)),
        )
    return CannotCompose(
        say("{charge} cannot be made: too little {names}", charge=_charge(asked), names=listed(named(e) for e in short)),
        say("{metals} more would mend it", metals=_listed(short)),
    )


def missing(asked: Asked, usable: Sequence[Offer]) -> dict[str, Mass]:
    """The least mass of pure elements that, added to what is offered, makes the charge."""
    pure = [Offer(id=f"+{r.element}", name=named(r.element), composition={r.element: Fraction(1)}) for r in asked.alloy.composition]
    offers = [*usable, *pure]
    added = {len(usable) + i: Fraction(1) for i in range(len(pure))}
    standard = asked.alloy.standard
    precious = {i for i, r in enumerate(asked.alloy.composition) if standard and r.element == standard.element}
    everything = Row(dict.fromkeys(range(len(offers)), Fraction(1)), Fraction(asked.steps), Fraction(asked.steps))
    found = minimise(
        Program(
            bounds=[(Fraction(0), capacity(o, asked.step)) for o in offers],
            rows=[*alloy_rows(asked, offers), everything],
            objectives=[added, {v: Fraction(1) for v in added if v - len(usable) in precious}],
        )
    )
    masses = (found or ())[len(usable) :]
    needed = {r.element: x for r, x in zip(asked.alloy.composition, masses, strict=False) if x > Fraction(1, 1000)}
    return {e: Mass(-(-x.numerator // x.denominator) * asked.step.base) for e, x in needed.items()}


def _charge(asked: Asked) -> str:
    return say("{mass} of {metal}", mass=grams(asked.mass), metal=asked.alloy.name)


def _listed(masses: dict[str, Mass]) -> str:
    parts = [say("{mass} of {metal}", mass=grams(mass), metal=named(e)) for e, mass in masses.items()]
    return say("At least {metals}", metals=listed(parts, last=say(" and ")))
