"""The metal of the week: its position, what goes to the refiner, real trees, what was lost."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from domain.books.accounts import POT, Account, AccountKind
from domain.books.content import Content, composition_of
from domain.errors import DomainError, InvalidValue
from domain.saying import say
from domain.shop.lots import Lot
from domain.stock.loss import FlaskLoss
from domain.stock.offers import is_recycled
from domain.stock.position import MetalWeek, metal_week
from domain.stock.real_tree import with_real_tree
from domain.stock.week_charges import Shortage
from domain.units import Mass
from domain.week.recharging import recharged
from webapp import reading
from webapp.actions.planning import Desk, load_desk
from webapp.actions.recharging import Again, recharge
from webapp.settings import Settings
from webapp.store import books, charges, flasks, reservations, stock
from webapp.store.engine import Database, Session
from webapp.store.losses import known_losses
from webapp.store.stock import Happening

LOOKED_BACK = timedelta(days=365)
"""how far the losses are charted"""


def metal_of(desk: Desk) -> MetalWeek:
    """The position of every metal under the current plan; the stock alone where there is no plan."""
    return metal_week(desk.problem, desk.open_plan)


def past_losses(session: Session, desk: Desk) -> tuple[FlaskLoss, ...]:
    """Of a year of whole days, in the order of casting."""
    zone = desk.problem.clock.timezone
    since = datetime.combine(desk.now.date() - LOOKED_BACK, time(), ZoneInfo(zone))
    return known_losses(session, since, zone)


@dataclass(frozen=True, slots=True, kw_only=True)
class SpentLot:
    """A lot that no charge may take. ``why``: in words. ``content``: what the books say it holds."""

    lot: Lot
    why: str
    content: Content


def spent_lots(session: Session, desk: Desk) -> tuple[SpentLot, ...]:
    """Recycled metal on the shelf that has reached its alloy's melt count, or is of an alloy that nobody knows."""
    limits = {a.id: a.melts_limit for a in desk.week.shop.alloys}
    found = [(lot, _why_spent(lot, limits)) for lot in desk.week.lots if lot.mass.base and not lot.owner_job]
    if not any(why for _, why in found):
        return ()
    held = books.balances(session, AccountKind.LOT)
    return tuple(SpentLot(lot=lot, why=why, content=held[lot.id]) for lot, why in found if why and lot.id in held)


def _why_spent(lot: Lot, limits: dict[str, int]) -> str:
    if not is_recycled(lot) or lot.arrives:
        return ""
    if lot.alloy not in limits:
        return say("of unknown alloy")
    return say("melted {melts} times, its alloy allows no more", melts=lot.melts) if lot.melts >= limits[lot.alloy] else ""


def refiners_lot(session: Session) -> Content:
    """What waits in the house for the refiner."""
    return books.balance(session, POT)


def uncleaned(session: Session) -> dict[str, Content]:
    """By flask, button and sprues that were weighed and are not back on the shelf yet."""
    return books.balances(session, AccountKind.RETURNS)


def to_refiner(db: Database, settings: Settings, lot: str, key: str) -> str:
    """All of a lot to the refiner's lot; says what became of it. Raises ``DomainError`` where a charge still counts
    on the lot or it is empty."""
    with db.write() as session:
        held = books.balance(session, Account(AccountKind.LOT, lot)).mass
        if books.with_key(session, key) is not None:
            return say("Lot {lot} is in the refiner's lot already.", lot=lot)
        if held.base == 0:
            raise DomainError(say("There is nothing left of lot {lot}.", lot=lot))
        takers = [r.flask for r in reservations.reservations(session, lot)]
        if takers:
            raise DomainError(
                say(
                    "Lot {lot} is reserved for {flasks}. Plan again without it first, or take it off there.",
                    lot=lot,
                    flasks=", ".join(takers),
                )
            )
        stock.change_lot(session, lot, Happening.REFINER, held, note=say("to the refiner's lot"), key=key or None)
        again = recharge(session, settings, say("lot {lot} went to the refiner", lot=lot))
    return say("Lot {lot} is in the refiner's lot.{again}", lot=lot, again=again.words)


def composition_words(content: Content) -> tuple[tuple[str, Mass], ...]:
    """Element by element, the most first, in whole milligrams rounded down, so that nothing is promised that is not there."""
    shares = composition_of(content) if content.mass.base else {}
    masses = [(e, Mass(content.elements[e] // 1_000_000)) for e in shares]
    return tuple(sorted(masses, key=lambda one: -one[1].base))


def weigh_tree(db: Database, settings: Settings, flask: str, gross: str, base: str, key: str) -> Again:
    """The real tree of a flask was weighed, with its sprue base and the base alone, as typed: the charge is worked
    out from it and the flask pinned. Raises ``InvalidValue`` for what cannot be, ``DomainError`` where the flask is
    charged already."""
    with db.write() as session:
        desk = load_desk(session, settings)
        planned = desk.open_plan.flask(flask)
        if planned is None:
            raise DomainError(say("There is no flask {flask} in the current plan.", flask=flask))
        if not desk.problem.on_shelf(planned):
            raise DomainError(
                say("The charge of {flask} is weighed or its slot has passed; its tree cannot change it any more.", flask=flask)
            )
        whole, alone = reading.mass(gross, "gross"), reading.mass(base or "0", "base")
        if whole <= alone:
            raise InvalidValue("gross", say("the tree with its base weighs more than the base alone"))
        real = with_real_tree(desk.problem, planned, whole - alone)
        machine = desk.problem.machine.get(planned.machine)
        if machine is not None and real.charge > machine.crucible_mass:
            raise InvalidValue(
                "gross",
                say(
                    "the charge would be more than the crucible of {machine} takes; take pieces off the tree", machine=machine.name
                ),
            )
        if not charges.weigh_tree(session, flask, whole, alone, key):
            return Again()
        flasks.pin(session, flask, desk.pins.get(flask) or say("its tree is built and weighed"))
        return recharge(
            session, settings, say("the real tree weighs {mass} g", mass=f"{float((whole - alone).to('g')):.2f}"), [real]
        )


def alloy_names(desk: Desk) -> dict[str, str]:
    return {a.id: a.name for a in desk.problem.shop.alloys}


def in_the_way(desk: Desk) -> tuple[Shortage, ...]:
    """Flasks still to be cast that have no charge, what is in the way and the cheapest purchase that mends it."""
    plan = desk.open_plan
    charged = {c.flask for c in plan.charges}
    bare = [f.id for f in plan.flasks if f.id not in charged and desk.problem.on_shelf(f)]
    return recharged(desk.problem, plan, bare).short if bare else ()
