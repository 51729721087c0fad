"""The standard sets: invented shops of four sizes, ten seeded weeks each, the same for the same seed.

They have the starting values' alloys, metals, flasks, investment and programs, so everything is asked of the
planner that a shop asks: metal on the shelf and on order, resin beside wax, thin beside heavy sections, jobs that
may not be split. Some jobs are overdue or due sooner than they can be made, and the first days are fuller than
the later ones, so something must be late.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from domain.shop.alloy import Section
from domain.shop.burnout import Kiln
from domain.shop.casting import CastingMachine, Person, Shift, Weekday
from domain.shop.flask import FlaskSize
from domain.shop.jobs import Job
from domain.shop.lots import Lot
from domain.shop.pattern import PieceSize
from domain.shop.shop import Shop, ShopRules
from domain.starting.alloys import starting_alloys
from domain.starting.machines import starting_kilns, starting_machines
from domain.starting.metals import starting_metals
from domain.starting.mould import starting_investments, starting_materials, starting_programs, starting_sizes
from domain.units import Length, Mass
from domain.week.week import Week

MONDAY = date(2026, 3, 2)
OPENS = datetime(2026, 3, 2, 7, 0)
WORKDAYS = tuple(Weekday)[:5]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """``machines``: how many, one of them chosen by the seed. ``floor``: side of the kilns' floors in mm.
    ``owned``: flasks of each size. ``invest``: minutes for one flask. ``casters``: on shift with ``helpers``.
    ``spread``: working days over which most jobs are due. ``seconds``: the planner's limit."""

    jobs: int
    kilns: int
    machines: tuple[int, ...]
    floor: int
    owned: int
    invest: int
    casters: int
    helpers: int
    spread: int
    horizon: int
    seconds: float


SETS: dict[str, Kind] = {
    "studio": Kind(
        jobs=40,
        kilns=1,
        machines=(1,),
        floor=350,
        owned=10,
        invest=12,
        casters=2,
        helpers=1,
        spread=4,
        horizon=14,
        seconds=15,
    ),
    "workshop": Kind(
        jobs=200,
        kilns=2,
        machines=(1, 2),
        floor=450,
        owned=24,
        invest=8,
        casters=4,
        helpers=2,
        spread=5,
        horizon=14,
        seconds=15,
    ),
    "house1000": Kind(
        jobs=1000,
        kilns=4,
        machines=(2,),
        floor=600,
        owned=70,
        invest=5,
        casters=4,
        helpers=3,
        spread=7,
        horizon=14,
        seconds=60,
    ),
    "house2000": Kind(
        jobs=2000,
        kilns=4,
        machines=(2,),
        floor=600,
        owned=90,
        invest=4,
        casters=4,
        helpers=3,
        spread=13,
        horizon=21,
        seconds=120,
    ),
}

ALLOYS = {
    "silver-925": 42,
    "14kt-yellow": 13,
    "9kt-yellow": 11,
    "18kt-yellow": 9,
    "silicon-bronze": 9,
    "silver-germanium": 6,
    "18kt-red": 5,
    "14kt-white-nickel": 5,
}
"""Alloy id: share of the jobs in percent."""

PIECES: tuple[tuple[str, Section, tuple[int, int], tuple[int, int], tuple[int, int], tuple[float, float]], ...] = (
    ("stud", Section.THIN, (4, 7), (7, 11), (6, 9), (0.07, 0.16)),
    ("ear wire", Section.THIN, (4, 5), (14, 21), (7, 9), (0.08, 0.14)),
    ("lace pendant", Section.THIN, (4, 7), (18, 30), (10, 16), (0.25, 0.6)),
    ("band", Section.MEDIUM, (5, 8), (20, 23), (17, 19), (0.28, 0.56)),
    ("charm", Section.MEDIUM, (5, 8), (10, 16), (7, 11), (0.12, 0.3)),
    ("cufflink", Section.MEDIUM, (7, 10), (12, 17), (10, 13), (0.3, 0.5)),
    ("clasp", Section.MEDIUM, (5, 8), (12, 18), (8, 12), (0.14, 0.35)),
    ("brooch", Section.MEDIUM, (6, 9), (24, 32), (14, 19), (0.5, 0.9)),
    ("signet", Section.HEAVY, (9, 12), (21, 25), (17, 19), (0.7, 1.1)),
    ("seal", Section.HEAVY, (12, 16), (20, 28), (12, 18), (1.2, 2.1)),
)
"""Name, section, width, height and reach in mm as it sits on the tree, mass of one pattern in g: from, to."""
BRONZES: tuple[tuple[str, Section, tuple[int, int], tuple[int, int], tuple[int, int], tuple[float, float]], ...] = (
    ("hinge", Section.MEDIUM, (8, 11), (22, 30), (13, 18), (1.0, 1.6)),
    ("medal", Section.MEDIUM, (6, 8), (26, 34), (19, 24), (1.1, 2.1)),
    ("drawer pull", Section.HEAVY, (14, 18), (28, 36), (16, 22), (2.6, 4.4)),
    ("figure", Section.HEAVY, (18, 25), (30, 42), (17, 24), (4.0, 7.0)),
)
STOCK: dict[str, tuple[float, float]] = {
    "fine-gold": (5.0, 1.0),
    "fine-silver-grain": (30.0, 1.2),
    "fine-copper": (12.0, 0.0),
    "fine-zinc": (4.0, 0.0),
    "grain-silver-925": (40.0, 8.0),
    "grain-silver-germanium": (14.0, 2.0),
    "grain-silicon-bronze": (70.0, 15.0),
    "master-9kt-yellow": (5.0, 0.0),
    "master-14kt-yellow": (5.0, 0.0),
    "master-18kt-yellow": (4.0, 0.0),
    "master-18kt-red": (3.0, 0.0),
    "master-14kt-white-nickel": (4.0, 0.0),
}
"""Metal id: grams on the shelf, and grams on their way for Wednesday, for each job of the week."""


def week(name: str, seed: int) -> Week:
    """The week of a set with this seed. Raises ``KeyError`` for a set that there is not."""
    kind = SETS[name]
    rng = random.Random(f"{name} {seed}")
    shop = _shop(kind, kind.machines[seed % len(kind.machines)])
    jobs = tuple(_job(rng, kind, n) for n in range(1, kind.jobs + 1))
    return Week(shop=shop, jobs=jobs, lots=tuple(_lots(rng, kind)), now=OPENS)


def _shop(kind: Kind, machines: int) -> Shop:
    sizes = tuple(_sizes(kind))
    return Shop(
        rules=ShopRules(timezone="Europe/Vienna", invest_minutes=kind.invest, horizon_days=kind.horizon),
        alloys=starting_alloys(),
        materials=starting_materials(),
        sizes=sizes,
        investments=starting_investments(),
        programs=starting_programs(),
        kilns=tuple(_kilns(kind)),
        machines=tuple(_machines(sizes, machines)),
        people=tuple(_people(kind)),
        closures=(),
        metals=starting_metals(),
    )


def _sizes(kind: Kind) -> Iterator[FlaskSize]:
    shares = {"2.5x2.5": 1.0, "3x3": 0.8, "3x4": 0.8, "3.5x4p": 0.6}
    for size in starting_sizes():
        if size.id in shares:
            yield replace(size, owned=round(kind.owned * shares[size.id]))


def _kilns(kind: Kind) -> Iterator[Kiln]:
    like = next(k for k in starting_kilns() if k.id == "floor-kiln")
    for n in range(1, kind.kilns + 1):
        side = Length.mm(kind.floor)
        yield replace(like, id=f"kiln-{n}", name=f"Kiln {n}", width=side, depth=side, unattended=True)


def _machines(sizes: Sequence[FlaskSize], count: int) -> Iterator[CastingMachine]:
    like = next(m for m in starting_machines() if m.id == "vacuum-torch")
    fits = frozenset(s.id for s in sizes)
    for n in range(1, count + 1):
        yield replace(like, id=f"vacuum-{n}", name=f"Vacuum table {n}", fits=fits, minutes_per_cast=12)


def _people(kind: Kind) -> Iterator[Person]:
    for n in range(kind.casters):
        opens = 480 - 60 * (n % 2)
        yield _person(f"caster-{n + 1}", f"Caster {n + 1}", opens, opens + 540, casts=True)
    for n in range(kind.helpers):
        yield _person(f"helper-{n + 1}", f"Helper {n + 1}", 480, 1020, casts=False)


def _person(name_id: str, name: str, opens: int, closes: int, *, casts: bool) -> Person:
    return Person(id=name_id, name=name, casts=casts, shifts=tuple(Shift(day=d, opens=opens, closes=closes) for d in WORKDAYS))


def _job(rng: random.Random, kind: Kind, number: int) -> Job:
    alloy = rng.choices(list(ALLOYS), list(ALLOYS.values()))[0]
    item, section, width, height, reach, pattern = rng.choice(BRONZES if alloy == "silicon-bronze" else PIECES)
    ready, due = _dates(rng, kind)
    quantity = rng.choice([1, 2, 3, 4, 6, 8, 10, 12, 16, 20, 24, 32])
    quantity = max(1, quantity // 3) if section is Section.HEAVY else quantity
    return Job(
        id=f"J{number}",
        customer=f"Customer {rng.randrange(1, 3 + kind.jobs // 5)}",
        item=item,
        alloy=alloy,
        section=section,
        material=rng.choices(["injection-wax", "castable-resin", "carving-wax"], [78, 17, 5])[0],
        quantity=quantity,
        pattern_mass=Mass.g(round(rng.uniform(*pattern), 2)),
        size=PieceSize(width=_mm(rng, width), height=_mm(rng, height), reach=_mm(rng, reach)),
        ready=_workday(ready).isoformat(),
        due=_workday(due).isoformat(),
        weight=rng.choices([1, 2, 3, 5], [75, 15, 7, 3])[0],
        may_split=quantity > 6 or rng.random() < 0.85,
    )


def _mm(rng: random.Random, span: tuple[int, int]) -> Length:
    return Length.mm(rng.randint(*span))


def _dates(rng: random.Random, kind: Kind) -> tuple[int, int]:
    """Working days from today on which patterns are ready and castings due; one job in sixteen cannot be in time."""
    ready = max(0, min(kind.spread - 1, round(rng.expovariate(0.7)))) if rng.random() < 0.45 else 0
    if rng.random() < 0.0625:
        return ready, ready + rng.randint(-2, 0)
    return ready, ready + 2 + min(kind.spread, int(rng.triangular(0, kind.spread, 0)))


def _workday(count: int) -> date:
    weeks, day = divmod(count, 5)
    return MONDAY + timedelta(days=7 * weeks + day)


def _lots(rng: random.Random, kind: Kind) -> Iterator[Lot]:
    metals = {m.id: m for m in starting_metals()}
    for name, (here, coming) in STOCK.items():
        metal = metals[name]
        common = {"name": metal.name, "kind": metal.kind, "composition": metal.composition, "metal": metal.id, "alloy": metal.alloy}
        scale = kind.jobs * rng.uniform(0.8, 1.2)
        yield Lot(id=f"{name}-here", mass=Mass.g(round(here * scale)), since="2026-02-16", **common)  # type: ignore[arg-type]
        if coming:
            arrives = _workday(2).isoformat()
            yield Lot(id=f"{name}-coming", mass=Mass.g(round(coming * scale)), arrives=arrives, **common)  # type: ignore[arg-type]
