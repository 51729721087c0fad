"""Invented studios and weeks, the same for the same seed."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

from domain.planning.calendar import plan_day, shifts_on, windows
from domain.planning.clock import Clock
from domain.planning.problem import Melt, PlanJob, Problem, Window
from domain.shop.alloy import (
    Alloy,
    Bond,
    CoolingMethod,
    CoolingRule,
    ElementRange,
    Heat,
    Section,
    Suitability,
)
from domain.shop.burnout import BurnoutProgram, Kiln, Purpose, Segment
from domain.shop.casting import CastingMachine, MachineKind, Person, Shift, Weekday
from domain.shop.flask import FlaskSize
from domain.shop.investment import InvestmentKind
from domain.shop.pattern import PieceSize
from domain.shop.shop import Shop, ShopRules
from domain.units import Density, Length, Mass, Share, Temperature, TemperatureRange, Volume

MONDAY = date(2026, 3, 2)
WEEKDAYS = tuple(Weekday)


def size(name: str, diameter: int, height: int, owned: int, cost: int, burnout: int) -> FlaskSize:
    return FlaskSize(
        id=name,
        name=name,
        inner_diameter=Length.mm(diameter),
        height=Length.mm(height),
        wall=Length.mm(2),
        perforated=False,
        owned=owned,
        burnout_minutes=burnout,
        cost=cost,
        base_height=Length.mm(10),
        trunk_diameter=Length.mm(8),
        button_volume=Volume.cm3("0.5"),
    )


def program(name: str, minutes: int, peak: int, bond: Bond = Bond.GYPSUM) -> BurnoutProgram:
    up = minutes // 2
    segments = (
        Segment(target=Temperature.c(peak), ramp_minutes=up, hold_minutes=minutes - up - 60, purpose=Purpose.BURN),
        Segment(target=Temperature.c(500), ramp_minutes=60, hold_minutes=0, purpose=Purpose.COOL),
    )
    return BurnoutProgram(id=name, name=name, segments=segments, bonds=frozenset({bond}))


def kiln(name: str, width: int, depth: int, *, cost: int = 25, unattended: bool = True) -> Kiln:
    return Kiln(
        id=name,
        name=name,
        width=Length.mm(width),
        depth=Length.mm(depth),
        height=Length.mm(300),
        gap=Length.mm(15),
        top_temperature=Temperature.c(1000),
        fastest_ramp=600,
        in_service=True,
        unattended=unattended,
        cooldown_minutes=60,
        cost=cost,
    )


def machine(name: str, sizes: Sequence[FlaskSize], *, grams: int = 250, people: int = 1, minutes: int = 12) -> CastingMachine:
    return CastingMachine(
        id=name,
        name=name,
        kind=MachineKind.VACUUM,
        heat=Heat.INDUCTION,
        fits=frozenset(s.id for s in sizes),
        crucible_mass=Mass.g(grams),
        crucible_volume=Volume.cm3(60),
        minutes_per_cast=minutes,
        people=people,
    )


def alloy(name: str, family: str, density: str, flask: int, wait: int = 15) -> Alloy:
    ranges = {
        Section.THIN: TemperatureRange.c(flask + 60, flask + 120),
        Section.MEDIUM: TemperatureRange.c(flask, flask + 70),
        Section.HEAVY: TemperatureRange.c(flask - 80, flask - 10),
    }
    return Alloy(
        id=name,
        name=name,
        family=family,
        colour="white",
        composition=(ElementRange(element="Ag", low=Share.percent(90), high=Share.percent(100)),),
        standard=None,
        density=Density.g_cm3(density),
        melting=TemperatureRange.c(800, 900),
        pour=TemperatureRange.c(950, 1000),
        flask_temperature=ranges,
        melt_loss=Share.percent("0.3"),
        recycled_limit=Share.percent(50),
        melts_limit=3,
        cooling=CoolingRule(method=CoolingMethod.QUENCH, wait_minutes=wait),
        heat=frozenset({Heat.INDUCTION}),
        investment={Bond.GYPSUM: Suitability.YES},
    )


GYPSUM = InvestmentKind(
    id="gypsum",
    name="gypsum",
    bond=Bond.GYPSUM,
    water=Share.percent(40),
    slurry_yield=Volume.cm3(79),
    waste=Share.percent(10),
    working_minutes=9,
    gloss_off_minutes=10,
    bench_set_minutes=120,
    bench_limit_minutes=4320,
    peak=Temperature.c(760),
)
ALLOYS = (
    alloy("silver", "silver", "10.36", 540),
    alloy("yellow 14", "yellow gold", "13.07", 550, 20),
    alloy("yellow 18", "yellow gold", "15.58", 560, 20),
    alloy("white 14", "white gold", "12.65", 600, 30),
    alloy("red 14", "red gold", "13.0", 550, 20),
    alloy("bronze", "bronze", "8.36", 480, 60),
    alloy("silver soft", "silver", "10.4", 500),
    alloy("brass", "bronze", "8.45", 460, 45),
)


def person(name: str, opens: int = 540, closes: int = 1020, days: Sequence[Weekday] = WEEKDAYS[:5], casts: bool = True) -> Person:
    return Person(id=name, name=name, casts=casts, shifts=tuple(Shift(day=d, opens=opens, closes=closes) for d in days))


def shop(
    sizes: Sequence[FlaskSize],
    kilns: Sequence[Kiln],
    machines: Sequence[CastingMachine],
    people: Sequence[Person],
    programs: Sequence[BurnoutProgram],
    rules: ShopRules | None = None,
    alloys: Sequence[Alloy] = ALLOYS,
) -> Shop:
    return Shop(
        rules=rules or ShopRules(),
        alloys=tuple(alloys),
        materials=(),
        sizes=tuple(sizes),
        investments=(GYPSUM,),
        programs=tuple(programs),
        kilns=tuple(kilns),
        machines=tuple(machines),
        people=tuple(people),
        closures=(),
        metals=(),
    )


def problem(the_shop: Shop, jobs: Sequence[PlanJob], *, days: int, now: int = 480, melts: Sequence[Melt] | None = None) -> Problem:
    clock = Clock(MONDAY, the_shop.rules.timezone)
    dates = [MONDAY + timedelta(days=n) for n in range(days)]
    plan_days = tuple(plan_day(the_shop, clock, d) for d in dates)
    return Problem(
        shop=the_shop,
        clock=clock,
        now=now,
        end=plan_days[-1].end,
        days=plan_days,
        shifts=tuple(s for d in dates for s in shifts_on(the_shop, clock, d)),
        kiln_outages={k.id: windows(k.outages, clock) for k in the_shop.kilns},
        machine_outages={m.id: windows(m.outages, clock) for m in the_shop.machines},
        melts=tuple(melts if melts is not None else melts_of(the_shop, jobs)),
        jobs=tuple(jobs),
        lots=(),
    )


def melts_of(the_shop: Shop, jobs: Sequence[PlanJob], stock: Mass | None = None) -> tuple[Melt, ...]:
    alloys = {a.id: a for a in the_shop.alloys}
    machines = frozenset(m.id for m in the_shop.machines)
    return tuple(
        Melt(
            key=key,
            alloy=alloys[key],
            own_lot=None,
            investments=(GYPSUM.id,),
            machines=machines,
            stock_castable=stock or Mass.g(1_000_000),
            order_from=None,
        )
        for key in dict.fromkeys(j.melt for j in jobs)
    )


def job(
    name: str,
    melt: str,
    quantity: int,
    *,
    temperatures: TemperatureRange,
    grams: float = 5,
    box: tuple[int, int, int] = (12, 12, 12),
    ready: int = 0,
    due: int = 3,
    weight: int = 1,
    may_split: bool = True,
    per_tree: dict[str, int] | None = None,
    burnout: int = 300,
) -> PlanJob:
    width, height, reach = box
    return PlanJob(
        id=name,
        name=name,
        melt=melt,
        quantity=quantity,
        temperatures=temperatures,
        metal_each=Mass.g(grams),
        size=PieceSize(width=Length.mm(width), height=Length.mm(height), reach=Length.mm(reach)),
        ready=ready,
        due=(MONDAY + timedelta(days=due)).isoformat(),
        weight=weight,
        may_split=may_split,
        per_tree=per_tree or {},
        burnout_minutes=burnout,
        burnout_peak=Temperature.c(650),
    )


def studio(seed: int, jobs: int, *, days: int = 14, alloys: int = 8) -> Problem:
    """A studio with three flask sizes, two kilns, a machine or two, and ``jobs`` jobs due over its days."""
    rng = random.Random(seed)
    big = jobs > 60
    owned = max(8, jobs // 8)
    sizes = [
        size("small", 64, 80, owned, 8, 300),
        size("middle", 80, 100, owned, 11, 480),
        size("large", 100, 130, max(4, owned // 2), 16, 600),
    ]
    programs = [program("short", 330, 730), program("long", 600, 735), program("resin", 720, 740)]
    count = 1 if jobs <= 60 else (2 if jobs <= 300 else 4)
    kilns = [kiln(f"kiln {n + 1}", 360, 300 if n else 260) for n in range(2 * count if jobs > 300 else count + 1)]
    machines = [machine(f"caster {n + 1}", sizes, grams=300) for n in range(2 * count if jobs > 300 else count)]
    people = [person(f"p{n}", 480 + 60 * (n % 2), 990 + 60 * (n % 2)) for n in range(max(2, len(machines)))]
    the_shop = shop(sizes, kilns, machines, people, programs)
    due_from, due_to = 2, max(4, days - 3 if big else days - 5)
    made = [_studio_job(rng, n, alloys, due_from, due_to) for n in range(jobs)]
    return problem(the_shop, made, days=days)


def _studio_job(rng: random.Random, n: int, alloys: int, due_from: int, due_to: int) -> PlanJob:
    metal = ALLOYS[min(alloys - 1, int(rng.expovariate(0.5)))]
    section = rng.choice(list(Section))
    resin = rng.random() < 0.2
    ready = 0 if rng.random() < 0.7 else rng.randrange(1, 4) * 1440
    due = max(rng.randrange(due_from, due_to), ready // 1440 + 2)
    return job(
        f"J{n + 1}",
        metal.id,
        rng.choice([1, 1, 1, 2, 2, 3, 4, 6, 8, 12]),
        temperatures=metal.flask_temperature[section],
        grams=rng.choice([2, 3, 4, 5, 7, 9, 12, 18]),
        box=(rng.randrange(6, 22), rng.randrange(6, 26), rng.randrange(5, 16)),
        ready=ready,
        due=due,
        weight=rng.choice([1, 1, 1, 2, 3]),
        may_split=rng.random() < 0.85,
        burnout=720 if resin else 300,
    )


def messy(seed: int) -> Problem:
    """A week with odds and ends: short hours, few flasks, late patterns, outages, little metal."""
    rng = random.Random(f"messy {seed}")
    base = studio(seed, rng.randrange(10, 26), days=rng.randrange(5, 11), alloys=rng.randrange(1, 6))
    sizes = tuple(replace(s, owned=rng.randrange(0, 5)) for s in base.shop.sizes)
    kilns = tuple(replace(k, unattended=rng.random() < 0.7, in_service=rng.random() < 0.9) for k in base.shop.kilns)
    machines = tuple(replace(m, people=rng.choice([1, 1, 2]), minutes_per_cast=rng.randrange(8, 25)) for m in base.shop.machines)
    rules = replace(base.shop.rules, hot_hold_minutes=rng.choice([120, 600, 1500]), overtime_minutes=rng.choice([0, 60, 120]))
    people = tuple(person(f"q{n}", rng.randrange(420, 600), rng.randrange(900, 1080), casts=n < 2) for n in range(3))
    the_shop = replace(base.shop, sizes=sizes, kilns=kilns, machines=machines, rules=rules, people=people)
    order = rng.choice([None, 3 * 1440 + 540])
    melts = tuple(
        replace(m, stock_castable=Mass.g(rng.choice([0, 60, 200, 5000])), order_from=order) for m in melts_of(the_shop, base.jobs)
    )
    jobs = tuple(_odd(rng, j) for j in base.jobs)
    again = problem(the_shop, jobs, days=len(base.days), now=rng.choice([480, 700]), melts=melts)
    out = (Window(2 * 1440, 3 * 1440),) if rng.random() < 0.3 else ()
    return replace(again, kiln_outages={**again.kiln_outages, kilns[-1].id: out})


def _odd(rng: random.Random, a_job: PlanJob) -> PlanJob:
    if rng.random() < 0.1:
        return replace(a_job, per_tree={"small": 6, "middle": 10})
    if rng.random() < 0.05:
        return replace(a_job, size=PieceSize(width=Length.mm(90), height=Length.mm(90), reach=Length.mm(60)))
    return a_job
