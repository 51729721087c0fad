"""What the supply promises, the week's charges keep: judged by the independent checker."""

import random
from datetime import date
from itertools import pairwise

import pytest

from domain.planning.check import check
from domain.planning.plan import Plan, PlannedFlask
from domain.planning.problem import Problem
from domain.shop.lots import Lot, MetalKind
from domain.stock.week_charges import WeekCharges, week_charges
from domain.units import Mass

KEYS = ["14kt-yellow", "18kt-yellow", "silver-925", "14kt-red", "14kt-white-nickel", "yellow-brass", "platinum-950-ru"]


def metal_violations(problem: Problem, flasks: list[PlannedFlask], metal: WeekCharges) -> list[str]:
    """What the checker says under rule 9, but for what is said about flasks reported short."""
    plan = Plan(flasks=tuple(flasks), charges=metal.charges, orders=metal.orders)
    short = {s.flask for s in metal.short}
    found = [v for v in check(problem, plan) if v.rule == 9]
    return [v.message for v in found if not any(v.where == f"flask {f}" and "has no charge" in v.message for f in short)]


def random_lots(bench, rng: random.Random) -> list[Lot]:
    def some(most: int) -> float:
        return round(rng.uniform(0, most), 2)

    masters = [m for m in bench.metals if m.kind is MetalKind.MASTER]
    lots = [
        bench.lot("gold", MetalKind.FINE, {"Au": 100}, some(300)),
        bench.lot("silver", MetalKind.FINE, {"Ag": 100}, some(500)),
        bench.lot("copper", MetalKind.FINE, {"Cu": 100}, some(300)),
        bench.lot("r14", MetalKind.RECYCLED, {"Au": 58.6, "Ag": 8, "Cu": 28.6, "Zn": 4.8}, some(120), melts=1, alloy="14kt-yellow"),
        bench.lot("r14b", MetalKind.RECYCLED, {"Au": 58.5, "Ag": 8, "Cu": 28.7, "Zn": 4.8}, some(60), melts=2, alloy="14kt-yellow"),
        bench.lot("r925", MetalKind.RECYCLED, {"Ag": 92.55, "Cu": 7.45}, some(300), melts=2, alloy="silver-925"),
        bench.lot("spent", MetalKind.RECYCLED, {"Ag": 92.5, "Cu": 7.5}, some(300), melts=3, alloy="silver-925"),
        bench.lot("coming", MetalKind.FINE, {"Ag": 100}, some(300), arrives="2026-03-04"),
        bench.lot("brass", MetalKind.GRAIN, {"Cu": 69.5, "Zn": 30.5}, some(300), alloy="yellow-brass"),
        bench.lot("own", MetalKind.GRAIN, {"Au": 75.2, "Ag": 14, "Cu": 10.8}, 40, owner_job="J", melts=0),
    ]
    for metal in rng.sample(masters, 4):
        lots.append(bench.lot(metal.id, MetalKind.MASTER, {e: str(s.to("%")) for e, s in metal.composition.items()}, some(150)))
    return lots


def split(rng: random.Random, mass: Mass) -> list[Mass]:
    """``mass`` in random flasks of 20 g and more."""
    most = max(1, mass.base // 20_000)
    cuts = sorted(rng.sample(range(1, max(2, mass.base)), k=min(most, rng.randint(1, 4)) - 1)) if mass.base else []
    edges = [0, *cuts, mass.base]
    return [Mass(b - a) for a, b in pairwise(edges) if b - a >= 5_000]


@pytest.mark.parametrize("seed", range(40))
def test_whatever_the_supply_promises_can_be_weighed_out_and_passes_the_checker(bench, seed):
    rng = random.Random(seed)
    lots = random_lots(bench, rng)
    wants = [bench.want(key, rng.randint(40, 400)) for key in rng.sample(KEYS, 4)] + [bench.want("18kt-yellow/own", 35)]
    supply = bench.supply(lots, wants)
    problem = bench.problem(lots, [w.key for w in wants])
    flasks: list[PlannedFlask] = []
    for want in wants:
        given = supply[want.key]
        first = (date.fromisoformat(given.order_from) - problem.clock.first_day).days if given.order_from else None
        early = 0 if first is None else rng.randint(0, max(0, first - 1))
        for mass in split(rng, given.stock_castable):
            flasks.append(bench.flask(f"F{len(flasks)}", want.key, mass, early, pieces=2))
        if first is not None:
            for mass in split(rng, want.mass - given.stock_castable):
                flasks.append(bench.flask(f"F{len(flasks)}", want.key, mass, first, pieces=2))
    metal = week_charges(problem, flasks)
    assert metal.short == ()
    assert metal_violations(problem, flasks, metal) == []


@pytest.mark.parametrize("seed", [*range(10), 30])
def test_a_week_of_forty_five_flasks_is_charged_or_each_shortage_is_named(bench, seed):
    rng = random.Random(1000 + seed)
    lots = random_lots(bench, rng)
    flasks = []
    for n in range(45):
        key, grams, day, pieces = rng.choice(KEYS), round(rng.uniform(15, 180), 3), rng.randint(0, 9), rng.randint(1, 4)
        flasks.append(bench.flask(f"F{n}", key, grams, day, pieces=pieces, at=540 + 10 * n))
    problem = bench.problem(lots, KEYS)
    metal = week_charges(problem, flasks)
    assert len(metal.charges) + len(metal.short) == 45
    assert all(s.blocker and s.remedy for s in metal.short)
    assert metal_violations(problem, flasks, metal) == []
