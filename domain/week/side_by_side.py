"""Two plans of the same days, side by side: what they are worth, which jobs differ, and what moved."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from domain.planning.measure import days_late, measure
from domain.planning.plan import Level, Plan, PlannedFlask
from domain.planning.problem import Problem
from domain.units import Mass, Money, total


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """A plan with the problem that it answers."""

    problem: Problem
    plan: Plan

    def name(self, job: str) -> str:
        known = self.problem.job.get(job)
        return known.name if known else job


@dataclass(frozen=True, slots=True, kw_only=True)
class JobPair:
    """One job on both sides. ``done``: the day of its last knock-out, none where it is in no flask.
    ``late``: calendar days after its due day. ``out``: pieces in no flask. ``there``: it is on the list."""

    job: str
    name: str
    done: tuple[date | None, date | None]
    late: tuple[int, int]
    out: tuple[int, int]
    there: tuple[bool, bool]


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderPair:
    """One metal to order: mass in whole packs and its price, on both sides."""

    metal: str
    name: str
    mass: tuple[Mass, Mass]
    cost: tuple[Money, Money]


@dataclass(frozen=True, slots=True, kw_only=True)
class FlaskPair:
    """A flask that is not the same on both sides; none where it is gone or new."""

    flask: str
    before: PlannedFlask | None
    after: PlannedFlask | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Pairs are before and after. ``jobs``: late or left out on either side, or done on another day.
    ``hands``: minutes that people stand at bench, machine and knock-out. ``steady``: flasks that stayed."""

    levels: tuple[tuple[Level, Level], ...]
    jobs: tuple[JobPair, ...]
    flasks: tuple[int, int]
    loads: tuple[int, int]
    orders: tuple[OrderPair, ...]
    cost: tuple[Money, Money]
    hands: tuple[int, int]
    moved: tuple[FlaskPair, ...]
    steady: int


def side_by_side(before: Side, after: Side) -> Comparison:
    """What is other, level by level, job by job, metal by metal, flask by flask."""
    orders = _orders(before, after)
    moved, steady = _moved(before, after)
    return Comparison(
        levels=tuple(zip(measure(before.problem, before.plan), measure(after.problem, after.plan), strict=True)),
        jobs=_jobs(before, after),
        flasks=(len(before.plan.flasks), len(after.plan.flasks)),
        loads=(len(before.plan.loads), len(after.plan.loads)),
        orders=orders,
        cost=(total(Money, (o.cost[0] for o in orders)), total(Money, (o.cost[1] for o in orders))),
        hands=(_hands(before), _hands(after)),
        moved=moved,
        steady=steady,
    )


def _jobs(before: Side, after: Side) -> tuple[JobPair, ...]:
    """The worst after the change first."""
    facts = (_facts(before), _facts(after))
    ids = dict.fromkeys(j.id for side in (after, before) for j in side.problem.jobs)
    pairs = [_job_pair(job, before, after, facts) for job in ids]
    told = [p for p in pairs if any(p.late) or any(p.out) or p.done[0] != p.done[1] or p.there[0] != p.there[1]]
    return tuple(sorted(told, key=lambda p: (-p.out[1], -p.late[1], -p.out[0], -p.late[0], p.job)))


Facts = tuple[dict[str, date], dict[str, int], dict[str, int]]


def _facts(side: Side) -> Facts:
    """By job: the day it is done, days late, pieces in no flask."""
    ends: dict[str, int] = {}
    inside: dict[str, int] = {}
    for flask in side.plan.flasks:
        for job, count in flask.contents.items():
            ends[job] = max(ends.get(job, 0), flask.knockout_end)
            inside[job] = inside.get(job, 0) + count
    done = {job: side.problem.clock.day_of(end) for job, end in ends.items()}
    out = {job.id: max(0, job.quantity - inside.get(job.id, 0)) for job in side.problem.jobs}
    return done, days_late(side.problem, side.plan), out


def _job_pair(job: str, before: Side, after: Side, facts: tuple[Facts, Facts]) -> JobPair:
    then, now = facts
    return JobPair(
        job=job,
        name=(after if job in after.problem.job else before).name(job),
        done=(then[0].get(job), now[0].get(job)),
        late=(then[1].get(job, 0), now[1].get(job, 0)),
        out=(then[2].get(job, 0), now[2].get(job, 0)),
        there=(job in before.problem.job, job in after.problem.job),
    )


def _orders(before: Side, after: Side) -> tuple[OrderPair, ...]:
    masses = (_ordered(before), _ordered(after))
    metals = {m.id: m for side in (before, after) for m in side.problem.shop.metals}
    return tuple(
        OrderPair(
            metal=metal,
            name=metals[metal].name if metal in metals else metal,
            mass=(masses[0].get(metal, Mass(0)), masses[1].get(metal, Mass(0))),
            cost=(_price(before, metal, masses[0]), _price(after, metal, masses[1])),
        )
        for metal in sorted(masses[0].keys() | masses[1].keys())
    )


def _ordered(side: Side) -> dict[str, Mass]:
    masses: dict[str, Mass] = {}
    for order in side.plan.orders:
        masses[order.metal] = masses.get(order.metal, Mass(0)) + order.mass
    return masses


def _price(side: Side, metal: str, masses: dict[str, Mass]) -> Money:
    known = next((m for m in side.problem.shop.metals if m.id == metal), None)
    return known.price.times(masses[metal].over(known.price_mass)) if known and metal in masses else Money(0)


def _hands(side: Side) -> int:
    rules = side.problem.rules
    each = rules.invest_minutes + rules.knockout_minutes
    return sum(each + len(f.people) * (f.cast_end - f.cast_start) for f in side.plan.flasks)


def _moved(before: Side, after: Side) -> tuple[tuple[FlaskPair, ...], int]:
    """Flasks that are gone, new, or have other pieces or another size, machine, kiln or cast."""
    ids = {f.id: None for side in (before, after) for f in side.plan.flasks}
    other = set(differing(before.plan, after.plan))
    pairs = (FlaskPair(flask=f, before=before.plan.flask(f), after=after.plan.flask(f)) for f in ids if f in other)
    return tuple(pairs), len(ids) - len(other)


def differing(before: Plan, after: Plan) -> tuple[str, ...]:
    """Flasks of either plan that are not in both with the same pieces, size, machine, kiln load and cast.
    The minutes of both plans count on the same clock."""
    then, now = _as_read(before), _as_read(after)
    return tuple(f for f in dict.fromkeys([*then, *now]) if then.get(f) != now.get(f))


def _as_read(plan: Plan) -> dict[str, tuple[object, ...]]:
    loads = {load.id: (load.kiln, load.program, load.start) for load in plan.loads}
    return {f.id: (f.melt, sorted(f.contents.items()), f.size, f.machine, f.cast_start, loads.get(f.load)) for f in plan.flasks}
