"""A small week and a plan for it, both made by hand: minutes count from Monday 2025-03-10, 00:00.

Monday: A, B (silver) and C (gold) are invested; A and B go into kiln K1. Tuesday: A and B are cast,
C rides K2 under somebody's eyes and is cast; D (a customer's gold), E (silver, partly what A gave
back) and H (bronze, by the shop's own pieces per tree) go into K1. Wednesday: they are cast.
F0 is fixed: it was in the kiln before the plan was asked for.
"""

from __future__ import annotations

import importlib.util
import math
import sys
from dataclasses import replace
from datetime import date
from pathlib import Path
from types import ModuleType

import pytest

from domain.planning.clock import Clock
from domain.planning.plan import (
    ChargePart,
    FlaskCharge,
    From,
    KilnLoad,
    LeftOut,
    Level,
    MetalOrder,
    Plan,
    PlannedFlask,
    Ring,
)
from domain.planning.problem import Melt, PersonShift, PlanDay, PlanJob, Problem
from domain.shop.alloy import (
    Alloy,
    Bond,
    CoolingMethod,
    CoolingRule,
    ElementRange,
    FinenessStandard,
    Heat,
    Section,
    Suitability,
)
from domain.shop.burnout import BurnoutProgram, Kiln, Purpose, Segment
from domain.shop.casting import CastingMachine, MachineKind, Person, Shift, Weekday
from domain.shop.flask import FlaskSize
from domain.shop.investment import InvestmentKind
from domain.shop.lots import Lot, Metal, MetalKind
from domain.shop.pattern import PieceSize
from domain.shop.shop import Shop, ShopRules
from domain.units import Density, Length, Mass, Money, Share, Temperature, TemperatureRange, Volume

DAY = 1440
MON, TUE, WED, THU, FRI = (n * DAY for n in range(5))


def hm(day: int, hour: int, minute: int = 0) -> int:
    return day + 60 * hour + minute


def alloy(
    name: str, family: str, density: str, ranges: dict[str, tuple[str, str]], standard: tuple[str, str] | None, wait: int
) -> Alloy:
    warm = TemperatureRange.c(400, 700)
    return Alloy(
        id=name,
        name=name,
        family=family,
        colour="",
        composition=tuple(ElementRange(element=e, low=Share.permille(a), high=Share.permille(b)) for e, (a, b) in ranges.items()),
        standard=FinenessStandard(element=standard[0], minimum=Share.permille(standard[1])) if standard else None,
        density=Density.g_cm3(density),
        melting=TemperatureRange.c(800, 900),
        pour=TemperatureRange.c(950, 1000),
        flask_temperature=dict.fromkeys(Section, warm),
        melt_loss=Share.permille(5),
        losses={"Cu": Share.permille(2)},
        recycled_limit=Share.percent(50),
        melts_limit=3,
        cooling=CoolingRule(method=CoolingMethod.QUENCH, wait_minutes=wait),
        heat=frozenset({Heat.TORCH}),
        investment={Bond.GYPSUM: Suitability.YES, Bond.PHOSPHATE: Suitability.NEVER},
    )


SILVER = alloy("silver", "silver", "10.36", {"Ag": ("925", "935"), "Cu": ("65", "75")}, ("Ag", "925"), 15)
GOLD = alloy("gold", "yellow", "13.07", {"Au": ("585", "590"), "Ag": ("200", "300"), "Cu": ("110", "215")}, ("Au", "585"), 10)
BRONZE = alloy("bronze", "bronze", "8.72", {"Cu": ("880", "910"), "Sn": ("90", "120")}, None, 30)


def size(name: str, inner: int, height: int, owned: int, minutes: int, cost: int) -> FlaskSize:
    return FlaskSize(
        id=name,
        name=name,
        inner_diameter=Length.mm(inner),
        height=Length.mm(height),
        wall=Length.mm(3),
        perforated=False,
        owned=owned,
        burnout_minutes=minutes,
        cost=cost,
        base_height=Length.mm(12),
        trunk_diameter=Length.mm(8),
        button_volume=Volume.cm3("1.5"),
    )


SIZES = (size("S", 64, 76, 5, 300, 10), size("M", 76, 102, 2, 480, 15))


def segments(*steps: tuple[int, int, int]) -> tuple[Segment, ...]:
    return tuple(Segment(target=Temperature.c(t), ramp_minutes=r, hold_minutes=h, purpose=Purpose.BURN) for t, r, h in steps)


PROGRAMS = (
    BurnoutProgram(
        id="P5", name="five hours", segments=segments((150, 30, 30), (730, 120, 60), (600, 60, 0)), bonds=frozenset({Bond.GYPSUM})
    ),
    BurnoutProgram(
        id="P8", name="eight hours", segments=segments((150, 60, 60), (730, 120, 180), (600, 60, 0)), bonds=frozenset({Bond.GYPSUM})
    ),
)


def kiln(name: str, side: int, unattended: bool, cost: int) -> Kiln:
    return Kiln(
        id=name,
        name=name,
        width=Length.mm(side),
        depth=Length.mm(side),
        height=Length.mm(150),
        gap=Length.mm(15),
        top_temperature=Temperature.c(1000),
        fastest_ramp=300,
        in_service=True,
        unattended=unattended,
        cooldown_minutes=60,
        cost=cost,
    )


KILNS = (kiln("K1", 215, True, 20), kiln("K2", 150, False, 15))

GYPSUM = InvestmentKind(
    id="gypsum",
    name="gypsum",
    bond=Bond.GYPSUM,
    water=Share.percent(40),
    slurry_yield=Volume.cm3(79),
    waste=Share.percent(10),
    working_minutes=9,
    gloss_off_minutes=12,
    bench_set_minutes=120,
    bench_limit_minutes=DAY,
    peak=Temperature.c(750),
)
PHOSPHATE = replace(GYPSUM, id="phosphate", bond=Bond.PHOSPHATE, peak=Temperature.c(900))


def machine(name: str, people: int, minutes: int) -> CastingMachine:
    return CastingMachine(
        id=name,
        name=name,
        kind=MachineKind.VACUUM,
        heat=Heat.TORCH,
        fits=frozenset({"S", "M"}),
        crucible_mass=Mass.g(400),
        crucible_volume=Volume.cm3(40),
        minutes_per_cast=minutes,
        people=people,
    )


MACHINES = (machine("V1", 1, 15), machine("C1", 2, 12))
WEEKDAYS = tuple(Weekday)[:5]


def person(name: str, casts: bool, opens: int, closes: int) -> Person:
    return Person(
        id=name, name=name, casts=casts, shifts=tuple(Shift(day=d, opens=opens * 60, closes=closes * 60) for d in WEEKDAYS)
    )


PEOPLE = (person("ana", True, 8, 17), person("ben", True, 8, 16), person("cy", False, 7, 18))


def shares(**parts: str) -> dict[str, Share]:
    return {element: Share.permille(p) for element, p in parts.items()}


def metal(name: str, lead: int | None, **parts: str) -> Metal:
    return Metal(
        id=name,
        name=name,
        kind=MetalKind.FINE,
        composition=shares(**parts),
        price=Money(1),
        price_mass=Mass.g(1),
        lead_days=lead,
        pack=Mass.g(10),
    )


METALS = (metal("master", 1, Ag="600", Cu="400"), metal("fine-gold", 2, Au="1000"), metal("unsold", None, Ag="1000"))

LOTS = (
    Lot(id="AG1", name="silver grain", kind=MetalKind.GRAIN, composition=shares(Ag="926", Cu="74"), mass=Mass.g(600)),
    Lot(
        id="AG2",
        name="silver grain, Thursday",
        kind=MetalKind.GRAIN,
        composition=shares(Ag="926", Cu="74"),
        mass=Mass.g(500),
        arrives="2025-03-13",
    ),
    Lot(id="AG3", name="tired silver", kind=MetalKind.RECYCLED, composition=shares(Ag="927", Cu="73"), mass=Mass.g(100), melts=3),
    Lot(id="AG4", name="silver buttons", kind=MetalKind.RECYCLED, composition=shares(Ag="927", Cu="73"), mass=Mass.g(500), melts=1),
    Lot(id="AU1", name="fine gold", kind=MetalKind.FINE, composition=shares(Au="1000"), mass=Mass.g(100)),
    Lot(
        id="OWN",
        name="a customer's gold",
        kind=MetalKind.RECYCLED,
        composition=shares(Au="587", Ag="250", Cu="163"),
        mass=Mass.g(200),
        melts=1,
        owner_job="J4",
    ),
    Lot(id="BZ1", name="bronze grain", kind=MetalKind.GRAIN, composition=shares(Cu="900", Sn="100"), mass=Mass.g(500)),
)


def job(name: str, melt: str, quantity: int, low: int, high: int, grams: str, due: str, **more: object) -> PlanJob:
    given: dict[str, object] = {
        "id": name,
        "name": f"{name} ring",
        "melt": melt,
        "quantity": quantity,
        "temperatures": TemperatureRange.c(low, high),
        "metal_each": Mass.g(grams),
        "size": PieceSize(width=Length.mm(6), height=Length.mm(20), reach=Length.mm(12)),
        "ready": MON,
        "due": due,
        "weight": 1,
        "may_split": True,
        "per_tree": {},
        "burnout_minutes": 240,
        "burnout_peak": Temperature.c(700),
    } | more
    return PlanJob(**given)  # type: ignore[arg-type]


JOBS = (
    job("J0", "silver", 2, 400, 650, "4", "2025-03-14"),
    job("J1", "silver", 8, 580, 650, "5", "2025-03-14", ready=hm(MON, 10)),
    job("J2", "silver", 7, 450, 620, "4", "2025-03-10", weight=2),
    job("J3", "gold", 4, 500, 600, "3", "2025-03-14"),
    job("J4", "gold/OWN", 3, 500, 600, "6", "2025-03-14"),
    job("J5", "silver", 4, 500, 600, "5", "2025-03-14"),
    job("J6", "bronze", 5, 430, 520, "9", "2025-03-14", may_split=False, per_tree={"M": 6}, burnout_minutes=480),
    job("J9", "silver", 3, 500, 600, "300", "2025-03-14", weight=3),
)
MELTS = (
    Melt(
        key="silver",
        alloy=SILVER,
        own_lot=None,
        investments=("gypsum",),
        machines=frozenset({"V1", "C1"}),
        stock_castable=Mass.g(600),
        order_from=None,
    ),
    Melt(
        key="gold",
        alloy=GOLD,
        own_lot=None,
        investments=("gypsum",),
        machines=frozenset({"V1"}),
        stock_castable=Mass(0),
        order_from=hm(TUE, 7),
    ),
    Melt(
        key="gold/OWN",
        alloy=GOLD,
        own_lot="OWN",
        investments=("gypsum",),
        machines=frozenset({"V1"}),
        stock_castable=Mass.g(200),
        order_from=None,
    ),
    Melt(
        key="bronze",
        alloy=BRONZE,
        own_lot=None,
        investments=("gypsum",),
        machines=frozenset({"C1"}),
        stock_castable=Mass.g(500),
        order_from=None,
    ),
)


def shift(name: str, casts: bool, opens: int, closes: int) -> list[PersonShift]:
    return [PersonShift(person=name, casts=casts, opens=hm(d, opens), closes=hm(d, closes)) for d in (MON, TUE, WED, THU, FRI)]


def plan_day(n: int) -> PlanDay:
    opens, closes = (hm(n * DAY, 7), hm(n * DAY, 18)) if n < 5 else (None, None)
    return PlanDay(date=f"2025-03-{10 + n}", midnight=n * DAY, end=(n + 1) * DAY, opens=opens, closes=closes)


def weigh(size_id: str, of: Alloy, grams_of_pieces: float) -> Mass:
    """The charge by a pocket calculator: (tree × 1.1 + 1.5 cm³) / 0.995, a trunk of Ø 8 mm."""
    long = {"S": 76, "M": 102}[size_id] - 12 - 15
    rho = float(of.density.to("g/cm³"))
    tree = grams_of_pieces + math.pi / 4 * 0.8**2 * long / 10 * rho
    return Mass(math.ceil((tree * 1.1 + 1.5 * rho) / 0.995 * 1000))


def slot(invest_start: int, load: str, machine_id: str, cast_start: int, *people: str) -> dict[str, object]:
    """Where and when a flask is invested and cast; a cast takes 15 minutes on V1, 12 on C1."""
    return {
        "invest_start": invest_start,
        "invest_end": invest_start + 15,
        "load": load,
        "machine": machine_id,
        "people": people,
        "cast_start": cast_start,
        "cast_end": cast_start + {"V1": 15, "C1": 12}[machine_id],
    }


def planned(
    name: str,
    melt: str,
    of: Alloy,
    rings: tuple[Ring, ...],
    grams: float,
    celsius: int,
    place: dict[str, object],
    size_id: str = "S",
) -> PlannedFlask:
    cold = int(str(place["cast_end"])) + of.cooling.wait_minutes
    given: dict[str, object] = {
        "id": name,
        "melt": melt,
        "size": size_id,
        "investment": "gypsum",
        "rings": rings,
        "temperature": Temperature.c(celsius),
        "charge": weigh(size_id, of, grams),
        "knockout_start": cold,
        "knockout_end": cold + 5,
    } | place
    return PlannedFlask(**given)  # type: ignore[arg-type]


def ring(*pieces: tuple[str, int], high: str = "20", by_count: bool = False) -> Ring:
    return Ring(pieces=pieces, height=Length.mm(high), by_count=by_count)


F0 = planned("F0", "silver", SILVER, (ring(("J0", 2)),), 8, 600, slot(-DAY, "L0", "V1", hm(MON, 9), "ana"))
L0 = KilnLoad(id="L0", kiln="K1", program="P8", rows=(("F0",),), load_at=-600, start=-120, program_end=hm(MON, 6))
FLASKS = (
    F0,
    planned("A", "silver", SILVER, (ring(("J1", 8)), ring(("J2", 1))), 44, 600, slot(hm(MON, 10), "L1", "V1", hm(TUE, 8), "ana")),
    planned("B", "silver", SILVER, (ring(("J2", 6)),), 24, 500, slot(hm(MON, 10, 15), "L1", "V1", hm(TUE, 8, 30), "ben")),
    planned("C", "gold", GOLD, (ring(("J3", 4)),), 12, 550, slot(hm(MON, 11), "L2", "V1", hm(TUE, 14, 30), "ana")),
    planned("D", "gold/OWN", GOLD, (ring(("J4", 3)),), 18, 550, slot(hm(TUE, 9), "L3", "V1", hm(WED, 8), "ana")),
    planned("E", "silver", SILVER, (ring(("J5", 4)),), 20, 550, slot(hm(TUE, 9, 15), "L3", "V1", hm(WED, 8, 25), "ana")),
    planned(
        "H",
        "bronze",
        BRONZE,
        (ring(("J6", 5), high="62.5", by_count=True),),
        45,
        500,
        slot(hm(TUE, 9, 30), "L3", "C1", hm(WED, 9), "ana", "ben"),
        size_id="M",
    ),
)
LOADS = (
    L0,
    KilnLoad(id="L1", kiln="K1", program="P8", rows=(("A", "B"),), load_at=hm(MON, 13), start=hm(MON, 22), program_end=hm(TUE, 6)),
    KilnLoad(
        id="L2", kiln="K2", program="P5", rows=(("C",),), load_at=hm(TUE, 8, 30), start=hm(TUE, 8, 30), program_end=hm(TUE, 13, 30)
    ),
    KilnLoad(
        id="L3", kiln="K1", program="P8", rows=(("D", "E"), ("H",)), load_at=hm(TUE, 15), start=hm(TUE, 22), program_end=hm(WED, 6)
    ),
)


def part(origin: From, ref: str, milligrams: int) -> ChargePart:
    return ChargePart(origin=origin, ref=ref, mass=Mass(milligrams))


def up(milligrams: float) -> int:
    return math.ceil(milligrams / 10) * 10


CHARGED = {f.id: f.charge.base for f in FLASKS}
GOLD_IN_C = up(0.587 * CHARGED["C"])
MASTER_IN_C = up(CHARGED["C"] - GOLD_IN_C)
CHARGES = (
    FlaskCharge(flask="A", parts=(part(From.LOT, "AG1", up(CHARGED["A"] - 20_000)), part(From.LOT, "AG4", 20_000))),
    FlaskCharge(flask="B", parts=(part(From.LOT, "AG1", up(CHARGED["B"])),)),
    FlaskCharge(flask="C", parts=(part(From.LOT, "AU1", GOLD_IN_C), part(From.ORDER, "master", MASTER_IN_C))),
    FlaskCharge(flask="D", parts=(part(From.LOT, "OWN", up(CHARGED["D"])),)),
    FlaskCharge(flask="E", parts=(part(From.LOT, "AG1", up(CHARGED["E"] - 25_000)), part(From.RETURNS, "A", 25_000))),
    FlaskCharge(flask="H", parts=(part(From.LOT, "BZ1", up(CHARGED["H"])),)),
)
ORDERS = (
    MetalOrder(
        metal="master", needed=Mass(MASTER_IN_C), mass=Mass.g(40), order_by="2025-03-10", arrives="2025-03-11", flasks=("C",)
    ),
)
LEVELS_BY_HAND = (
    ("left out", 9),  # J9: 3 pieces of weight 3
    ("weighted days late", 2),  # J2 of weight 2, due Monday, knocked out on Tuesday
    ("flasks and loads", 150),  # 6 × S at 10, 1 × M at 15; 3 loads of K1 at 20, 1 of K2 at 15
    ("overtime", 0),
    ("crucible changes", 2),  # V1: B to C on Tuesday, D to E on Wednesday
    ("idle minutes", 350),  # V1: 15 from A to B, 345 − 10 from B to C, 10 − 10 from D to E
    ("changed flasks", 1),  # A was to be cast five minutes later
)


@pytest.fixture
def plan() -> Plan:
    return Plan(
        flasks=FLASKS,
        loads=LOADS,
        left_out=(LeftOut(job="J9", pieces=3, rule=4, reason="J9 is too heavy for the crucible", remedy="a larger crucible"),),
        charges=CHARGES,
        orders=ORDERS,
        levels=tuple(Level(name=name, value=value) for name, value in LEVELS_BY_HAND),
    )


@pytest.fixture
def problem(plan: Plan) -> Problem:
    read = replace(FLASKS[1], cast_start=FLASKS[1].cast_start + 5)
    return Problem(
        shop=Shop(
            rules=ShopRules(),
            alloys=(SILVER, GOLD, BRONZE),
            materials=(),
            sizes=SIZES,
            investments=(GYPSUM, PHOSPHATE),
            programs=PROGRAMS,
            kilns=KILNS,
            machines=MACHINES,
            people=PEOPLE,
            closures=(),
            metals=METALS,
        ),
        clock=Clock(date(2025, 3, 10), "UTC"),
        now=hm(MON, 8),
        end=7 * DAY,
        days=tuple(plan_day(n) for n in range(7)),
        shifts=(*shift("ana", True, 8, 17), *shift("ben", True, 8, 16), *shift("cy", False, 7, 18)),
        kiln_outages={},
        machine_outages={},
        melts=MELTS,
        jobs=JOBS,
        lots=LOTS,
        fixed_flasks=(F0,),
        fixed_loads=(L0,),
        previous=replace(plan, flasks=(F0, read), levels=()),
    )


@pytest.fixture(scope="session")
def second_opinion() -> ModuleType:
    """Another judgement of plans, beside this file."""
    spec = importlib.util.spec_from_file_location("second_opinion", Path(__file__).with_name("second_opinion.py"))
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module
