"""The metal of all flasks of a week in one linear program, so that nothing is promised twice."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from domain.metallurgy.blend import Asked, alloy_rows, capacity, preferences
from domain.metallurgy.charge_lp import Program, Row, Terms, minimise
from domain.metallurgy.melt import Offer

ROOM = 8
"""Steps of the scale asked for beyond each charge, so that there is room to round: a step of fine
metal less can mean three steps of charge less."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """One flask's question: what it asks, what is offered to it, and how many steps of the scale more
    there should be for rounding."""

    flask: str
    asked: Asked
    offers: tuple[Offer, ...]
    room: int = ROOM


def divide(places: Sequence[Place]) -> dict[str, dict[str, Fraction]]:
    """What each flask takes of each offer, in steps of the scale. ``places`` in the order of casting.

    A flask that cannot be served in full is left out altogether, the latest first, so that its metal
    serves the others.
    """
    served = list(places)
    while served:
        taken, short = _solve(served)
        lacking = [p for p in served if short[p.flask] > p.room + Fraction(1, 1000)]
        if not lacking:
            return taken
        hopeless = [p for p in lacking if short[p.flask] >= p.asked.steps]
        out = {p.flask for p in hopeless or lacking[-1:]}
        served = [p for p in served if p.flask not in out]
    return {}


def _solve(places: Sequence[Place]) -> tuple[dict[str, dict[str, Fraction]], dict[str, Fraction]]:
    """What each flask takes and how many steps it is short."""
    starts = _starts(places)
    count = starts[-1] + len(places)
    found = minimise(
        Program(
            bounds=[*((Fraction(0), None) for _ in range(count))],
            rows=[*_flask_rows(places, starts), *_shelf_rows(places, starts)],
            objectives=[_shortfall(places, starts), *_preferences(places, starts)],
        )
    )
    assert found is not None  # being short of everything is always allowed
    taken = {
        p.flask: {o.id: found[start + i] for i, o in enumerate(p.offers) if found[start + i] > 0}
        for p, start in zip(places, starts, strict=False)
    }
    return taken, {p.flask: found[starts[-1] + n] for n, p in enumerate(places)}


def _starts(places: Sequence[Place]) -> list[int]:
    """The first variable of each flask, and after the last the first shortfall."""
    starts = [0]
    for place in places:
        starts.append(starts[-1] + len(place.offers))
    return starts


def _flask_rows(places: Sequence[Place], starts: Sequence[int]) -> list[Row]:
    rows: list[Row] = []
    for n, place in enumerate(places):
        start, whole = starts[n], Fraction(place.asked.steps + place.room)
        rows += [Row(_shifted(row.terms, start), row.low, row.high) for row in alloy_rows(place.asked, place.offers)]
        everything = {start + i: Fraction(1) for i in range(len(place.offers))} | {starts[-1] + n: Fraction(1)}
        rows.append(Row(everything, whole, whole))
    return rows


def _shelf_rows(places: Sequence[Place], starts: Sequence[int]) -> list[Row]:
    """No lot gives more than it holds, over all flasks."""
    takers: dict[str, Terms] = {}
    holds: dict[str, Fraction] = {}
    for place, start in zip(places, starts, strict=False):
        for i, offer in enumerate(place.offers):
            held = capacity(offer, place.asked.step)
            if held is not None:
                takers[offer.id] = {**takers.get(offer.id, {}), start + i: Fraction(1)}
                holds[offer.id] = held
    return [Row(terms, high=holds[lot]) for lot, terms in takers.items()]


def _shortfall(places: Sequence[Place], starts: Sequence[int]) -> Terms:
    """A gram short counts more the earlier the flask is cast."""
    return {starts[-1] + n: 2 - Fraction(n, len(places)) for n in range(len(places))}


def _preferences(places: Sequence[Place], starts: Sequence[int]) -> list[Terms]:
    """The preferences of all flasks together, in the order of each one's: cost of what is ordered,
    cost in all, age."""
    levels: list[dict[int, Fraction]] = [{}, {}, {}]
    for place, start in zip(places, starts, strict=False):
        for level, terms in zip(levels, preferences(place.offers, place.asked.step), strict=True):
            level.update(_shifted(terms, start))
    return list(levels)


def _shifted(terms: Terms, start: int) -> dict[int, Fraction]:
    return {start + i: c for i, c in terms.items()}
