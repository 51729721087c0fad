"""What a scrap pot is worth in fine metal."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from fractions import Fraction
from functools import partial

from domain.intake.fineness import read_scrap
from domain.metallurgy.elements import named
from domain.saying import listed, say
from domain.units import Mass, Money, Share
from webapp import formats, reading
from webapp.views.bench.items import Item, composition_in_words, items_on
from webapp.views.bench.sheet import Answer, Bench, Group, Sheet, Slip, Table
from webapp.views.bench.written import both

PRECIOUS = ("Au", "Ag", "Pt", "Pd")
PER: list[Group] = [("", (("g", say("a gram")), ("ozt", say("a troy ounce"))))]


def scrap_pot(bench: Bench, typed: Mapping[str, str], today: date) -> Slip:
    sheet, currency = Sheet({"per": "g", **typed}), bench.shop.rules.currency
    money: Callable[[str], Money] = partial(reading.money, currency=currency)
    per = sheet.choice("per", say("Prices are for"), PER) or "g"
    labels = {e: say("Price of fine {metal}", metal=named(e)) for e in PRECIOUS}
    prices = {
        e: sheet.value(f"price.{e}", labels[e], say("in {currency}, today's", currency=currency), money, needed=False)
        for e in PRECIOUS
    }
    pays = sheet.value(
        "pays", say("Share that the refiner pays"), say("98 %; all of it where nothing is typed"), reading.share, needed=False
    )
    items = items_on(sheet, bench, today, say("In the pot"), read_scrap)
    if not items:
        sheet.missing.append(say("something in the pot, with its mass"))
    if not sheet.ready:
        return sheet.slip(None)
    given = {e: price for e, price in prices.items() if price is not None}
    return sheet.slip(_answer(items, given, per, Share(1_000_000) if pays is None else pays, currency))


def _answer(items: Sequence[Item], prices: Mapping[str, Money], per: str, pays: Share, currency: str) -> Answer:
    fine = {e: _fine(items, e) for e in PRECIOUS if any(i.offer.composition.get(e) for i in items)}
    worth = {e: _worth(fine[e], prices[e], per, pays) for e in fine if e in prices}
    rows = tuple((formats.begun(named(e)), both(mass), _money(worth.get(e), currency)) for e, mass in fine.items())
    pot = tuple((item.offer.name, both(item.mass), composition_in_words(item.offer.composition)) for item in items)
    notes = [say("Fine metal by what each piece is said to be; only the refiner's assay tells what is in it.")]
    if unpriced := [named(e) for e in fine if e not in prices]:
        notes.append(
            say("No price is typed for {names}, so it counts as nothing in the sum.", names=listed(unpriced, say(" and ")))
        )
    if not fine:
        notes.append(say("Nothing in the pot holds gold, silver, platinum or palladium."))
    return Answer(
        facts=(
            (say("In the pot"), both(Mass(sum(i.mass.base for i in items)))),
            (say("Worth"), _money(Money(sum(m.base for m in worth.values())), currency)),
        ),
        tables=(
            Table(caption=say("Fine metal"), heads=(say("Metal"), say("Fine"), say("Worth")), rows=rows),
            Table(caption=say("Counted as"), heads=(say("What"), say("Mass"), say("Holds")), rows=pot, words=frozenset({0, 2})),
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
    return say("no price typed") if value is None else formats.money(value, currency)
