"""A second opinion on whether a plan can be cast, for tests of the checker.

Written from the trade's rules alone and in another manner than the checker: every pair, every
moment at which something begins, angles and radii in floating point, pieces counted one by one.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from itertools import combinations
from typing import Any

from domain.planning.plan import LEVELS, ChargePart, From, KilnLoad, Level, Plan, PlannedFlask
from domain.planning.problem import Problem

DAY = 1440
Fault = tuple[int, str]


def faults(problem: Problem, plan: Plan, metal: bool = True) -> list[Fault]:
    """What makes the plan impossible, with the trade's rule. Where names lead nowhere it stops there."""
    found = [*whole_faults(problem, plan)]
    if not any(text.startswith("names") for _, text in found):
        for f in plan.flasks:
            if f not in problem.fixed_flasks:
                found += [*tree_faults(problem, f), *time_faults(problem, plan, f)]
            load = next((x for x in plan.loads if x.id == f.load), None)
            if load and (f not in problem.fixed_flasks or load not in problem.fixed_loads):
                found += ride_faults(problem, f, load)
        for load in plan.loads:
            if load not in problem.fixed_loads:
                found += load_faults(problem, plan, load)
        found += meeting_faults(problem, plan)
        found += [*metal_faults(problem, plan), *order_faults(problem, plan)] if metal else []
    return found


def each_piece(f: PlannedFlask) -> list[str]:
    return [job for r in f.rings for job, n in r.pieces for _ in range(n)]


def whole_faults(problem: Problem, plan: Plan) -> Iterator[Fault]:
    if not set(problem.fixed_flasks) <= set(plan.flasks) or not set(problem.fixed_loads) <= set(plan.loads):
        yield 10, "fixed is not as it was"
    if len({f.id for f in plan.flasks}) < len(plan.flasks) or len({x.id for x in plan.loads}) < len(plan.loads):
        yield 11, "names are used twice"
    if any(f.load not in {x.id for x in plan.loads} for f in plan.flasks if f not in problem.fixed_flasks):
        yield 7, "names of loads are unknown"
    if any(n < 1 for f in plan.flasks for r in f.rings for _, n in r.pieces) or any(not each_piece(f) for f in plan.flasks):
        yield 11, "nothing where something is"
    if any(not r.pieces for f in plan.flasks for r in f.rings):
        yield 3, "an empty ring"
    there = Counter(job for f in plan.flasks for job in each_piece(f))
    away = Counter({x.job: x.pieces for x in plan.left_out})
    if there + away != Counter({j.id: j.quantity for j in problem.jobs}) or any(x.pieces < 1 for x in plan.left_out):
        yield 11, "pieces do not add up"
    if any(not x.reason or not x.remedy or x.rule not in range(1, 12) for x in plan.left_out):
        yield 11, "no words"
    for j in problem.jobs:
        trees = [f for f in plan.flasks if j.id in each_piece(f)]
        if not j.may_split and trees and there[j.id] + away[j.id] != each_piece(trees[0]).count(j.id):
            yield 3, "split"


def tree_faults(problem: Problem, f: PlannedFlask) -> Iterator[Fault]:
    rules, size, melt, machine = problem.rules, problem.size[f.size], problem.melt[f.melt], problem.machine[f.machine]
    jobs = {name: problem.job[name] for name in each_piece(f)}
    if not {j.melt for j in jobs.values()} <= {f.melt} or f.machine not in melt.machines:
        yield 1, "alloy"
    if any(f.temperature not in j.temperatures for j in jobs.values()):
        yield 2, "temperature"
    root = size.trunk_diameter.base / 2 + rules.feed_length.base
    usable = size.height.base - size.base_height.base - rules.top_clearance.base
    top, means = -rules.ring_gap.base, []
    for r in f.rings:
        names = [name for name, n in r.pieces for _ in range(n)]
        top += rules.ring_gap.base + r.height.base
        means.append(sum(jobs[n].metal_each.base for n in names) / max(1, len(names)))
        if r.by_count:
            full = jobs[names[0]].per_tree.get(f.size, 0) if names else 0
            if len(set(names)) != 1 or len(names) > full or len(names) / full > r.height.base / usable:
                yield 3, "count"
            continue
        angle = sum((jobs[n].size.width.base + rules.piece_gap.base) / root for n in names)
        clear = size.inner_diameter.base / 2 - rules.wall_clearance.base
        corners = [math.hypot(root + jobs[n].size.reach.base, jobs[n].size.width.base / 2) for n in names]
        if angle > 2 * math.pi or any(c > clear for c in corners) or any(jobs[n].size.height > r.height for n in names):
            yield 3, "ring"
        if any(jobs[n].per_tree.get(f.size) for n in names):
            yield 3, "not by the shop's count"
    if top > usable or any(r.height.base < 0 for r in f.rings) or means != sorted(means, reverse=True):
        yield 3, "stack"
    rho = melt.alloy.density.base / 1000
    tree = sum(jobs[n].metal_each.base for n in each_piece(f)) / 1000
    tree += math.pi * (size.trunk_diameter.base / 20_000) ** 2 * usable / 10_000 * rho
    button = size.button_volume.base / 1e6 * rho + tree * rules.button_share.base / 1e6
    needed = math.ceil((tree + button) / (1 - melt.alloy.melt_loss.base / 1e6) * 1000)
    if f.charge.base not in range(needed - 2, needed + 3):
        yield 4, "charge"
    if (
        f.charge > machine.crucible_mass
        or f.charge.base / rho / 1000 > machine.crucible_volume.base / 1e6
        or f.size not in machine.fits
    ):
        yield 4, "machine"


def hours(problem: Problem, late: int = 0) -> list[range]:
    return [range(d.opens, d.closes + late + 1) for d in problem.days if d.opens is not None and d.closes is not None]


def time_faults(problem: Problem, plan: Plan, f: PlannedFlask) -> Iterator[Fault]:
    rules, melt, machine = problem.rules, problem.melt[f.melt], problem.machine[f.machine]
    load = next(x for x in plan.loads if x.id == f.load)
    kind = problem.investment[f.investment]
    if f.id not in {name for row in load.rows for name in row}:
        yield 7, "no place"
    if f.invest_start < max(problem.now, *(problem.job[n].ready for n in each_piece(f)), problem.now):
        yield 6, "too early"
    if f.invest_end - f.invest_start != rules.invest_minutes:
        yield 6, "duration"
    if f.knockout_end - f.knockout_start != rules.knockout_minutes:
        yield 8, "duration"
    if not any(f.invest_start in h and f.invest_end in h for h in hours(problem)):
        yield 6, "bench closed"
    if load.load_at - f.invest_end not in range(kind.bench_set_minutes, kind.bench_limit_minutes + 1):
        yield 6, "rest"
    if f.cast_end - f.cast_start != machine.minutes_per_cast or f.knockout_start - f.cast_end < melt.alloy.cooling.wait_minutes:
        yield 8, "cast or cooling"
    late = rules.overtime_minutes
    if not any(f.knockout_start in h and f.knockout_end in h for h in hours(problem, late)):
        yield 8, "knocked out at night"
    if len(f.people) != machine.people or len(set(f.people)) != machine.people or not machine.in_service:
        yield 8, "crew"
    if any(max(w.start, f.cast_start) < min(w.end, f.cast_end) for w in problem.machine_outages.get(machine.id, ())):
        yield 8, "down"
    for p in f.people:
        spans = [range(s.opens, s.closes + late + 1) for s in problem.shifts if s.person == p and s.casts]
        if not any(f.cast_start in span and f.cast_end in span for span in spans):
            yield 8, "off shift"


def ride_faults(problem: Problem, f: PlannedFlask, load: KilnLoad) -> Iterator[Fault]:
    rules, melt, kind, program = (
        problem.rules,
        problem.melt[f.melt],
        problem.investment[f.investment],
        problem.program[load.program],
    )
    if f.cast_start - load.program_end not in range(rules.soak_minutes, rules.soak_minutes + rules.hot_hold_minutes + 1):
        yield 8, "soak"
    if kind.id not in melt.investments or kind.bond not in program.bonds or program.peak > kind.peak:
        yield 7, "investment"
    needs = [problem.size[f.size].burnout_minutes, *(problem.job[n].burnout_minutes for n in each_piece(f))]
    if program.minutes < max(needs) or any(program.peak < problem.job[n].burnout_peak for n in each_piece(f)):
        yield 7, "burnout"


def in_kiln_until(plan: Plan, load: KilnLoad) -> int:
    return max([f.cast_start for f in plan.flasks if f.load == load.id] or [load.program_end])


def load_faults(problem: Problem, plan: Plan, load: KilnLoad) -> Iterator[Fault]:
    kiln, program = problem.kiln[load.kiln], problem.program[load.program]
    standing = [name for row in load.rows for name in row]
    if sorted(standing) != sorted(f.id for f in plan.flasks if f.load == load.id) or not standing:
        yield 7, "who stands there"
        return
    sizes = {f.id: problem.size[f.size] for f in plan.flasks}
    y = kiln.gap.base
    for row in load.rows:
        x = kiln.gap.base
        for name in row:
            x += sizes[name].outer_diameter.base + kiln.gap.base
        y += max([sizes[name].outer_diameter.base for name in row] or [0]) + kiln.gap.base
        if x > kiln.width.base or any(sizes[name].height + kiln.gap > kiln.height for name in row):
            yield 7, "row"
    if y > kiln.depth.base:
        yield 7, "depth"
    before = 20.0
    for s in program.segments:
        after = s.target.millidegrees / 1000
        if after > before and (after - before) / max(s.ramp_minutes, 1e-9) * 60 > kiln.fastest_ramp + 1e-9:
            yield 7, "ramp"
        before = after
    if program.peak > kiln.top_temperature or load.program_end - load.start != program.minutes:
        yield 7, "program"
    down = problem.kiln_outages.get(kiln.id, ())
    if any(max(w.start, load.load_at) < min(w.end, in_kiln_until(plan, load)) for w in down):
        yield 7, "down"
    if not kiln.in_service or load.load_at > load.start or load.load_at < problem.now:
        yield 7, "load"
    day = [h for h in hours(problem) if load.load_at in h]
    went_in = problem.clock.local(load.load_at)
    noon = datetime.combine(went_in.date() + timedelta(days=1), time(12))
    night = went_in.date().isoformat() in kiln.nights and problem.clock.local(load.program_end).replace(tzinfo=None) <= noon
    if not day or not (kiln.unattended or night or load.program_end in day[0]):
        yield 7, "nobody there"


def meeting_faults(problem: Problem, plan: Plan) -> Iterator[Fault]:
    """Every two flasks, every two loads, every minute at which something begins."""
    still = problem.fixed_flasks
    rules = problem.rules
    owned = {s.id: s.owned for s in problem.shop.sizes}
    for f in plan.flasks:
        using = [g for g in plan.flasks if g.size == f.size and g.invest_start <= f.invest_start < g.knockout_end]
        if len(using) > owned[f.size]:
            yield 5, "flasks owned"
    for f, g in combinations(plan.flasks, 2):
        if f in still and g in still:
            continue
        first, second = sorted((f, g), key=lambda x: (x.cast_start, -x.temperature.millidegrees))
        casting = max(f.cast_start, g.cast_start) < min(f.cast_end, g.cast_end)
        if max(f.invest_start, g.invest_start) < min(f.invest_end, g.invest_end):
            yield 6, "bench"
        if casting and (f.machine == g.machine or set(f.people) & set(g.people)):
            yield 8, "machine or person twice"
        families = [problem.melt[x.melt].alloy.family for x in (f, g)]
        same_day = f.cast_start // DAY == g.cast_start // DAY
        between = [x for x in plan.flasks if x.machine == f.machine and first.cast_start < x.cast_start < second.cast_start]
        hurried = second.cast_start - first.cast_end < rules.crucible_change_minutes
        if f.machine == g.machine and families[0] != families[1] and same_day and not between and hurried:
            yield 8, "crucible"
        if f.load == g.load:
            if second.temperature > first.temperature:
                yield 8, "kiln heats up"
            if second.temperature < first.temperature and second.cast_start - first.cast_start < rules.step_soak_minutes:
                yield 8, "step"
    for a, b in combinations(plan.loads, 2):
        if a.kiln == b.kiln and not (a in problem.fixed_loads and b in problem.fixed_loads):
            cool = problem.kiln[a.kiln].cooldown_minutes
            earlier, later = sorted((a, b), key=lambda x: x.load_at)
            if in_kiln_until(plan, earlier) + cool > later.load_at:
                yield 7, "kiln twice"
    for m in problem.melts:
        early = [f for f in plan.flasks if f.melt == m.key and f.cast_start >= problem.now]
        early = [f for f in early if m.order_from is None or f.cast_start < m.order_from]
        if sum(f.charge.base for f in early) > m.stock_castable.base:
            yield 9, "shelf"


def melted(problem: Problem, plan: Plan, name: str, seen: tuple[str, ...] = ()) -> tuple[dict[str, float], int]:
    """What the melt of a flask is made of, in grams, and how often it will have been melted."""
    f = next(x for x in plan.flasks if x.id == name)
    losses = problem.melt[f.melt].alloy.losses
    out: Counter[str] = Counter()
    melts = 0
    for p in next(c.parts for c in plan.charges if c.flask == name):
        shares, times = source(problem, plan, p, (*seen, name))
        melts = max(melts, times)
        for element, share in shares.items():
            out[element] += p.mass.base / 1000 * share * (1 - losses[element].base / 1e6 if element in losses else 1)  # type: ignore[assignment]
    return dict(out), melts + 1  # type: ignore[arg-type]


def source(problem: Problem, plan: Plan, p: ChargePart, seen: tuple[str, ...]) -> tuple[dict[str, float], int]:
    if p.origin is From.RETURNS:
        if p.ref in seen:
            raise LookupError(p.ref)
        grams, melts = melted(problem, plan, p.ref, seen)
        return {e: g / sum(grams.values()) for e, g in grams.items()}, melts
    thing: Any = next(x for x in (problem.lots if p.origin is From.LOT else problem.shop.metals) if x.id == p.ref)
    return {e: s.base / 1e6 for e, s in thing.composition.items()}, getattr(thing, "melts", 0)


def metal_faults(problem: Problem, plan: Plan) -> Iterator[Fault]:
    if Counter(c.flask for c in plan.charges) != Counter(f.id for f in plan.flasks if f not in problem.fixed_flasks):
        yield 9, "charges"
        return
    flasks = {f.id: f for f in plan.flasks}
    lots = {x.id: x for x in problem.lots}
    taken: Counter[tuple[From, str]] = Counter()
    for c in plan.charges:
        f = flasks[c.flask]
        melt, alloy = problem.melt[f.melt], problem.melt[f.melt].alloy
        if any(p.mass.base <= 0 for p in c.parts):
            yield 9, "less than nothing"
            return
        if not 0 <= sum(p.mass.base for p in c.parts) - f.charge.base <= 650:
            yield 9, "weight"
        old = 0
        for p in c.parts:
            taken[p.origin, p.ref] += p.mass.base
            try:
                _, melts = source(problem, plan, p, (f.id,))
            except (StopIteration, RuntimeError, LookupError):
                yield 9, "unknown metal"
                return
            lot = lots.get(p.ref) if p.origin is From.LOT else None
            if p.origin is From.RETURNS:
                g = flasks[p.ref]
                if g.melt != f.melt or g.cast_end + problem.rules.clean_minutes > f.cast_start:
                    yield 9, "returns"
            elif (melt.own_lot or None) != (p.ref if lot and lot.owner_job else None):
                yield 9, "owner"
            if lot and lot.arrives and lot.arrives > (problem.clock.first_day + timedelta(days=f.cast_start // DAY)).isoformat():
                yield 9, "delivery"
            if p.origin is From.RETURNS or (lot and lot.melts):
                old += p.mass.base
                if melts >= alloy.melts_limit:
                    yield 9, "tired"
        if not c.parts:
            yield 9, "nothing to melt"
            return
        if not melt.own_lot and old / sum(p.mass.base for p in c.parts) > alloy.recycled_limit.base / 1e6:
            yield 9, "recycled"
        grams, _ = melted(problem, plan, f.id)
        for element in {*grams, *(r.element for r in alloy.composition)}:
            low, high = next(((r.low.base, r.high.base) for r in alloy.composition if r.element == element), (0, 0))
            if not low - 1e-6 <= grams.get(element, 0) / sum(grams.values()) * 1e6 <= high + 1e-6:
                yield 9, "composition"
    for (origin, ref), mass in taken.items():
        if origin is From.LOT and mass > lots[ref].mass.base:
            yield 9, "overdrawn"
        if origin is From.RETURNS and mass > given_back(problem, plan, flasks[ref]) + 2:
            yield 9, "more than comes back"


def given_back(problem: Problem, plan: Plan, f: PlannedFlask) -> float:
    alloy, rules = problem.melt[f.melt].alloy, problem.rules
    poured = sum(p.mass.base for c in plan.charges if c.flask == f.id for p in c.parts) * (1 - alloy.melt_loss.base / 1e6)
    feed = round(math.pi * (rules.feed_diameter.base / 20_000) ** 2 * rules.feed_length.base / 10_000 * alloy.density.base)
    return poured - sum(problem.job[n].metal_each.base - feed for n in each_piece(f))


def order_faults(problem: Problem, plan: Plan) -> Iterator[Fault]:
    flasks = {f.id: f for f in plan.flasks}
    on_order = [(p.ref, c.flask, p.mass.base) for c in plan.charges for p in c.parts if p.origin is From.ORDER]
    if any(not any(o.metal == ref and name in o.flasks for o in plan.orders) for ref, name, _ in on_order):
        yield 9, "not ordered"
    for o in plan.orders:
        metal = next((m for m in problem.shop.metals if m.id == o.metal and m.lead_days is not None), None)
        if metal is None or o.mass < o.needed or o.mass.base % metal.pack.base or o.needed.base < 0:
            yield 9, "order"
            continue
        assert metal.lead_days is not None  # such metals were left out above
        day, wait = date.fromisoformat(o.order_by), metal.lead_days
        working = [day + timedelta(days=n) for n in range(1, 30) if (day + timedelta(days=n)).isoweekday() < 6]
        arrives = working[wait - 1]
        if day < problem.clock.first_day or o.arrives != arrives.isoformat():
            yield 9, "order day"
        for name in o.flasks:
            if name not in flasks or problem.clock.first_day + timedelta(days=flasks[name].cast_start // DAY) < arrives:
                yield 9, "order late"
        if sum(mass for ref, name, mass in on_order if ref == o.metal and name in o.flasks) > o.needed.base:
            yield 9, "order short"


def levels(problem: Problem, plan: Plan) -> tuple[Level, ...]:
    """The objectives, counted another way: machine by machine, every pair with nothing in between."""
    there = Counter(job for f in plan.flasks for job in each_piece(f))
    late = 0
    for j in problem.jobs:
        ends = [f.knockout_end // DAY for f in plan.flasks if j.id in each_piece(f)]
        late += j.weight * max([0, *(end - (date.fromisoformat(j.due) - problem.clock.first_day).days for end in ends)])
    cost = sum(problem.size[f.size].cost for f in plan.flasks) + sum(problem.kiln[x.kiln].cost for x in plan.loads)
    over, changes, idle = 0, 0, 0
    for n in range(-2, 15):
        today = [f for f in plan.flasks if f.cast_start // DAY == n]
        closing = [s.closes for s in problem.shifts if s.casts and s.opens // DAY == n]
        over += max(0, max(f.cast_end for f in today) - max(closing)) if today and closing else 0
        for a in today:
            after = [b for b in today if b.machine == a.machine and b.cast_start > a.cast_start]
            if after:
                b = min(after, key=lambda x: x.cast_start)
                change = problem.melt[a.melt].alloy.family != problem.melt[b.melt].alloy.family
                changes += change
                idle += max(0, b.cast_start - a.cast_end - change * problem.rules.crucible_change_minutes)
    left = sum(j.weight * (j.quantity - there[j.id]) for j in problem.jobs)
    return tuple(Level(name=n, value=v) for n, v in zip(LEVELS[:-1], (left, late, cost, over, changes, idle), strict=True))
