"""What a scrap pot is worth in fine metal."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from fractions import Fraction
from functools import partial

from domain.intake.fineness import read_scrap
from domain.metallurgy.elements import named
from domain.units import Mass, Money, Share
from webapp import formats, reading
from webapp.views.bench.items import Item, composition_in_words, items_on
from webapp.views.bench.sheet import Answer, Bench, Group, Sheet, Slip, Table
from webapp.views.bench.written import both

PRECIOUS = ("Au", "Ag", "Pt", "Pd")
PER: list[Group] = [("", (("g", "a gram"), ("ozt", "a troy ounce")))]


def scrap_pot(bench: Bench, typed: Mapping[str, str], today: date) -> Slip:
    sheet, currency = Sheet({"per": "g", **typed}), bench.shop.rules.currency
    money: Callable[[str], Money] = partial(reading.money, currency=currency)
    per = sheet.choice("per", "Prices are for", PER) or "g"
    labels = {e: f"Price of fine {named(e)}" for e in PRECIOUS}
    prices = {e: sheet.value(f"price.{e}", labels[e], f"in {currency}, today's", money, needed=False) for e in PRECIOUS}
    pays = sheet.value("pays", "Share that the refiner pays", "98 %; all of it where nothing is typed", reading.share, needed=False)
    items = items_on(sheet, bench, today, "In the pot", read_scrap)
    if not items:
        sheet.missing.append("something in the pot, with its mass")
    if not sheet.ready:
        return sheet.slip(None)
    given = {e: price for e, price in prices.items() if price is not None}
    return sheet.slip(_answer(items, given, per, Share(1_000_000) if pays is None else pays, currency))


def _answer(items: Sequence[Item], prices: Mapping[str, Money], per: str, pays: Share, currency: str) -> Answer:
    fine = {e: _fine(items, e) for e in PRECIOUS if any(i.offer.composition.get(e) for i in items)}
    worth = {e: _worth(fine[e], prices[e], per, pays) for e in fine if e in prices}
    rows = tuple((named(e).capitalize(), both(mass), _money(worth.get(e), currency)) for e, mass in fine.items())
    pot = tuple((item.offer.name, both(item.mass), composition_in_words(item.offer.composition)) for item in items)
    notes = ["Fine metal by what each piece is said to be; only the refiner's assay tells what is in it."]
    if unpriced := [named(e) for e in fine if e not in prices]:
        notes.append(f"No price is typed for {' and '.join(unpriced)}, so it counts as nothing in the sum.")
    if not fine:
        notes.append("Nothing in the pot holds gold, silver, platinum or palladium.")
    return Answer(
        facts=(
            ("In the pot", both(Mass(sum(i.mass.base for i in items)))),
            ("Worth", _money(Money(sum(m.base for m in worth.values())), currency)),
        ),
        tables=(
            Table(caption="Fine metal", heads=("Metal", "Fine", "Worth"), rows=rows),
            Table(caption="Counted as", heads=("What", "Mass", "Holds"), rows=pot, words=frozenset({0, 2})),
        ),
        notes=tuple(notes),
        cautions=("scrap",),
    )


def _fine(items: Sequence[Item], element: str) -> Mass:
    """Rounded down to the milligram: nobody is paid for less."""
    return Mass(int(sum((i.mass.base * i.offer.composition.get(element, Fraction(0)) for i in items), Fraction(0))))


def _worth(fine: Mass, price: Money, per: str, pays: Share) -> Money:
    """``per``: the unit of mass that the price is for."""
    return price.times(fine.to(per) * pays.to("1"))


def _money(value: Money | None, currency: str) -> str:
    return "no price typed" if value is None else formats.money(value, currency)
