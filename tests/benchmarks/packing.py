"""Bin packing and level packing as weeks: with one alloy, one day and one flask size, how many pieces a crucible takes
(rule 4) is one-dimensional bin packing, and rings on a trunk (rule 3) are two-dimensional packing in levels.

    python tests/benchmarks/packing.py [--u120 FILE] [--levels FILE] [--each 10] [--seconds 1] [--write]

Triplets are made by E. Falkenauer's recipe (*A hybrid grouping genetic algorithm for bin packing*, J. Heuristics 2, 1996):
three items fill a bin exactly, so a third of their number is the optimum by construction. Classes 1 to 6 of level
packing are made by the recipe of J. O. Berkey and P. Y. Wang (*Two-dimensional finite bin-packing algorithms*,
J. Opl. Res. Soc. 38, 1987); their optimum is that of the exact model of A. Lodi, S. Martello and D. Vigo (*Models and
bounds for two-dimensional level packing problems*, J. Comb. Optim. 8, 2004), solved beside the planner.
``--u120`` names the published file of uniform instances (OR-Library, binpack1), ``--levels`` a file of published
rectangles, a line ``name;kinds;width;height;w,h[,n];...`` each; of these, the ones of 20 rectangles in classes 1 to 10.
"""

from __future__ import annotations

import argparse
import math
import random
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_matrix

sys.path.insert(0, str(Path(__file__).resolve().parent))

import notes
import studio

from domain.planning.check import check
from domain.planning.plan import Plan
from domain.planning.problem import PlanJob, Problem
from domain.shop.pattern import PieceSize
from domain.shop.shop import ShopRules
from domain.stock.week_charges import WeekCharges
from domain.units import Length, Mass, Share, TemperatureRange, Volume
from domain.week import answer
from domain.week.answer import plan_week

BETTER_KNOWN = {"u120_08": 50, "u120_19": 49}
"""Where the file's best known is one more than is possible (computed)."""
CLASSES = {1: (10, 10), 2: (10, 30), 3: (35, 40), 4: (35, 100), 5: (100, 100), 6: (100, 300)}
"""Berkey and Wang: sides of a rectangle up to, side of the bin."""
PATIENCE = 60
"""Seconds for the exact model; where it has not ended, its lower bound stands for the optimum."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Instance:
    """``items``: width and height of each, in units; a height of zero throughout where only widths count. ``best``: the
    least number of bins, none where the exact model is to find it."""

    kind: str
    name: str
    width: int
    height: int
    items: tuple[tuple[int, int], ...]
    best: int | None


def triplets(count: int, seed: int) -> Instance:
    """``count`` items, a multiple of three, for bins of 1000 that three of them fill exactly."""
    rng = random.Random(f"triplet {count} {seed}")
    items: list[int] = []
    for _ in range(count // 3):
        first = rng.randint(380, 490)
        second = rng.randint(250, (1000 - first) // 2)
        items += [first, second, 1000 - first - second]
    rng.shuffle(items)
    sizes = tuple((item, 0) for item in items)
    return Instance(kind=f"triplets of {count}", name=str(seed), width=1000, height=0, items=sizes, best=count // 3)


def rectangles(number: int, count: int, seed: int) -> Instance:
    """A class of Berkey and Wang."""
    rng = random.Random(f"class {number} {count} {seed}")
    most, side = CLASSES[number]
    items = tuple((rng.randint(1, most), rng.randint(1, most)) for _ in range(count))
    return Instance(kind=f"levels, class {number}, by recipe", name=str(seed), width=side, height=side, items=items, best=None)


def uniform(path: Path) -> Iterator[Instance]:
    """The published file: how many, then a name, capacity with count and best known, and the items of each."""
    words = iter(path.read_text(encoding="utf-8").split())
    for _ in range(int(next(words))):
        name, capacity, count, best = next(words), *(int(float(next(words))) for _ in range(3))
        items = tuple((int(next(words)), 0) for _ in range(count))
        known = BETTER_KNOWN.get(name, best)
        yield Instance(kind="uniform of 120, published", name=name, width=capacity, height=0, items=items, best=known)


def published_rectangles(path: Path) -> Iterator[Instance]:
    for line in path.read_text(encoding="utf-8").splitlines():
        name, _, width, height, *kinds = line.split(";")
        if not name.startswith("cl") or "_020_" not in name:
            continue
        sizes = [[int(x) for x in kind.split(",")] for kind in kinds]
        items = tuple((w, h) for w, h, *n in sizes for _ in range(n[0] if n else 1))
        of = f"levels, class {int(name[2:4])}, published"
        yield Instance(kind=of, name=name, width=int(width), height=int(height), items=items, best=None)


def bare(*, sizes: int, crucible: Mass, kiln_side: int, burnout: int, days: int) -> Problem:
    """A shop in which nothing but the crucible limits a flask; trunk and button weigh nothing, and a load costs nothing."""
    rules = ShopRules(
        ring_gap=Length(0), button_share=Share(0), invest_minutes=1, step_soak_minutes=0, hot_hold_minutes=600, overtime_minutes=0
    )
    size = replace(studio.size("flask", 64, 80, sizes, 1, 300), trunk_diameter=Length(0), button_volume=Volume(0))
    kiln = replace(studio.kiln("kiln", kiln_side, kiln_side, cost=0), cooldown_minutes=0)
    machine = replace(studio.machine("caster", [size], minutes=1), crucible_mass=crucible, crucible_volume=Volume.cm3(9999))
    metal = replace(studio.ALLOYS[0], melt_loss=Share(0))
    people = [studio.person("caster", 480, 1080, days=studio.WEEKDAYS)]
    shop = studio.shop([size], [kiln], [machine], people, [studio.program("only", burnout, 730)], rules, [metal])
    return studio.problem(shop, [], days=days)


def week_of(instance: Instance) -> Problem:
    """Bins are flasks: items are weights in a crucible, or boxes in rings on a trunk."""
    by_weight = not instance.height
    week = bare(sizes=200, crucible=Mass.g(instance.width if by_weight else 90_000), kiln_side=50_000, burnout=300, days=3)
    if not by_weight:
        week = _ringed(week, instance)
    jobs = tuple(_piece(n, item, by_weight) for n, item in enumerate(instance.items))
    return replace(week, jobs=jobs, melts=studio.melts_of(week.shop, jobs))


def _ringed(week: Problem, instance: Instance) -> Problem:
    """A trunk whose circle is the bin's width, less than a unit more, and whose height is the bin's; a unit is 1 mm."""
    root = math.ceil(instance.width * 1000 / (2 * math.pi)) + 1
    rules = replace(
        week.rules,
        piece_gap=Length(0),
        wall_clearance=Length(0),
        top_clearance=Length(0),
        feed_length=Length(root),
        feed_diameter=Length(1),
    )
    (size,) = week.shop.sizes
    wide = Length(2 * (root + 1000 * instance.width))
    size = replace(size, inner_diameter=wide, height=size.base_height + Length.mm(instance.height))
    (kiln,) = week.shop.kilns
    shop = replace(week.shop, rules=rules, sizes=(size,), kilns=(replace(kiln, height=Length.mm(5000)),))
    return studio.problem(shop, [], days=len(week.days))


def _piece(number: int, item: tuple[int, int], by_weight: bool) -> PlanJob:
    limit = {"flask": 100_000} if by_weight else None
    piece = studio.job(f"J{number}", "silver", 1, temperatures=TemperatureRange.c(500, 600), due=2, per_tree=limit)
    if by_weight:
        return replace(piece, metal_each=Mass.g(item[0]))
    box = PieceSize(width=Length.mm(item[0]), height=Length.mm(item[1]), reach=Length.mm(1))
    return replace(piece, metal_each=Mass(10), size=box)


def planned(week: Problem, seconds: float) -> Plan:
    """The planner's answer, which the checker has passed and in which nothing is left out or late."""
    plan = plan_week(week, seconds=seconds, deterministic=True)
    wrong = check(week, plan, metal=False)
    if wrong or plan.levels[0].value or plan.levels[1].value:
        raise AssertionError(wrong[0].message if wrong else "not everything was planned in time")
    return plan


def least_bins(instance: Instance) -> int:
    """The exact model of level packing: items by falling height; each opens a level or lies in a higher one's, each level
    opens a bin or lies in that of a higher one."""
    items = sorted(instance.items, key=lambda item: -item[1])
    n = len(items)
    pairs = [(i, j) for i in range(n) for j in range(i + 1, n)]
    at = {pair: 2 * n + k for k, pair in enumerate(pairs)}  # item j in the level of i
    over = {pair: 2 * n + len(pairs) + k for k, pair in enumerate(pairs)}  # level j in the bin of i
    count = 2 * n + 2 * len(pairs)
    rows = lil_matrix((4 * n, count))
    low, high = np.full(4 * n, -np.inf), np.zeros(4 * n)
    for i, (width, height) in enumerate(items):
        rows[i, i], low[i], high[i] = 1, 1, 1  # it opens a level, or lies in one
        rows[n + i, n + i], rows[n + i, i], low[n + i] = 1, -1, 0  # its level opens a bin, or lies in one
        rows[2 * n + i, i] = width - instance.width
        rows[3 * n + i, n + i] = height - instance.height
        for k in range(i):
            rows[i, at[k, i]], rows[n + i, over[k, i]] = 1, 1
        for j in range(i + 1, n):
            rows[2 * n + i, at[i, j]], rows[3 * n + i, over[i, j]] = items[j]
    cost = np.zeros(count)
    cost[n : 2 * n] = 1
    found = milp(
        cost,
        constraints=LinearConstraint(rows.tocsr(), low, high),
        integrality=np.ones(count),
        bounds=Bounds(0, 1),
        options={"time_limit": PATIENCE},
    )
    return math.ceil(found.mip_dual_bound - 1e-6)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """``best``: the least number of bins; ``bound``: what the planner itself has proven."""

    instance: Instance
    bins: int
    bound: int
    best: int
    seconds: float


def measured(instance: Instance, seconds: float) -> Row:
    began = time.monotonic()
    plan = planned(week_of(instance), seconds)
    took = time.monotonic() - began
    best = instance.best if instance.best is not None else least_bins(instance)
    return Row(instance=instance, bins=len(plan.flasks), bound=plan.levels[2].bound or 0, best=best, seconds=took)


def instances(u120: Path | None, levels: Path | None, each: int) -> Iterator[Instance]:
    if u120:
        yield from uniform(u120)
    for count in (60, 120):
        yield from (triplets(count, seed) for seed in range(each))
    for number in CLASSES:
        yield from (rectangles(number, 20, seed) for seed in range(each))
    if levels:
        yield from published_rectangles(levels)


def summary(rows: Sequence[Row]) -> list[str]:
    table: list[tuple[str, ...]] = [
        ("instances", "how many", "optimal", "one bin more", "worse", "proven by the planner", "s (median, most)")
    ]
    for kind in dict.fromkeys(row.instance.kind for row in rows):
        mine = [row for row in rows if row.instance.kind == kind]
        over = [row.bins - row.best for row in mine]
        proven = sum(row.bins == row.bound for row in mine)
        took = sorted(row.seconds for row in mine)
        counts = (len(mine), over.count(0), over.count(1), sum(n > 1 for n in over), proven)
        table.append((kind, *(str(n) for n in counts), f"{took[len(took) // 2]:.1f}, {took[-1]:.1f}"))
    return notes.table(table)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--u120", type=Path)
    parser.add_argument("--levels", type=Path)
    parser.add_argument("--each", type=int, default=10, help="instances made of each kind")
    parser.add_argument("--seconds", type=float, default=1, help="deterministic limit of each")
    parser.add_argument("--write", action="store_true")
    asked = parser.parse_args()
    answer.week_charges = lambda *_: WeekCharges(composed={})  # type: ignore[assignment] # these weeks keep no lots
    rows = []
    for instance in instances(asked.u120, asked.levels, asked.each):
        rows.append(row := measured(instance, asked.seconds))
        if row.bins < row.best:
            print(f"BROKEN {instance.kind} {instance.name}: {row.bins} bins, fewer than {row.best}")
        if row.bins > row.best:
            print(f"{instance.kind} {instance.name}: {row.bins} bins, the best is {row.best}", flush=True)
    text = summary(rows)
    print("\n".join(text))
    if asked.write:
        notes.write("packing", ["Bin packing and level packing through the planner. " + notes.where(), "", *text])


if __name__ == "__main__":
    main()
