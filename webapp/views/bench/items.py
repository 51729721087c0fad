"""Rows of metal: from the shelf, from the list of metals, or as typed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from domain.metallurgy.melt import Offer
from domain.saying import say
from domain.shop.lots import Lot
from domain.shop.shop import Shop
from domain.stock.offers import is_here, lot_offer, metal_offer
from domain.units import Mass
from webapp import formats
from webapp.views.bench.sheet import Bench, Group, Sheet
from webapp.views.bench.written import a_mass

HEADS = (say("From the shelf or the list"), say("or what it is"), say("Mass"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """``row``: the number of its row. ``lot``: where it is one. ``offer``: as much of it as is typed."""

    row: int
    offer: Offer
    mass: Mass
    lot: Lot | None = None


def items_on(sheet: Sheet, bench: Bench, today: date, title: str, read: Callable[[str], dict[str, Fraction]]) -> list[Item]:
    """The rows that are whole, asked for on the sheet; ``read`` takes what is typed in words."""
    sheet.row_title, sheet.row_heads = title, HEADS
    found = [_item(sheet, bench, today, number, read) for number in sheet.numbered("m")]
    return [item for item in found if item is not None]


def _item(sheet: Sheet, bench: Bench, today: date, row: int, read: Callable[[str], dict[str, Fraction]]) -> Item | None:
    chosen = sheet.choice_cell(f"m.{row}.from", say("Metal {row} from the shelf or the list", row=row), groups(bench, today))
    words, composition = sheet.cell(f"m.{row}.what", say("Metal {row} in words", row=row), read)
    weighed, mass = sheet.cell(f"m.{row}.mass", say("Mass of metal {row}", row=row), a_mass)
    sheet.rows.append((chosen, words, weighed))
    if chosen.text and words.text:
        sheet.complain(words.name, say("Choose from the list or type what it is, not both."))
        return None
    if chosen.text:
        return _from_list(sheet, bench, row, chosen.text, mass, typed=bool(weighed.text))
    if words.text and not weighed.text:
        sheet.complain(weighed.name, say("How much of it is there? Type a mass, such as 12.4 g."))
    if weighed.text and not words.text:
        sheet.complain(words.name, say("What is it? Choose a metal or type one."))
    if composition is None or mass is None:
        return None
    offer = Offer(id=f"typed:{row}", name=words.text, composition=composition, available=mass)
    return Item(row=row, offer=offer, mass=mass)


def _from_list(sheet: Sheet, bench: Bench, row: int, key: str, mass: Mass | None, *, typed: bool) -> Item | None:
    """A lot gives all it holds where no mass is typed, and never more than it holds."""
    kind, _, ref = key.partition(":")
    if kind == "lot":
        lot = next(one for one in bench.lots if one.id == ref)
        if mass is not None and mass > lot.mass:
            sheet.complain(
                f"m.{row}.mass",
                say("The lot holds {mass}; type no more, or leave it empty for all of it.", mass=formats.mass(lot.mass)),
            )
            return None
        there = mass or lot.mass
        return Item(row=row, offer=lot_offer(lot, {m.id: m for m in bench.shop.metals}, there), mass=there, lot=lot)
    if mass is None:
        if not typed:
            sheet.complain(f"m.{row}.mass", say("How much of it is there? Type a mass, such as 12.4 g."))
        return None
    return Item(row=row, offer=_metal(bench.shop, ref, row, mass), mass=mass)


def _metal(shop: Shop, ref: str, row: int, mass: Mass) -> Offer:
    offer = metal_offer(next(m for m in shop.metals if m.id == ref))
    return Offer(id=f"typed:{row}", name=offer.name, composition=offer.composition, available=mass, cost=offer.cost)


def groups(bench: Bench, today: date) -> list[Group]:
    """Lots that are here and the shop's own, then what can be bought."""
    lots = tuple((f"lot:{lot.id}", f"{lot.id}, {lot.name}, {formats.mass(lot.mass)}") for lot in _own(bench, today))
    metals = tuple((f"metal:{m.id}", m.name) for m in bench.shop.metals)
    return [(say("On the shelf"), lots), (say("Weighed on the bench"), metals)]


def _own(bench: Bench, today: date) -> list[Lot]:
    """A customer's own metal is never blended, so it is not offered."""
    return [lot for lot in bench.lots if lot.owner_job is None and lot.mass.base > 0 and is_here(lot, today)]


def composition_in_words(composition: Mapping[str, Fraction]) -> str:
    """Au 750 ‰, Ag 125 ‰, largest first, in parts per thousand rounded down."""
    parts = sorted(composition.items(), key=lambda part: (-part[1], part[0]))
    return ", ".join(f"{element} {formats.number(Decimal(f'{int(share * 10_000) / 10:g}'))} ‰" for element, share in parts if share)
