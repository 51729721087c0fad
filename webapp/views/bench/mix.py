"""Mix a target alloy from what is on the bench, with the arithmetic of the week's charges."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from fractions import Fraction

from domain.errors import CannotCompose
from domain.intake.fineness import read_composition
from domain.metallurgy.blend import Asked, greatest_blend, obstacle
from domain.metallurgy.charge import ComposedCharge, compose
from domain.metallurgy.elements import named
from domain.metallurgy.melt import Offer
from domain.saying import say
from domain.shop.alloy import Alloy
from domain.stock.offers import suits
from domain.units import DOWN, Mass
from webapp import formats
from webapp.views.bench.items import Item, composition_in_words, items_on
from webapp.views.bench.sheet import Answer, Bench, Sheet, Slip, Table, refused
from webapp.views.bench.written import a_mass, both

STEPS_LESS = (0, 1, 2, 4, 8, 16, 64)
"""By how many steps of the scale the most that can be made may fall short, because parts are whole steps."""


def mix(bench: Bench, typed: Mapping[str, str], today: date) -> Slip:
    sheet, shop = Sheet(typed), bench.shop
    chosen = sheet.choice("alloy", say("Alloy wanted"), [("", tuple((a.id, a.name) for a in shop.alloys))])
    mass = sheet.value(
        "mass", say("How much of it"), say("as much as the metal makes, where nothing is typed"), a_mass, needed=False
    )
    items = items_on(sheet, bench, today, say("Metal on the bench"), read_composition)
    alloy = next((a for a in shop.alloys if a.id == chosen), None)
    if alloy is not None:
        _look_through(sheet, alloy, items)
    if not items:
        sheet.missing.append(say("some metal, with its mass"))
    if not sheet.ready or alloy is None:
        return sheet.slip(None)
    offers = [item.offer for item in items]
    try:
        charge = (
            _most(alloy, offers, shop.rules.scale_step) if mass is None else compose(alloy, mass, offers, shop.rules.scale_step)
        )
    except CannotCompose as error:
        return sheet.slip(refused(error))
    return sheet.slip(_answer(charge, alloy, items, shop.rules.scale_step))


def _look_through(sheet: Sheet, alloy: Alloy, items: Sequence[Item]) -> None:
    """What may not go into this melt at all is told beside its row."""
    for item in items:
        where = f"m.{item.row}.{'what' if sheet.typed.get(f'm.{item.row}.what', '').strip() else 'from'}"
        if item.lot is not None and not suits(item.lot, alloy, None):
            sheet.complain(
                where, say("This lot is not {alloy}: metal that was cast before goes into its own alloy alone.", alloy=alloy.name)
            )
            continue
        why = obstacle(alloy, item.offer)
        if why == "melts":
            sheet.complain(
                where,
                say(
                    "Melted {melts}, as often as {alloy} allows: it goes to the refiner.",
                    melts=formats.count(item.offer.melts, "time"),
                    alloy=alloy.name,
                ),
            )
        elif why is not None:
            sheet.complain(where, say("It holds {element}, which {alloy} does not allow.", element=named(why), alloy=alloy.name))


def _most(alloy: Alloy, offers: Sequence[Offer], step: Mass) -> ComposedCharge:
    """The largest charge that the offers make, in whole steps of the scale."""
    everything = Mass(sum(o.available.base for o in offers if o.available is not None))
    found = greatest_blend(Asked(alloy=alloy, mass=everything, step=step), offers)
    steps = int(sum(found, Fraction(0)))
    for less in STEPS_LESS:
        if steps > less:
            try:
                return compose(alloy, Mass((steps - less) * step.base), offers, step)
            except CannotCompose:
                continue
    return compose(alloy, everything, offers, step)  # says what is in the way


def _answer(charge: ComposedCharge, alloy: Alloy, items: Sequence[Item], step: Mass) -> Answer:
    weighed = {part.offer.id: part.mass for part in charge.parts}
    rows = tuple(
        (i.offer.name, both(weighed.get(i.offer.id, Mass(0))), both(i.mass - weighed.get(i.offer.id, Mass(0)))) for i in items
    )
    facts = [(say("Charge"), both(charge.mass)), (say("The melt then"), composition_in_words(charge.melt))]
    if charge.fineness is not None and alloy.standard is not None:
        standard = formats.fineness(alloy.standard.minimum)
        facts.append(
            (
                say("Fineness"),
                say(
                    "{fineness} ‰ of {element}, standard {standard}",
                    fineness=formats.number(charge.fineness.decimal("‰", 1, DOWN)),
                    element=named(alloy.standard.element),
                    standard=standard,
                ),
            )
        )
    facts.append((say("Recycled"), formats.percent(charge.recycled)))
    return Answer(
        facts=tuple(facts),
        tables=(Table(caption=say("To weigh"), heads=(say("Metal"), say("Weigh"), say("Left over")), rows=rows),),
        notes=(
            say(
                "In steps of the scale ({step}), never under the standard after the losses expected in the melt.",
                step=formats.mass(step),
            ),
            say("Metal typed here counts as fresh and as what it is typed as. Weigh it again at the crucible."),
        ),
        cautions=("scrap", *(("zinc",) if "zinc fume" in alloy.cautions else ())),
    )
