"""Metal that is ordered, on its way and received; what it costs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

from domain.errors import DomainError, InvalidValue
from domain.intake.table import read_table
from domain.saying import listed, say
from domain.shop.lots import Lot, Metal
from domain.units import Mass, Money
from domain.week.build import problem_of
from domain.week.recharging import delivered_from
from webapp import formats, reading
from webapp.actions.planning import shop_now
from webapp.actions.recharging import recharge
from webapp.settings import Settings
from webapp.store import books, metal_orders, nouns, plans, stock
from webapp.store.engine import Database, Session
from webapp.store.metal_orders import MetalOrdered, OrderState
from webapp.store.stock import Happening
from webapp.store.week import load_rules, load_week, save_plan
from webapp.ways import METRIC, within

PER = {"g": say("gram"), "ozt": say("troy ounce"), "dwt": say("pennyweight"), "kg": say("kilogram")}
"""What a price may be for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OnItsWay:
    """``order``: as it was placed; none for a delivery that was typed in as a lot."""

    lot: Lot
    order: MetalOrdered | None


def on_the_way(session: Session) -> tuple[OnItsWay, ...]:
    """Lots that were ordered and are not marked arrived, by their day."""
    placed = {one.lot: one for one in metal_orders.orders(session, newest=1000) if one.state is OrderState.PLACED}
    lots = [lot for lot in nouns.all_of(session, Lot) if lot.arrives and lot.mass.base]
    return tuple(OnItsWay(lot=lot, order=placed.get(lot.id)) for lot in sorted(lots, key=lambda lot: (lot.arrives or "", lot.id)))


def closed_orders(session: Session) -> tuple[tuple[MetalOrdered, str], ...]:
    """Orders that arrived or were cancelled, the newest first, with the metal's name."""
    names = {s.key: s.value.name for s in (*nouns.all_stored(session, Metal), *nouns.all_stored(session, Metal, archived=True))}
    return tuple((one, names.get(one.metal, one.metal)) for one in metal_orders.orders(session) if one.closed)


def order(db: Database, settings: Settings, metal_id: str, typed: Mapping[str, str]) -> str:
    """What was ordered becomes a delivery on its way, and the charges that wait for it count on it; says so.

    ``typed``: mass, arrives (ISO date), price (of all of it), key. Raises ``InvalidValue`` beside the field.
    """
    with db.write() as session:
        now, rules = shop_now(session, settings), load_rules(session)
        metal = nouns.find(session, Metal, metal_id)
        if metal is None:
            raise DomainError(say("The shop does not know this metal any more."))
        if metal_orders.of_key(session, typed.get("key")):
            return say("{metal} is ordered already.", metal=metal.name)
        mass, arrives = _some(typed), _day(typed, "arrives", now.date())
        price = typed.get("price", "").strip()
        cost = reading.money(price, rules.currency) if price else _list_price(metal, mass)
        lot = Lot(
            id=_new_id(session),
            name=f"{metal.name}, ordered {_day_kept(now.date())}",
            kind=metal.kind,
            composition=metal.composition,
            mass=mass,
            metal=metal.id,
            alloy=metal.alloy,
            arrives=arrives.isoformat(),
            cost=Money(round(cost.base / mass.to("g"))),
        )
        _place(session, lot, cost, typed.get("key"))
        _count_on(session, settings, metal.id, lot)
        again = recharge(session, settings, say("{metal} arrives {day}", metal=metal.name, day=_day_kept(arrives)))
    return say(
        "{metal}, {mass}, is on its way as lot {lot}.{again}",
        metal=metal.name,
        mass=formats.mass(mass),
        lot=lot.id,
        again=again.words,
    )


def _day_kept(day: date) -> str:
    """As the record keeps it for every reader."""
    with within(METRIC):
        return formats.day(day)


def _place(session: Session, lot: Lot, cost: Money, key: str | None) -> None:
    nouns.add(session, lot)
    metal_orders.place(session, lot.id, lot.metal or "", lot.mass, cost, lot.arrives or "", key)


def _some(typed: Mapping[str, str]) -> Mass:
    mass = reading.mass(typed.get("mass", ""))
    if mass.base <= 0:
        raise InvalidValue("mass", say("more than nothing is ordered"))
    return mass


def _day(typed: Mapping[str, str], field: str, today: date) -> date:
    try:
        day = date.fromisoformat(typed.get(field, "").strip())
    except ValueError:
        raise InvalidValue(field, say("type the day on which it comes, such as 2026-03-02")) from None
    if day < today:
        raise InvalidValue(field, say("this day has passed; what is here already is taken in as a lot"))
    return day


def _list_price(metal: Metal, mass: Mass) -> Money:
    return metal.price.times(mass.over(metal.price_mass))


def _new_id(session: Session) -> str:
    taken = {lot.id for lot in nouns.all_of(session, Lot)} | {s.key for s in nouns.all_stored(session, Lot, archived=True)}
    return next(f"P{n:02d}" for n in range(1, len(taken) + 2) if f"P{n:02d}" not in taken)


def _count_on(session: Session, settings: Settings, metal: str, lot: Lot) -> None:
    """Charges that waited for an order take from the delivery; they weigh what they weighed."""
    now = shop_now(session, settings)
    week = load_week(session, now)
    stored, plan = plans.current_plan(session), week.previous
    if stored is not None and plan is not None:
        save_plan(session, delivered_from(plan, problem_of(week), metal, lot), now, note=stored.note)


def arrived(db: Database, settings: Settings, lot_id: str, typed: Mapping[str, str]) -> str:
    """A delivery is here and was weighed: now it is booked, from the supplier to its lot. Says so.

    ``typed``: mass, key; rest: the ISO date on which what is missing comes, empty where it does not come.
    Raises ``InvalidValue`` beside the field.
    """
    with db.write() as session:
        if books.with_key(session, typed.get("key")) is not None:
            return say("Lot {lot} is on the shelf already.", lot=lot_id)
        lot = _waiting(session, lot_id)
        mass = reading.mass(typed.get("mass", ""))
        if mass.base <= 0:
            raise InvalidValue("mass", say("weigh what came; where nothing came, leave it on its way or take the order back"))
        today = shop_now(session, settings).date()
        rest = _rest(session, lot, mass, typed, today)
        name = lot.name.replace(", ordered", ", of")
        nouns.put(session, replace(lot, mass=Mass(0), arrives=None, since=today.isoformat(), name=name))
        stock.change_lot(session, lot.id, Happening.RECEIPT, mass, note=_note(lot, mass), key=typed.get("key") or None)
        metal_orders.close(session, lot.id, OrderState.IN_PART if mass < lot.mass else OrderState.ARRIVED, mass)
        with within(METRIC):
            why = say(
                "of lot {lot} {came} came in place of {mass}", lot=lot.id, came=formats.mass(mass), mass=formats.mass(lot.mass)
            )
        again = recharge(session, settings, why)
    return say("Lot {lot} is on the shelf: {mass}.{rest}{again}", lot=lot.id, mass=formats.mass(mass), rest=rest, again=again.words)


def _note(lot: Lot, mass: Mass) -> str:
    with within(METRIC):
        return say("as ordered") if mass == lot.mass else say("ordered were {mass}", mass=formats.mass(lot.mass))


def _rest(session: Session, lot: Lot, came: Mass, typed: Mapping[str, str], today: date) -> str:
    """What is missing stays on its way as a lot of its own; in words."""
    if not typed.get("rest", "").strip():
        return ""
    missing, day = lot.mass - came, _day(typed, "rest", today)
    if missing.base <= 0:
        raise InvalidValue("rest", say("nothing is missing of this order; leave it empty"))
    rest = replace(lot, id=_new_id(session), mass=missing, arrives=day.isoformat())
    _place(session, rest, lot.cost.times(missing.to("g")), None)
    return say(" The missing {missing} are on their way as lot {rest}.", missing=formats.mass(missing), rest=rest.id)


def cancel(db: Database, settings: Settings, lot_id: str) -> str:
    """An order that does not come after all; says what became of the charges that counted on it."""
    with db.write() as session:
        lot = _waiting(session, lot_id)
        nouns.put(session, replace(lot, mass=Mass(0), arrives=None))
        nouns.archive(session, Lot, lot.id)
        metal_orders.close(session, lot.id, OrderState.CANCELLED, Mass(0))
        again = recharge(session, settings, say("the delivery {lot} does not come", lot=lot.id))
    return say("The order of {lot} is cancelled.{again}", lot=lot.name, again=again.words)


def _waiting(session: Session, lot_id: str) -> Lot:
    lot = nouns.find(session, Lot, lot_id)
    if lot is None or not lot.arrives:
        raise DomainError(say("No delivery {lot} is on its way.", lot=lot_id))
    return lot


@dataclass(frozen=True, slots=True, kw_only=True)
class PricesRead:
    """``changed``: how many prices are new. ``trouble``: what could not be read, row by row."""

    changed: int
    trouble: tuple[str, ...]


def set_prices(session: Session, typed: Mapping[str, str]) -> dict[str, str]:
    """Prices as typed: ``price-ID`` and ``per-ID``. Errors by field; nothing is saved where there is one."""
    currency, errors, wanted = load_rules(session).currency, {}, []
    for metal in nouns.all_of(session, Metal):
        text, per = typed.get(f"price-{metal.id}"), typed.get(f"per-{metal.id}", "g")
        if text is None:
            continue
        try:
            wanted.append(_priced(metal, text, per, currency))
        except InvalidValue as error:
            errors[f"price-{metal.id}"] = str(error)
    if not errors:
        _put_prices(session, wanted)
    return errors


def _priced(metal: Metal, text: str, per: str, currency: str) -> Metal:
    if per and per not in PER:
        raise InvalidValue("per", say("a price is for one of {names}", names=listed(PER.values())))
    mass = Mass.of(1, per) if per else metal.price_mass
    return replace(metal, price=reading.money(text, currency, "price"), price_mass=mass)


def _put_prices(session: Session, metals: list[Metal]) -> int:
    known = {m.id: m for m in nouns.all_of(session, Metal)}
    changed = [m for m in metals if (m.price, m.price_mass) != (known[m.id].price, known[m.id].price_mass)]
    for metal in changed:
        nouns.put(session, metal)
    return len(changed)


def import_prices(session: Session, data: bytes | str) -> PricesRead:
    """A list of prices: metal (its id or name), price, and per what (g where it is not said). Rows that cannot be read
    are told and change nothing; the others are taken. Raises ``InvalidValue`` for a file that is no list."""
    currency = load_rules(session).currency
    by_name = {key.casefold(): m for m in nouns.all_of(session, Metal) for key in (m.id, m.name)}
    wanted: dict[str, Metal] = {}
    trouble: list[str] = []
    for row, cells in enumerate(read_table(data).records, 1):
        texts = [c.strip() for c in cells]
        if not any(texts) or (row == 1 and not any(c.isdigit() for c in "".join(texts[1:]))):
            continue  # blank, or the headings
        metal = by_name.get(texts[0].casefold())
        try:
            if metal is None:
                raise InvalidValue("metal", say("the shop knows no metal “{name}”", name=texts[0][:40]))
            price, per = (*texts[1:], "", "")[:2]
            wanted[metal.id] = _priced(metal, price, _per(per), currency)
        except InvalidValue as error:
            trouble.append(say("Row {row}: {error}", row=row, error=str(error)))
    return PricesRead(changed=_put_prices(session, list(wanted.values())), trouble=tuple(trouble))


def _per(text: str) -> str:
    clean = text.casefold().strip(" .")
    words: dict[str, str] = {
        **{unit: unit for unit in PER},
        **{word: unit for unit, word in PER.items()},
        "": "g",
        "oz t": "ozt",
        "oz": "ozt",
    }
    return words.get(clean, clean)
