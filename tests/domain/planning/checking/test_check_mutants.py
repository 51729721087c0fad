"""Sound plans, changed at random in one place: what the checker lets pass must still be castable.

Whether a changed plan is castable is decided a second time by ``second_opinion.faults``. So a change
that goes unreported is either harmless by that opinion, or a blind spot that fails the test; and a
sound plan that is reported fails it too. The rules named must be the same.
"""

from __future__ import annotations

import math
import random
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations
from types import ModuleType
from typing import Any

import pytest

from domain.mould.ring import Ring
from domain.planning.check import check
from domain.planning.manager import plan_by_hand
from domain.planning.plan import ChargePart, FlaskCharge, From, KilnLoad, MetalOrder, Plan, PlannedFlask
from domain.planning.problem import Problem
from domain.units import Length, Mass, Temperature

MUTANTS = 90
DAY = 1440
Week = tuple[Problem, Plan]
Mutation = Callable[[random.Random, Problem, Plan], Plan]


def each_piece(f: PlannedFlask) -> list[str]:
    return [job for r in f.rings for job, n in r.pieces for _ in range(n)]


def at_flask(plan: Plan, f: PlannedFlask, **changes: Any) -> Plan:
    return replace(plan, flasks=tuple(replace(g, **changes) if g is f else g for g in plan.flasks))


def at_load(plan: Plan, load: KilnLoad, **changes: Any) -> Plan:
    return replace(plan, loads=tuple(replace(x, **changes) if x is load else x for x in plan.loads))


def minutes(rng: random.Random) -> int:
    return rng.choice((-1, 1)) * rng.choice((1, 2, 5, rng.randint(1, 60), rng.randint(1, 600)))


def counted(f: PlannedFlask, ring: int, entry: int, more: int) -> tuple[Ring, ...]:
    """The flask's rings with ``more`` pieces at one entry; an entry that is used up goes."""
    pieces = list(f.rings[ring].pieces)
    job, n = pieces[entry]
    pieces[entry] = (job, n + more)
    left = tuple(p for p in pieces if p[1])
    kept = [replace(r, pieces=left) if i == ring else r for i, r in enumerate(f.rings)]
    return tuple(r for r in kept if r.pieces)


def entry_of(rng: random.Random, f: PlannedFlask) -> tuple[int, int]:
    ring = rng.randrange(len(f.rings))
    return ring, rng.randrange(len(f.rings[ring].pieces))


def lighter(rng: random.Random, _: Problem, plan: Plan) -> Plan:
    f = rng.choice(plan.flasks)
    return at_flask(plan, f, rings=counted(f, *entry_of(rng, f), rng.choice((-1, 1))))


def moved_piece(rng: random.Random, _: Problem, plan: Plan) -> Plan:
    f, g = rng.sample(plan.flasks, 2)
    ring, entry = entry_of(rng, f)
    job = f.rings[ring].pieces[entry][0]
    into = rng.randrange(len(g.rings))
    fuller = tuple(replace(r, pieces=(*r.pieces, (job, 1))) if i == into else r for i, r in enumerate(g.rings))
    return at_flask(at_flask(plan, f, rings=counted(f, ring, entry, -1)), g, rings=fuller)


def swapped_pieces(rng: random.Random, _: Problem, plan: Plan) -> Plan:
    f, g = rng.sample(plan.flasks, 2)
    return at_flask(at_flask(plan, f, rings=g.rings), g, rings=f.rings)


def recharged(rng: random.Random, problem: Problem, plan: Plan) -> Plan:
    """A piece moves to another ring or flask of its melt, and all charges are weighed anew."""
    f = rng.choice(plan.flasks)
    g = rng.choice([x for x in plan.flasks if x.melt == f.melt])
    ring, entry = entry_of(rng, f)
    job = f.rings[ring].pieces[entry][0]
    moved = at_flask(plan, f, rings=counted(f, ring, entry, -1))
    g = next(x for x in moved.flasks if x.id == g.id)
    if g.rings and rng.random() < 0.5:
        rings = (*g.rings[:-1], replace(g.rings[-1], pieces=(*g.rings[-1].pieces, (job, 1))))
    else:
        rings = (*g.rings, Ring(pieces=((job, 1),), height=problem.job[job].size.height))
    moved = at_flask(moved, g, rings=rings)
    for x in moved.flasks:
        if x.id in (f.id, g.id):
            pieces = sum(problem.job[n].metal_each.base for n in each_piece(x))
            was = sum(problem.job[n].metal_each.base for n in each_piece(next(y for y in plan.flasks if y.id == x.id)))
            moved = at_flask(moved, x, charge=Mass(x.charge.base + math.ceil((pieces - was) * 1.1 / 0.995)))
    grown = {x.id: x.charge.base for x in moved.flasks}
    charges = []
    for c in moved.charges:
        missing = grown[c.flask] - sum(p.mass.base for p in c.parts)
        first = replace(c.parts[0], mass=Mass(c.parts[0].mass.base + 10 * math.ceil(missing / 10)))
        charges.append(replace(c, parts=(first, *c.parts[1:])))
    return replace(moved, charges=tuple(charges))


def cast_moved(rng: random.Random, _: Problem, plan: Plan) -> Plan:
    f, by = rng.choice(plan.flasks), minutes(rng)
    moved = {k: getattr(f, k) + by for k in ("cast_start", "cast_end", "knockout_start", "knockout_end")}
    return at_flask(plan, f, **moved)


def cast_stretched(rng: random.Random, _: Problem, plan: Plan) -> Plan:
    f = rng.choice(plan.flasks)
    field = rng.choice(("cast_start", "cast_end", "invest_start", "invest_end", "knockout_start", "knockout_end"))
    return at_flask(plan, f, **{field: getattr(f, field) + minutes(rng)})


def invest_moved(rng: random.Random, _: Problem, plan: Plan) -> Plan:
    f, by = rng.choice(plan.flasks), minutes(rng)
    return at_flask(plan, f, invest_start=f.invest_start + by, invest_end=f.invest_end + by)


def knockout_moved(rng: random.Random, _: Problem, plan: Plan) -> Plan:
    f, by = rng.choice(plan.flasks), minutes(rng)
    return at_flask(plan, f, knockout_start=f.knockout_start + by, knockout_end=f.knockout_end + by)


def other_size(rng: random.Random, problem: Problem, plan: Plan) -> Plan:
    return at_flask(plan, rng.choice(plan.flasks), size=rng.choice(problem.shop.sizes).id)


def other_size_recharged(rng: random.Random, problem: Problem, plan: Plan) -> Plan:
    """A larger flask, weighed for it: a silver flask may well be larger than it need be."""
    f = rng.choice([x for x in plan.flasks if x.size == "S"])
    rho = problem.melt[f.melt].alloy.density.base / 1000
    more = 10 * math.ceil(math.pi / 4 * 0.8**2 * 2.6 * rho * 1.1 / 0.995 * 1000 / 10 + 1)
    exact = math.ceil(f.charge.base + math.pi / 4 * 0.8**2 * 2.6 * rho * 1.1 / 0.995 * 1000)
    charges = tuple(
        replace(c, parts=(replace(c.parts[0], mass=Mass(c.parts[0].mass.base + more)), *c.parts[1:])) if c.flask == f.id else c
        for c in plan.charges
    )
    return replace(at_flask(plan, f, size="M", charge=Mass(exact)), charges=charges)


def other_load(rng: random.Random, _: Problem, plan: Plan) -> Plan:
    f = rng.choice(plan.flasks)
    new = rng.choice([x for x in plan.loads if x.id != f.load])
    if rng.random() < 0.3:
        return at_flask(plan, f, load=new.id)
    old = next(x for x in plan.loads if x.id == f.load)
    rows = tuple(row for row in (tuple(name for name in row if name != f.id) for row in old.rows) if row)
    return at_load(at_load(at_flask(plan, f, load=new.id), old, rows=rows), new, rows=(*new.rows, (f.id,)))


def other_temperature(rng: random.Random, _: Problem, plan: Plan) -> Plan:
    f = rng.choice(plan.flasks)
    by = rng.choice((-1, 1)) * rng.choice((1, 1_000, 10_000, 50_000))
    return at_flask(plan, f, temperature=Temperature(f.temperature.millidegrees + by))


def other_machine(rng: random.Random, problem: Problem, plan: Plan) -> Plan:
    f = rng.choice(plan.flasks)
    machine = rng.choice(problem.shop.machines).id
    if rng.random() < 0.3:
        return at_flask(plan, f, machine=machine)
    ends = f.cast_start + problem.machine[machine].minutes_per_cast
    crew = tuple(p.id for p in problem.shop.people[: problem.machine[machine].people])
    return at_flask(plan, f, machine=machine, cast_end=ends, people=crew)


def other_people(rng: random.Random, problem: Problem, plan: Plan) -> Plan:
    names = [p.id for p in problem.shop.people]
    crews = [c for n in range(3) for c in combinations((*names, "zoe"), n)]
    return at_flask(plan, rng.choice(plan.flasks), people=rng.choice((*crews, (names[0], names[0]))))


def other_charge(rng: random.Random, _: Problem, plan: Plan) -> Plan:
    f = rng.choice(plan.flasks)
    return at_flask(plan, f, charge=Mass(f.charge.base + rng.choice((-1, 1)) * rng.randint(1, 6)))


def load_moved(rng: random.Random, _: Problem, plan: Plan) -> Plan:
    load = rng.choice(plan.loads)
    fields = rng.choice((("load_at",), ("start", "program_end"), ("start",), ("program_end",), ("load_at", "start", "program_end")))
    by = minutes(rng)
    return at_load(plan, load, **{k: getattr(load, k) + by for k in fields})


def other_rows(rng: random.Random, _: Problem, plan: Plan) -> Plan:
    load = rng.choice([x for x in plan.loads if len(x.flasks) > 1])
    names = list(load.flasks)
    rng.shuffle(names)
    if rng.random() < 0.3:
        names[0] = rng.choice([f.id for f in plan.flasks])
    cut = rng.randint(0, len(names))
    return at_load(plan, load, rows=tuple(row for row in (tuple(names[:cut]), tuple(names[cut:])) if row))


def other_kiln(rng: random.Random, problem: Problem, plan: Plan) -> Plan:
    load = rng.choice(plan.loads)
    if rng.random() < 0.5:
        return at_load(plan, load, kiln=rng.choice(problem.shop.kilns).id)
    program = rng.choice(problem.shop.programs).id
    if rng.random() < 0.3:
        return at_load(plan, load, program=program)
    takes = problem.program[program].minutes
    return at_load(plan, load, program=program, start=load.program_end - takes)


def swapped_slots(rng: random.Random, _: Problem, plan: Plan) -> Plan:
    f, g = rng.sample(plan.flasks, 2)
    fields = ("cast_start", "cast_end", "knockout_start", "knockout_end", "people", "machine")
    once = at_flask(plan, f, **{k: getattr(g, k) for k in fields})
    return at_flask(once, g, **{k: getattr(f, k) for k in fields})


def swapped_benches(rng: random.Random, _: Problem, plan: Plan) -> Plan:
    f, g = rng.sample(plan.flasks, 2)
    once = at_flask(plan, f, invest_start=g.invest_start, invest_end=g.invest_end)
    return at_flask(once, g, invest_start=f.invest_start, invest_end=f.invest_end)


def without_flask(rng: random.Random, _: Problem, plan: Plan) -> Plan:
    f = rng.choice(plan.flasks)
    loads = [replace(x, rows=tuple(r for r in (tuple(n for n in row if n != f.id) for row in x.rows) if r)) for x in plan.loads]
    gone = replace(plan, flasks=tuple(g for g in plan.flasks if g is not f), loads=tuple(x for x in loads if x.rows))
    return replace(gone, charges=tuple(c for c in plan.charges if c.flask != f.id)) if rng.random() < 0.5 else gone


def without_load(rng: random.Random, _: Problem, plan: Plan) -> Plan:
    load = rng.choice(plan.loads)
    return replace(plan, loads=tuple(x for x in plan.loads if x is not load))


def doubled(rng: random.Random, _: Problem, plan: Plan) -> Plan:
    f = rng.choice(plan.flasks)
    twin = f if rng.random() < 0.5 else replace(f, id="twin", invest_start=f.invest_start + 300, invest_end=f.invest_end + 300)
    return replace(plan, flasks=(*plan.flasks, twin))


def other_rings(rng: random.Random, _: Problem, plan: Plan) -> Plan:
    f = rng.choice(plan.flasks)
    at = rng.randrange(len(f.rings))
    choice = rng.randrange(4)
    if choice == 0:
        pieces = tuple(p for r in f.rings for p in r.pieces)
        return at_flask(plan, f, rings=(replace(f.rings[0], pieces=pieces),))
    if choice == 1:
        return at_flask(plan, f, rings=tuple(reversed(f.rings)))
    by = Length(rng.choice((-1, 1)) * rng.choice((1, 1_000, 3_000, 20_000)))
    changed = (
        replace(f.rings[at], height=f.rings[at].height + by)
        if choice == 2
        else replace(f.rings[at], by_count=not f.rings[at].by_count)
    )
    return at_flask(plan, f, rings=tuple(changed if i == at else r for i, r in enumerate(f.rings)))


def other_investment(rng: random.Random, _: Problem, plan: Plan) -> Plan:
    return at_flask(plan, rng.choice(plan.flasks), investment="phosphate")


def other_melt(rng: random.Random, problem: Problem, plan: Plan) -> Plan:
    f = rng.choice(plan.flasks)
    return at_flask(plan, f, melt=rng.choice(problem.melts).key)


def other_words(rng: random.Random, problem: Problem, plan: Plan) -> Plan:
    entry = rng.choice(plan.left_out)
    changes: list[dict[str, Any]] = [{"pieces": entry.pieces + rng.choice((-2, -1, 1, 2))}, {"job": rng.choice(problem.jobs).id}]
    changes += [{"reason": ""}, {"remedy": ""}, {"rule": rng.randint(-2, 14)}, {"reason": "another reason"}]
    other = replace(entry, **rng.choice(changes))
    return replace(plan, left_out=tuple(other if x is entry else x for x in plan.left_out))


def at_charge(plan: Plan, charge: FlaskCharge, parts: tuple[ChargePart, ...]) -> Plan:
    return replace(plan, charges=tuple(replace(c, parts=parts) if c is charge else c for c in plan.charges))


def other_mass(rng: random.Random, _: Problem, plan: Plan) -> Plan:
    c = rng.choice(plan.charges)
    by = rng.choice((-1, 1)) * rng.choice((1, 10, 100, 700, 5_000))
    at = rng.randrange(len(c.parts))
    return at_charge(plan, c, tuple(replace(p, mass=Mass(p.mass.base + by)) if i == at else p for i, p in enumerate(c.parts)))


def blended(rng: random.Random, problem: Problem, plan: Plan) -> Plan:
    """Some of a charge's first part is taken from elsewhere."""
    c = rng.choice(plan.charges)
    share = rng.choice((10, 1_000, 10_000, c.parts[0].mass.base // 20 * 10))
    origin = rng.choice(tuple(From))
    refs = {
        From.LOT: [x.id for x in problem.lots],
        From.ORDER: [m.id for m in problem.shop.metals],
        From.RETURNS: [f.id for f in plan.flasks],
    }[origin]
    first = replace(c.parts[0], mass=Mass(c.parts[0].mass.base - share))
    return at_charge(plan, c, (first, *c.parts[1:], ChargePart(origin=origin, ref=rng.choice(refs), mass=Mass(share))))


def other_source(rng: random.Random, problem: Problem, plan: Plan) -> Plan:
    c = rng.choice(plan.charges)
    at = rng.randrange(len(c.parts))
    other = replace(c.parts[at], origin=From.LOT, ref=rng.choice([x.id for x in problem.lots if x.id != c.parts[at].ref]))
    return at_charge(plan, c, tuple(other if i == at else p for i, p in enumerate(c.parts)))


def without_charge(rng: random.Random, _: Problem, plan: Plan) -> Plan:
    c = rng.choice(plan.charges)
    if rng.random() < 0.5:
        return replace(plan, charges=tuple(x for x in plan.charges if x is not c))
    return at_charge(plan, c, c.parts[1:])


def other_order(rng: random.Random, problem: Problem, plan: Plan) -> Plan:
    o = rng.choice(plan.orders)
    day = rng.choice(("2025-03-07", "2025-03-10", "2025-03-11", "2025-03-12", "2025-03-13"))
    by = rng.choice((-1, 1)) * rng.choice((10, 5_000, 10_000, 20_000))
    changes: list[dict[str, Any]] = [
        {"metal": rng.choice(problem.shop.metals).id},
        {"needed": Mass(o.needed.base + by)},
        {"mass": Mass(o.mass.base + by)},
        {"order_by": day},
        {"arrives": day},
        {"order_by": day, "arrives": (date.fromisoformat(day) + timedelta(days=1)).isoformat()},
        {"flasks": tuple(rng.sample([f.id for f in plan.flasks], rng.randint(0, 2)))},
    ]
    other: MetalOrder = replace(o, **rng.choice(changes))
    return replace(plan, orders=tuple(other if x is o else x for x in plan.orders))


METAL_KINDS: tuple[Mutation, ...] = (
    other_size_recharged,
    other_investment,
    other_mass,
    blended,
    other_source,
    without_charge,
    other_order,
)
"""what needs charges, or what the shop of the week by hand has"""
KINDS: tuple[Mutation, ...] = (
    lighter, moved_piece, swapped_pieces, recharged, cast_moved, cast_stretched, invest_moved, knockout_moved, other_size,
    other_load, other_temperature, other_machine, other_people, other_charge, load_moved, other_rows, other_kiln, swapped_slots,
    swapped_benches, without_flask, without_load, doubled, other_rings, other_melt, other_words,
)  # fmt: skip


@pytest.fixture
def weeks(problem: Problem, plan: Plan) -> list[Week]:
    """The week by hand; the same where nothing is to spare; and with everything but F0 done once
    more two days later."""
    plan = replace(plan, levels=())
    again = replace(plan, **twice(plan))
    jobs = [replace(j, id=f"{j.id}b", ready=j.ready + 2 * DAY, due="2025-03-13") for j in problem.jobs if j.id not in ("J0", "J9")]
    melts = [replace(m, stock_castable=Mass(m.stock_castable.base * 2)) for m in problem.melts]
    lots = [replace(x, mass=Mass(x.mass.base * 2)) for x in problem.lots]
    longer = replace(problem, jobs=(*problem.jobs, *jobs), melts=tuple(melts), lots=tuple(lots))
    return [(problem, plan), (nothing_to_spare(problem, plan), plan), (longer, again)]


def nothing_to_spare(problem: Problem, plan: Plan) -> Problem:
    """As many flasks as are in use at once, and as much metal as the charges take."""
    owned = {"S": 3, "M": 1}
    sizes = tuple(replace(s, owned=owned[s.id]) for s in problem.shop.sizes)
    drawn = Counter[str]()
    for p in (p for c in plan.charges for p in c.parts if p.origin is From.LOT):
        drawn[p.ref] += p.mass.base
    lots = tuple(replace(x, mass=Mass(drawn.get(x.id, x.mass.base))) for x in problem.lots)
    cast = Counter[str]()
    for f in plan.flasks:
        cast[f.melt] += f.charge.base
    melts = tuple(m if m.order_from else replace(m, stock_castable=Mass(cast[m.key])) for m in problem.melts)
    return replace(problem, shop=replace(problem.shop, sizes=sizes), lots=lots, melts=melts)


def twice(plan: Plan) -> dict[str, Any]:
    """Every flask, load, charge and order a second time, named with a b."""
    times = ("invest_start", "invest_end", "cast_start", "cast_end", "knockout_start", "knockout_end")
    flasks, loads = list(plan.flasks), list(plan.loads)
    for f in plan.flasks[1:]:
        rings = tuple(replace(r, pieces=tuple((f"{job}b", n) for job, n in r.pieces)) for r in f.rings)
        later = {k: getattr(f, k) + 2 * DAY for k in times}
        flasks.append(replace(f, id=f"{f.id}b", rings=rings, load=f"{f.load}b", **later))
    for x in plan.loads[1:]:
        rows = tuple(tuple(f"{name}b" for name in row) for row in x.rows)
        later = {k: getattr(x, k) + 2 * DAY for k in ("load_at", "start", "program_end")}
        loads.append(replace(x, id=f"{x.id}b", rows=rows, **later))
    charges = list(plan.charges)
    for c in plan.charges:
        parts = tuple(replace(p, ref=f"{p.ref}b") if p.origin is From.RETURNS else p for p in c.parts)
        charges.append(replace(c, flask=f"{c.flask}b", parts=parts))
    (o,) = plan.orders
    orders = (o, replace(o, order_by="2025-03-12", arrives="2025-03-13", flasks=("Cb",)))
    return {"flasks": tuple(flasks), "loads": tuple(loads), "charges": tuple(charges), "orders": orders}


def test_the_weeks_are_sound_by_either_opinion(weeks: list[Week], second_opinion: ModuleType) -> None:
    for problem, plan in weeks:
        assert check(problem, plan) == ()
        assert second_opinion.faults(problem, plan) == []


def mutants(mutate: Mutation, weeks: list[Week], count: int) -> Iterator[Week]:
    for seed in range(count):
        problem, plan = weeks[seed % len(weeks)]
        rng = random.Random(f"{mutate.__name__} {seed}")
        tries = (mutate(rng, problem, plan) for _ in range(30))
        changed = next((mutant for mutant in tries if mutant != plan), None)
        if changed is not None:  # with one machine there is no other machine
            yield problem, changed


def judged(mutate: Mutation, weeks: list[Week], count: int, second: ModuleType, metal: bool = True) -> tuple[int, int]:
    """How many changed plans were made, and how many pass; each is judged, and if it passes also
    measured, by both opinions."""
    made, harmless = 0, 0
    for problem, mutant in mutants(mutate, weeks, count):
        made += 1
        reported, wrong = check(problem, mutant, metal), second.faults(problem, mutant, metal)
        here, there = {v.rule for v in reported}, {rule for rule, _ in wrong}
        lost = any(text.startswith("names") for _, text in wrong)
        assert here >= there if lost else here == there, (reported, wrong)
        if not wrong:
            harmless += 1
            measured = replace(mutant, levels=second.levels(problem, mutant))
            assert check(problem, measured, metal) == ()
    return made, harmless


@pytest.mark.parametrize("mutate", KINDS + METAL_KINDS, ids=[k.__name__ for k in KINDS + METAL_KINDS])
def test_a_changed_plan_is_reported_where_and_only_where_it_cannot_be_cast(
    mutate: Mutation, weeks: list[Week], second_opinion: ModuleType
) -> None:
    made, harmless = judged(mutate, weeks, MUTANTS, second_opinion)
    assert made >= 60
    print(f"{mutate.__name__}: {made - harmless} of {made} reported, {harmless} castable by the second opinion")


@pytest.fixture(scope="module")
def managers_weeks(studio: ModuleType) -> list[Week]:
    """Weeks of short hours, few flasks and outages, as the baseline plans them."""
    asked = [studio.messy(seed) for seed in range(24)] + [studio.studio(5, 30)]
    answered = [(problem, replace(plan_by_hand(problem), levels=())) for problem in asked]
    return [(problem, plan) for problem, plan in answered if rich(plan)]


def rich(plan: Plan) -> bool:
    """Enough in it for every kind of change."""
    return len(plan.flasks) > 3 and len(plan.loads) > 1 and bool(plan.left_out) and any(len(x.flasks) > 1 for x in plan.loads)


@pytest.mark.parametrize("mutate", KINDS, ids=[k.__name__ for k in KINDS])
def test_a_changed_plan_of_the_baseline_is_judged_alike_by_both_opinions(
    mutate: Mutation, managers_weeks: list[Week], second_opinion: ModuleType
) -> None:
    assert len(managers_weeks) >= 5
    made, harmless = judged(mutate, managers_weeks, MUTANTS, second_opinion, metal=False)
    assert made >= 30
    print(f"{mutate.__name__}: {made - harmless} of {made} reported, {harmless} castable by the second opinion")
