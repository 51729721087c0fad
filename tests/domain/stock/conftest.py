"""A small shop with the starting alloys and metals, whose flasks are cast when a test says."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import pytest

from domain.mould.ring import Ring
from domain.planning.calendar import arrival, plan_day
from domain.planning.clock import Clock
from domain.planning.plan import PlannedFlask
from domain.planning.problem import Melt, PlanJob, Problem
from domain.shop.alloy import Alloy
from domain.shop.casting import Person, Shift, Weekday
from domain.shop.lots import Lot, Metal, MetalKind
from domain.shop.pattern import PieceSize
from domain.shop.shop import Shop, ShopRules
from domain.starting.alloys import starting_alloys
from domain.starting.metals import starting_metals
from domain.stock.supply import Want, metal_supply
from domain.units import Length, Mass, Share, Temperature, TemperatureRange

MONDAY = date(2026, 3, 2)
DAY = 1440
NINE = 540


@dataclass
class Bench:
    """Builds problems and flasks. Prices, lead days and packs are those of the starting metals."""

    metals: tuple[Metal, ...] = starting_metals()

    def __post_init__(self) -> None:
        self.alloys: Mapping[str, Alloy] = {a.id: a for a in starting_alloys()}

    def lot(self, name: str, kind: MetalKind, shares: Mapping[str, float | str], grams: float | str, **more: object) -> Lot:
        return Lot(
            id=name,
            name=f"lot {name}",
            kind=kind,
            composition={e: Share.percent(s) for e, s in shares.items()},
            mass=Mass.g(grams),
            **more,  # type: ignore[arg-type]
        )

    def shop(self) -> Shop:
        week = tuple(Shift(day=d, opens=NINE, closes=1020) for d in list(Weekday)[:5])
        return Shop(
            rules=ShopRules(),
            alloys=tuple(self.alloys.values()),
            materials=(),
            sizes=(),
            investments=(),
            programs=(),
            kilns=(),
            machines=(),
            people=(Person(id="p", name="p", casts=True, shifts=week),),
            closures=(),
            metals=self.metals,
        )

    def supply(self, lots: Iterable[Lot], wants: Iterable[Want]) -> dict[str, object]:
        shop = self.shop()
        return dict(metal_supply(shop, tuple(lots), tuple(wants), MONDAY, lambda lead: arrival(shop, MONDAY, lead)))

    def want(self, key: str, grams: float | str) -> Want:
        alloy, _, own = key.partition("/")
        return Want(key=key, alloy=self.alloys[alloy], own_lot=own or None, mass=Mass.g(grams))

    def problem(
        self, lots: Iterable[Lot], keys: Iterable[str], pieces: Mapping[str, Mass] | None = None, days: int = 14
    ) -> Problem:
        """``pieces``: mass of one piece with its feed, by melt key."""
        shop = self.shop()
        clock = Clock(MONDAY, "UTC")
        keys = list(keys)
        return Problem(
            shop=shop,
            clock=clock,
            now=clock.minute(datetime(2026, 3, 2, 8)),
            end=days * DAY,
            days=tuple(plan_day(shop, clock, MONDAY + timedelta(days=n)) for n in range(days)),
            shifts=(),
            kiln_outages={},
            machine_outages={},
            melts=tuple(self.melt(key) for key in keys),
            jobs=tuple(self.job(key, (pieces or {}).get(key, Mass.g(5))) for key in keys),
            lots=tuple(lots),
        )

    def melt(self, key: str) -> Melt:
        alloy, _, own = key.partition("/")
        return Melt(
            key=key,
            alloy=self.alloys[alloy],
            own_lot=own or None,
            investments=(),
            machines=frozenset(),
            stock_castable=Mass.g(100_000),
            order_from=None,
        )

    def job(self, key: str, each: Mass) -> PlanJob:
        return PlanJob(
            id=f"job {key}",
            name=key,
            melt=key,
            quantity=10_000,
            temperatures=TemperatureRange.c(400, 600),
            metal_each=each,
            size=PieceSize(width=Length.mm(5), height=Length.mm(5), reach=Length.mm(5)),
            ready=0,
            due="2026-03-13",
            weight=1,
            may_split=True,
            per_tree={},
            burnout_minutes=0,
            burnout_peak=Temperature.c(700),
        )

    def flask(self, name: str, key: str, grams: float | str | Mass, day: int, *, pieces: int = 0, at: int = 600) -> PlannedFlask:
        """A flask cast ``day`` days after Monday, ``at`` minutes after midnight, of ``grams`` charge."""
        start = day * DAY + at
        return PlannedFlask(
            id=name,
            melt=key,
            size="",
            investment="",
            rings=(Ring(pieces=((f"job {key}", pieces),), height=Length.mm(1)),) if pieces else (),
            temperature=Temperature.c(500),
            charge=grams if isinstance(grams, Mass) else Mass.g(grams),
            invest_start=start - 600,
            invest_end=start - 590,
            load="L",
            machine="M",
            people=(),
            cast_start=start,
            cast_end=start + 10,
            knockout_start=start + 20,
            knockout_end=start + 30,
        )


@pytest.fixture
def bench() -> Bench:
    return Bench()


@pytest.fixture
def make_bench() -> Callable[[tuple[Metal, ...]], Bench]:
    return lambda metals: Bench(metals=metals)
