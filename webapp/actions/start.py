"""Opening a new shop: the starting values, before anybody has typed in their own."""

from __future__ import annotations

from domain.shop.casting import Person, Shift, Weekday
from domain.shop.lots import Powder
from domain.shop.shop import Shop, ShopRules
from domain.starting.alloys import starting_alloys
from domain.starting.machines import starting_kilns, starting_machines
from domain.starting.metals import starting_metals
from domain.starting.mould import starting_investments, starting_materials, starting_programs, starting_sizes
from domain.units import Mass, Money
from webapp.store import nouns
from webapp.store.engine import Database
from webapp.store.week import put_shop

WORKING_DAYS = (Weekday.MONDAY, Weekday.TUESDAY, Weekday.WEDNESDAY, Weekday.THURSDAY, Weekday.FRIDAY)


def open_shop(db: Database, timezone: str) -> None:
    """Fill an empty database with starting values; leave any other as it is."""
    with db.read() as session:
        if nouns.find(session, ShopRules, 1) is not None:
            return
    with db.write() as session:
        if nouns.find(session, ShopRules, 1) is not None:
            return  # another server that starts at the same time was faster
        put_shop(session, starting_shop(timezone))
        for kind in starting_investments():
            nouns.put(session, _no_powder_yet(kind.id))


def starting_shop(timezone: str) -> Shop:
    """One caster with ordinary hours, so that a first week can be planned; everything is to be edited."""
    hours = tuple(Shift(day=day, opens=8 * 60, closes=16 * 60 + 30) for day in WORKING_DAYS)
    return Shop(
        rules=ShopRules(timezone=timezone),
        alloys=starting_alloys(),
        materials=starting_materials(),
        sizes=starting_sizes(),
        investments=starting_investments(),
        programs=starting_programs(),
        kilns=starting_kilns(),
        machines=starting_machines(),
        people=(Person(id="caster", name="Caster", casts=True, shifts=hours),),
        closures=(),
        metals=starting_metals(),
    )


def _no_powder_yet(investment: str) -> Powder:
    return Powder(
        investment=investment, mass=Mass(0), lead_days=3, pack=Mass.of(10, "kg"), price=Money(0), price_mass=Mass.of(10, "kg")
    )
