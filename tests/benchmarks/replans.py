"""What a replan moves: seeded weeks that people have read, and one thing that changes in each.

python tests/benchmarks/replans.py [replans] [seconds]
"""

from __future__ import annotations

import itertools
import random
import statistics
import sys
import time
from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

import studio

from domain.planning.check import check
from domain.planning.measure import values
from domain.planning.plan import Plan, PlannedFlask
from domain.planning.problem import Melt, Problem
from domain.shop.burnout import Outage
from domain.shop.shop import Shop
from domain.stock.week_charges import WeekCharges
from domain.units import Mass
from domain.week import answer
from domain.week.answer import plan_week


@dataclass(frozen=True, slots=True, kw_only=True)
class Replan:
    """``read``: the plan that people have read; ``week``: what is asked now."""

    kind: str
    read: Plan
    week: Problem


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """``pinned``: fixed flasks that are not as they were. ``jobs``: share of the jobs planned before,
    none of whose flasks is fixed, that changed their flask or its time. ``lateness``: left out and
    weighted days late, before and after."""

    kind: str
    pinned: int
    broken: int
    flasks: int
    jobs: float
    before: tuple[int, ...]
    after: tuple[int, ...]
    seconds: float


def base(seed: int) -> Problem:
    """A tight studio with little metal on the shelf and some on order."""
    rng = random.Random(f"replan {seed}")
    week = studio.studio(seed, rng.randrange(18, 46), days=rng.randrange(8, 13), alloys=rng.randrange(2, 7))
    few = tuple(replace(s, owned=rng.randrange(4, 9)) for s in week.shop.sizes)
    shop = replace(week.shop, sizes=few, kilns=week.shop.kilns[: rng.choice([1, 2, 2])])
    order = 2 * 1440 + 540
    melts = tuple(
        replace(m, stock_castable=Mass.g(rng.choice([150, 400, 900, 5000])), order_from=order)
        for m in studio.melts_of(shop, week.jobs)
    )
    return studio.problem(shop, week.jobs, days=len(week.days), melts=melts)


def read(seed: int, seconds: float = 0.3) -> tuple[Problem, Plan]:
    """The week with its plan, and some of that pinned: the first load, and a flask in the middle."""
    week = base(seed)
    return week, plan_week(week, seconds=seconds, seed=seed, deterministic=True)


def pinned(week: Problem, plan: Plan, rng: random.Random) -> Problem:
    loads = sorted(plan.loads, key=lambda load: load.start)
    fixed = {f.id for load in loads[: rng.choice([0, 1, 1])] for f in plan.flasks if f.load == load.id}
    if plan.flasks and rng.random() < 0.5:
        fixed.add(rng.choice(plan.flasks).id)
    flasks = tuple(f for f in plan.flasks if f.id in fixed)
    standing = {f.load for f in flasks}
    return replace(week, previous=plan, fixed_flasks=flasks, fixed_loads=tuple(x for x in plan.loads if x.id in standing))


def same(week: Problem, plan: Plan, rng: random.Random) -> Problem:  # noqa: ARG001 - one signature for all
    return week


def rush(week: Problem, plan: Plan, rng: random.Random) -> Problem:  # noqa: ARG001 - one signature for all
    like = rng.choice(week.jobs)
    job = replace(
        like, id="RUSH", name="RUSH", quantity=rng.choice([1, 2, 4]), ready=0, due=week.days[rng.choice([2, 3, 4])].date, weight=5
    )
    return replace(week, jobs=(*week.jobs, job))


def miscast(week: Problem, plan: Plan, rng: random.Random) -> Problem:
    """Some pieces of a flask that stays in the plan are wanted once more."""
    flask = min(plan.flasks, key=lambda f: (f.cast_start, f.id), default=None)
    if flask is None:
        return week
    again = {j: rng.randrange(1, n + 1) for j, n in flask.contents.items() if week.job[j].may_split}
    return replace(week, jobs=tuple(replace(j, quantity=j.quantity + again.get(j.id, 0)) for j in week.jobs))


def _again(week: Problem, shop: Shop) -> Problem:
    new = studio.problem(shop, week.jobs, days=len(week.days), melts=week.melts)
    return replace(new, previous=week.previous, fixed_flasks=week.fixed_flasks, fixed_loads=week.fixed_loads)


def _a_day(rng: random.Random) -> tuple[Outage, ...]:
    day = (studio.MONDAY + timedelta(days=rng.randrange(1, 4))).isoformat()
    return (Outage(first=day, last=day),)


def kiln_down(week: Problem, plan: Plan, rng: random.Random) -> Problem:  # noqa: ARG001 - one signature for all
    broken = rng.choice(week.shop.kilns).id
    out = _a_day(rng)
    return _again(week, replace(week.shop, kilns=tuple(replace(k, outages=out) if k.id == broken else k for k in week.shop.kilns)))


def caster_ill(week: Problem, plan: Plan, rng: random.Random) -> Problem:  # noqa: ARG001 - one signature for all
    ill = rng.choice(week.shop.people).id
    out = _a_day(rng)
    return _again(week, replace(week.shop, people=tuple(replace(p, away=out) if p.id == ill else p for p in week.shop.people)))


def delivery_late(week: Problem, plan: Plan, rng: random.Random) -> Problem:  # noqa: ARG001 - one signature for all
    late = rng.choice([1, 2]) * 1440

    def later(m: Melt) -> Melt:
        return replace(m, order_from=m.order_from + late if m.order_from is not None else None)

    return replace(week, melts=tuple(later(m) for m in week.melts))


KINDS: dict[str, Callable[[Problem, Plan, random.Random], Problem]] = {
    "same data": same,
    "rush job": rush,
    "miscast": miscast,
    "kiln down": kiln_down,
    "caster ill": caster_ill,
    "delivery late": delivery_late,
}


def replans(count: int) -> Iterable[Replan]:
    """``count`` replans, all kinds in turn."""
    weeks = (case for seed in range(1 + (count - 1) // len(KINDS)) for case in replans_of(seed))
    return itertools.islice(weeks, count)


def replans_of(seed: int) -> Iterable[Replan]:
    """All kinds of change to one week."""
    week, plan = read(seed)
    for kind, change in KINDS.items():
        rng = random.Random(f"{kind} {seed}")
        yield Replan(kind=kind, read=plan, week=change(pinned(week, plan, rng), plan, rng))


def moved(case: Replan, seconds: float) -> tuple[Moved, Plan]:
    """What a steady replan of this case moves."""
    began = time.monotonic()
    plan = plan_week(case.week, seconds=seconds, deterministic=True)
    took = time.monotonic() - began
    now = {f.id: f for f in plan.flasks}
    return Moved(
        kind=case.kind,
        pinned=sum(now.get(f.id) != f for f in case.week.fixed_flasks),
        broken=len(check(case.week, plan, metal=False)),
        flasks=plan.levels[6].value,
        jobs=_share(case, plan),
        before=values(case.read.levels)[:2],
        after=values(plan.levels)[:2],
        seconds=took,
    ), plan


def _share(case: Replan, plan: Plan) -> float:
    then, now = _places(case.read.flasks), _places(plan.flasks)
    known = [j for j in then if j in case.week.job]
    return sum(not then[j] <= now.get(j, set()) for j in known) / len(known) if known else 0.0


def _places(flasks: Iterable[PlannedFlask]) -> dict[str, set[tuple[object, ...]]]:
    places: dict[str, set[tuple[object, ...]]] = defaultdict(set)
    for f in flasks:
        for job, pieces in f.contents.items():
            places[job].add((f.id, pieces, f.size, f.machine, f.load, f.cast_start))
    return places


def main(count: int = 1000, seconds: float = 2.0) -> None:
    answer.week_charges = lambda *_: WeekCharges(composed={})  # type: ignore[assignment] # these studios keep no lots
    rows: dict[str, list[Moved]] = defaultdict(list)
    for case in replans(int(count)):
        row, _ = moved(case, seconds)
        rows[row.kind].append(row)
    print(f"{'':<14} cases  pinned moved  rules broken  flasks changed (median, most)  jobs moved (median, most)  later  sooner  s")
    for kind, mine in rows.items():
        flasks, jobs = [m.flasks for m in mine], [100 * m.jobs for m in mine]
        print(
            f"{kind:<14} {len(mine):>5}  {sum(m.pinned for m in mine):>12}  {sum(m.broken for m in mine):>12}"
            f"  {statistics.median(flasks):>22g} {max(flasks):>6}  {statistics.median(jobs):>17.1f} % {max(jobs):>5.1f} %"
            f"  {sum(m.after > m.before for m in mine):>5}  {sum(m.after < m.before for m in mine):>6}"
            f"  {statistics.median(m.seconds for m in mine):.2f}"
        )


if __name__ == "__main__":
    main(*(float(x) for x in sys.argv[1:]))
