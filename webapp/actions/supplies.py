"""Powder and consumables: what is used when a stage of a flask is recorded, counts, orders and deliveries."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from domain.books.accounts import Account, AccountKind, Reason
from domain.books.entries import EntryKind, moved
from domain.errors import DomainError, InvalidValue
from domain.planning.plan import PlannedFlask
from domain.saying import say
from domain.shop.consumables import Amount, Consumable, UsedPer
from domain.stock.consumed import (
    POWDER,
    Key,
    Shelf,
    SupplyPosition,
    flask_powder,
    shelf_of,
    shelf_of_powder,
    supply_positions,
    uses_of,
)
from domain.units import Mass
from webapp import formats, reading
from webapp.actions.planning import Desk, load_desk, shop_now
from webapp.settings import Settings
from webapp.store import books, nouns, stock, supplies
from webapp.store.engine import Database, Session
from webapp.store.flasks import Stage
from webapp.store.stock import Happening
from webapp.store.supplies import Ordered, SupplyMove
from webapp.store.week import load_rules
from webapp.ways import METRIC, within

PER = {Stage.INVESTED: UsedPer.FLASK, Stage.STARTED: UsedPer.LOAD, Stage.CAST: UsedPer.CAST}
"""What is used up when a stage is recorded."""

MOVES = {
    Happening.RECEIPT: (SupplyMove.RECEIVED, "supplier"),
    Happening.ISSUE: (SupplyMove.TAKEN_OUT, Reason.OTHER_USE.value),
    Happening.RETURN: (SupplyMove.CAME_BACK, Reason.OTHER_USE.value),
    Happening.COUNT: (SupplyMove.COUNTED, ""),
}


def used(session: Session, desk: Desk, flask: str, stage: Stage, powder: Mass | None = None) -> None:
    """Write down what a stage of a flask has used up, once: powder and what each flask takes when it is invested,
    what each kiln load takes when its program starts, what each cast takes. What the shelf does not hold cannot
    be taken off it; the entry says so, and a count puts it right. ``powder``: as weighed, else that of the mix."""
    per, planned = PER.get(stage), desk.open_plan.flask(flask)
    if per is None or planned is None:
        return
    together = _together(desk, planned) if per is UsedPer.LOAD else [flask]
    if any(one.per is per for one in supplies.used_for(session, together)):
        return
    if per is UsedPer.FLASK:
        _pour(session, desk, planned, powder)
    for thing in nouns.all_of(session, Consumable):
        if thing.per is per and thing.use.base:
            taken = min(thing.use, thing.amount)
            note = (
                ""
                if taken == thing.use
                else say("the books held less than the {amount} used; count it", amount=amount_words(thing.use, thing.unit))
            )
            supplies.move(session, thing.id, SupplyMove.USED, -taken, other=f"{per} {flask}", flask=flask, per=per, note=note)


def not_used(session: Session, flask: str, stage: Stage) -> None:
    """The counter-entries, when a stage is taken back."""
    per = PER.get(stage)
    if per is None:
        return
    if per is UsedPer.FLASK:
        for entry in books.entries(session, flask=flask, kinds=[EntryKind.INVESTED], standing=True):
            books.take_back(session, entry.id, say("{flask} is not invested after all", flask=flask))
    for one in supplies.used_for(session, [flask]):
        if one.per is per:
            supplies.take_back(session, one, f"{flask} is not {stage} after all")


def _together(desk: Desk, planned: PlannedFlask) -> list[str]:
    return [name for load in desk.open_plan.loads if load.id == planned.load for name in load.flasks] or [planned.id]


def _pour(session: Session, desk: Desk, planned: PlannedFlask, weighed: Mass | None) -> None:
    """The powder of the flask's mix goes into its mould."""
    wanted, here = weighed or flask_powder(desk.problem, planned), Account(AccountKind.POWDER, planned.investment)
    if wanted is None or books.entries(session, flask=planned.id, kinds=[EntryKind.INVESTED], standing=True):
        return
    there = books.balance(session, here)
    taken = min(wanted, there.mass)
    if taken.base:
        with within(METRIC):
            note = (
                ""
                if taken == wanted
                else say("the books held less than the {mass} of the mix; count it", mass=formats.mass(wanted))
            )
        postings = moved(here, Account(AccountKind.MOULD, planned.id), there.part(taken))
        books.post(session, EntryKind.INVESTED, postings, flask=planned.id, note=note)


def reached(desk: Desk) -> dict[str, frozenset[UsedPer]]:
    """By flask, what was recorded of it and so used up."""
    order = (Stage.INVESTED, Stage.LOADED, Stage.STARTED, Stage.CAST)
    found: dict[str, frozenset[UsedPer]] = {}
    for flask, stage in desk.stages.items():
        names = [str(one) for one in order]
        done = names.index(stage) if stage in names else len(names)
        found[flask] = frozenset(PER[one] for n, one in enumerate(order) if one in PER and n <= done)
    return found


def shelves(desk: Desk) -> tuple[Shelf, ...]:
    names = {i.id: i.name for i in desk.problem.shop.investments}
    return (
        *(shelf_of_powder(p, names.get(p.investment, p.investment)) for p in desk.week.powders),
        *(shelf_of(thing) for thing in desk.week.consumables or ()),
    )


def positions(session: Session, desk: Desk) -> tuple[SupplyPosition, ...]:
    """Powder and consumables under the current plan, with what is on its way."""
    uses = uses_of(desk.problem, desk.open_plan, desk.week.consumables or (), reached(desk))
    coming = [one.delivery for one in supplies.waiting(session)]
    return supply_positions(desk.problem, shelves(desk), uses, coming)


def change_consumable(session: Session, key: str, happening: Happening, typed: Mapping[str, str], reason: Reason) -> None:
    """Received, taken out, came back or counted, in its own unit. Raises ``InvalidValue``."""
    if happening not in MOVES:
        raise InvalidValue("kind", say("this is for metal only"))
    thing = nouns.find(session, Consumable, key)
    if thing is None:
        raise InvalidValue("mass", say("there is no consumable “{name}”", name=key))
    amount = read_amount(typed.get("mass", ""), "mass")
    if amount.base == 0 and happening is not Happening.COUNT:
        raise InvalidValue("mass", say("give more than nothing"))
    kind, other = MOVES[happening]
    change = -amount if happening is Happening.ISSUE else amount - thing.amount if happening is Happening.COUNT else amount
    supplies.move(session, key, kind, change, other=other or reason, note=typed.get("note", ""), key=typed.get("key"))


def read_amount(text: str, field: str, unit: str = "") -> Amount:
    """So many of a thing's own unit. Raises ``InvalidValue`` for what is no number or less than nothing."""
    clean = text.strip()
    if unit == "g":
        amount = Amount(reading.bulk(clean, field).base)
    else:
        amount = Amount.of(reading.number(clean.removesuffix(unit).strip() if unit else clean, field), "unit")
    if amount.base < 0:
        raise InvalidValue(field, say("not less than nothing"))
    if abs(amount.base) >= 10**15:
        raise InvalidValue(field, say("this is too much"))
    return amount


def amount_words(amount: Amount, unit: str) -> str:
    return formats.amount(amount, unit)


def order(db: Database, settings: Settings, what: Key, typed: Mapping[str, str]) -> str:
    """What was ordered is on its way; the books hear of it when it arrives. Raises ``InvalidValue`` beside the field."""
    with db.write() as session:
        desk = load_desk(session, settings)
        shelf = _shelf(desk, what)
        amount = read_amount(typed.get("amount", ""), "amount", shelf.unit)
        if amount.base <= 0:
            raise InvalidValue("amount", say("more than nothing is ordered"))
        arrives = _day(typed.get("arrives", ""), shop_now(session, settings).date())
        currency = load_rules(session).currency
        text = typed.get("price", "").strip()
        cost = reading.money(text, currency, "price") if text else shelf.price.times(amount.over(shelf.priced))
        supplies.place(session, what, amount, cost, arrives.isoformat(), typed.get("key"))
    return say("{shelf}, {amount}, is on its way.", shelf=shelf.name, amount=amount_words(amount, shelf.unit))


def arrived(db: Database, settings: Settings, number: int, typed: Mapping[str, str]) -> str:
    """A delivery is here: what came is on the shelf, received from the supplier. Raises ``InvalidValue``."""
    with db.write() as session:
        desk = load_desk(session, settings)
        found = next((one for one in supplies.waiting(session) if one.id == number), None)
        if found is None:
            raise DomainError(say("This delivery is not on its way any more."))
        shelf = _shelf(desk, found.key)
        amount = read_amount(typed.get("amount", ""), "amount", shelf.unit)
        if amount.base <= 0:
            raise InvalidValue("amount", say("count what came; where nothing came, leave it on its way or take the order back"))
        supplies.close(session, number, "arrived")
        with within(METRIC):
            note = (
                say("ordered were {mass}", mass=amount_words(found.amount, shelf.unit))
                if amount != found.amount
                else say("as ordered")
            )
        if found.key.kind == POWDER:
            stock.change_powder(session, found.key.ref, Happening.RECEIPT, Mass(amount.base), note=note)
        else:
            supplies.move(session, found.key.ref, SupplyMove.RECEIVED, amount, other="supplier", note=note)
    return say("{shelf} is on the shelf: {amount}.", shelf=shelf.name, amount=amount_words(amount, shelf.unit))


def take_back(db: Database, number: int) -> str:
    """An order that does not come after all."""
    with db.write() as session:
        supplies.close(session, number, "taken back")
    return say("The order is taken back. Nothing was booked.")


def coming(session: Session, desk: Desk) -> tuple[tuple[Ordered, Shelf], ...]:
    """What is on its way, with what it is."""
    known = {shelf.key: shelf for shelf in shelves(desk)}
    return tuple((one, known[one.key]) for one in supplies.waiting(session) if one.key in known)


def _shelf(desk: Desk, what: Key) -> Shelf:
    found = next((shelf for shelf in shelves(desk) if shelf.key == what), None)
    if found is None:
        raise DomainError(say("The shop does not keep this any more."))
    return found


def _day(text: str, today: date) -> date:
    try:
        day = date.fromisoformat(text.strip())
    except ValueError:
        raise InvalidValue("arrives", say("type the day on which it comes, such as 2026-03-02")) from None
    if day < today:
        raise InvalidValue("arrives", say("this day has passed; what is here already is taken in as received"))
    return day
