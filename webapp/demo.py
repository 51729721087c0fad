"""The demo: an invented studio with an invented week, dated from today.

Its story: 46 jobs in 8 alloys; fine gold does not last the week and must be ordered in time; two jobs
cannot be on time (J144's patterns come after its due day, J145 is overdue already); J146 is larger than
every flask; J128 must not be split; J126 is cast from the customer's own gold.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from importlib.resources import files
from pathlib import Path
from typing import Any, TypeAlias

from domain.intake.typed import read_mass
from domain.planning.calendar import works
from domain.shop.alloy import Alloy, Section
from domain.shop.burnout import Outage
from domain.shop.casting import CastingMachine, Person, Shift, Weekday
from domain.shop.consumables import Amount, Consumable, CountedIn, UsedPer
from domain.shop.flask import FlaskSize
from domain.shop.jobs import Job
from domain.shop.lots import Lot, Metal, MetalKind, Powder
from domain.shop.pattern import PieceSize
from domain.shop.shop import Shop, ShopRules
from domain.starting.alloys import starting_alloys
from domain.starting.machines import starting_kilns, starting_machines
from domain.starting.metals import starting_metals
from domain.starting.mould import starting_investments, starting_materials, starting_programs, starting_sizes
from domain.units import Length, Mass, Money, Share
from domain.week.week import Week
from webapp.actions.exchange import replace_week
from webapp.demo_books import seed_books
from webapp.settings import Settings
from webapp.store.engine import Database, Session
from webapp.store.migrations import migrate

Row: TypeAlias = Mapping[str, Any]
OPENS = time(7, 0)
WORKING_DAYS = 10
"""A plan of the demo looks ahead at least this far."""


def demo_week(today: date, at: time = OPENS) -> Week:
    """The invented week as it is known on ``today`` at ``at``, the studio's local time."""
    data = _data()
    shop = _shop(data, today)
    day = Days(shop, today)
    return Week(
        shop=shop,
        jobs=tuple(_jobs(data, day)),
        lots=tuple(_lot(row, shop, day) for row in data["lots"]),
        powders=tuple(_powder(row) for row in data["powders"]),
        consumables=demo_consumables(),
        now=datetime.combine(today, at),
    )


def demo_consumables() -> tuple[Consumable, ...]:
    """What the studio uses up beside metal and powder."""
    table = _data()["consumables"]
    return tuple(_consumable(dict(zip(table["columns"], row, strict=True))) for row in table["rows"])


def _consumable(row: Row) -> Consumable:
    return Consumable(
        id=row["id"],
        name=row["name"],
        unit=CountedIn(row["unit"]),
        per=UsedPer(row["per"]),
        use=Amount.of(row["use"], "unit"),
        amount=Amount.of(row["amount"], "unit"),
        pack=Amount.of(row["pack"], "unit"),
        price=Money.of(row["price"], "unit"),
        lead_days=row["lead_days"],
    )


def seed_demo(session: Session, now: datetime) -> None:
    """Puts the invented week of ``now``, the studio's local time, into the store, and the weeks before into
    its books."""
    week = demo_week(now.date(), now.time())
    seed_books(session, week, Days(week.shop, now.date()))
    replace_week(session, week)


def fresh_demo(settings: Settings) -> None:
    """Makes the demo's database anew. Only a demo's settings are taken, never a shop's own data."""
    if not settings.demo or not settings.database_url.startswith("sqlite:///"):
        raise ValueError("these settings are a shop's own, not the demo's")
    _remove(settings.database_url)
    db = Database(settings.database_url)
    try:
        migrate(db)
        with db.write() as session:
            seed_demo(session, settings.now(_data()["rules"]["timezone"]))
    finally:
        db.close()


def _remove(url: str) -> None:
    path = Path(url.removeprefix("sqlite:///"))
    for name in (path.name, f"{path.name}-wal", f"{path.name}-shm"):
        path.with_name(name).unlink(missing_ok=True)


class Days:
    """Working days of the shop, counted from today: 0 is today, open or not."""

    def __init__(self, shop: Shop, today: date) -> None:
        self.shop = shop
        self.today = today

    def __call__(self, count: int) -> date:
        day, step = self.today, 1 if count > 0 else -1
        for _ in range(abs(count)):
            day += timedelta(days=step)
            while not works(self.shop, day):
                day += timedelta(days=step)
        return day


def _data() -> Row:
    return tomllib.loads(files("webapp").joinpath("demo_data", "studio.toml").read_text(encoding="utf-8"))


def _shop(data: Row, today: date) -> Shop:
    shop = Shop(
        rules=ShopRules(**data["rules"]),
        alloys=starting_alloys(),
        materials=starting_materials(),
        sizes=tuple(_sizes(data["sizes"])),
        investments=starting_investments(),
        programs=starting_programs(),
        kilns=tuple(replace(kiln, unattended=True) for kiln in starting_kilns()),
        machines=tuple(_machines(data["machines"])),
        people=tuple(_person(row) for row in data["people"]),
        closures=tuple(_closures(data["closure"], today)),
        metals=starting_metals(),
    )
    ahead = (Days(shop, today)(WORKING_DAYS) - today).days + 1
    return replace(shop, rules=replace(shop.rules, horizon_days=max(shop.rules.horizon_days, ahead)))


def _sizes(owned: Mapping[str, int]) -> Iterator[FlaskSize]:
    return (replace(size, owned=owned[size.id]) for size in starting_sizes() if size.id in owned)


def _machines(fits: Mapping[str, list[str]]) -> Iterator[CastingMachine]:
    return (replace(machine, fits=frozenset(fits[machine.id])) for machine in starting_machines() if machine.id in fits)


def _person(row: Row) -> Person:
    opens, closes = _minutes(row["opens"]), _minutes(row["closes"])
    shifts = tuple(Shift(day=Weekday(day), opens=opens, closes=closes) for day in row["days"])
    return Person(id=row["id"], name=row["name"], casts=row["casts"], shifts=shifts)


def _minutes(text: str) -> int:
    moment = time.fromisoformat(text)
    return moment.hour * 60 + moment.minute


def _closures(row: Row, today: date) -> Iterator[Outage]:
    """The yearly closure around today: it begins in one year and ends in the next."""
    for year in (today.year - 1, today.year):
        yield Outage(first=f"{year}-{row['first']}", last=f"{year + 1}-{row['last']}", reason=row["reason"])


def _jobs(data: Row, day: Days) -> Iterator[Job]:
    for row in data["jobs"]["rows"]:
        values = dict(zip(data["jobs"]["columns"], row, strict=True))
        yield _job(values, data["details"].get(values["id"], {}), day)


def _job(row: Row, details: Row, day: Days) -> Job:
    return Job(
        id=row["id"],
        customer=row["customer"],
        item=row["item"],
        alloy=row["alloy"],
        section=Section(row["section"]),
        material=row["material"],
        quantity=row["quantity"],
        pattern_mass=_mass(row["pattern"]),
        size=PieceSize(width=Length.mm(row["width"]), height=Length.mm(row["height"]), reach=Length.mm(row["reach"])),
        ready=day(row["ready"]).isoformat(),
        due=day(row["due"]).isoformat(),
        **details,
    )


def _mass(text: str) -> Mass:
    return read_mass(text, None)


def _lot(row: Row, shop: Shop, day: Days) -> Lot:
    common: dict[str, Any] = {"id": row["id"], "mass": _mass(row["mass"])}
    if "since" in row:
        common["since"] = day(row["since"]).isoformat()
    if "arrives" in row:
        common["arrives"] = day(row["arrives"]).isoformat()
    if "metal" in row:
        return _bought(next(metal for metal in shop.metals if metal.id == row["metal"]), common)
    return _melted(row, next(alloy for alloy in shop.alloys if alloy.id == row.get("recycled", row.get("own"))), common)


def _bought(metal: Metal, common: dict[str, Any]) -> Lot:
    per_gram = metal.price.times(1 / metal.price_mass.to("g"))
    return Lot(
        name=metal.name, kind=metal.kind, composition=metal.composition, metal=metal.id, alloy=metal.alloy, cost=per_gram, **common
    )


def _melted(row: Row, alloy: Alloy, common: dict[str, Any]) -> Lot:
    own = "own" in row
    return Lot(
        name=f"{alloy.name}, the customer's own" if own else f"{alloy.name}, recycled",
        kind=MetalKind.GRAIN if own else MetalKind.RECYCLED,
        composition=_middle(alloy),
        alloy=alloy.id,
        melts=row.get("melts", 0),
        owner_job=row.get("owner_job"),
        **common,
    )


def _middle(alloy: Alloy) -> dict[str, Share]:
    """A composition inside the alloy's ranges: from the low ends upwards, in equal parts of each range."""
    low = sum(part.low.base for part in alloy.composition)
    room = sum(part.high.base - part.low.base for part in alloy.composition)
    parts = {
        part.element: part.low.base + (part.high.base - part.low.base) * (1_000_000 - low) // max(room, 1)
        for part in alloy.composition
    }
    largest = max(parts, key=lambda element: parts[element])
    parts[largest] += 1_000_000 - sum(parts.values())
    return {element: Share(base) for element, base in parts.items()}


def _powder(row: Row) -> Powder:
    pack = _mass(row["pack"])
    price = Money.of(row["price"], "unit")
    return Powder(
        investment=row["investment"], mass=_mass(row["mass"]), lead_days=row["lead_days"], pack=pack, price=price, price_mass=pack
    )
