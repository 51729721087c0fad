"""Weeks that nobody would make up by hand: any shop, however bare, any jobs, any pins. Every one must be answered with
a plan that the checker passes, and every piece that is in no flask with a reason and a remedy.

    python tests/benchmarks/weeks.py [weeks] [seed]

Hypothesis makes the weeks and, where one fails, looks for the smallest that fails in the same way.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from datetime import time as clock_time

from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

from domain.planning.check import check
from domain.planning.manager import plan_by_hand
from domain.planning.measure import planned_pieces
from domain.planning.plan import Plan
from domain.planning.problem import Problem
from domain.shop.alloy import Alloy, Section
from domain.shop.burnout import Kiln, Outage
from domain.shop.casting import CastingMachine, Person, Shift, Weekday
from domain.shop.flask import FlaskSize
from domain.shop.jobs import Job
from domain.shop.lots import Lot, Metal, MetalKind
from domain.shop.pattern import PieceSize
from domain.shop.shop import Shop, ShopRules
from domain.starting.alloys import starting_alloys
from domain.starting.machines import starting_kilns, starting_machines
from domain.starting.metals import starting_metals
from domain.starting.mould import starting_investments, starting_materials, starting_programs, starting_sizes
from domain.units import Length, Mass, Share
from domain.week.answer import plan_week
from domain.week.build import problem_of
from domain.week.week import Week

MONDAY = date(2026, 3, 2)
ALL_WEEK = (Outage(first="2026-02-01", last="2026-04-30", reason="closed"),)
ALLOYS = {a.id: a for a in starting_alloys()}
COMMON = ("silver-925", "14kt-yellow", "silicon-bronze", "14kt-white-nickel", "yellow-brass", "silver-germanium", "platinum-950-ru")
SECONDS = 0.05
"""Deterministic limit of each plan."""


def outages(days: int = 9) -> st.SearchStrategy[tuple[Outage, ...]]:
    def spans(first: int, length: int) -> Outage:
        return Outage(first=_day(first), last=_day(first + length))

    some = st.builds(spans, st.integers(-2, days), st.integers(0, 4))
    return st.lists(some, max_size=2).map(tuple)


def _day(count: int) -> str:
    return (MONDAY + timedelta(days=count)).isoformat()


@st.composite
def kilns(draw: st.DrawFn) -> tuple[Kiln, ...]:
    made = []
    for n in range(draw(st.sampled_from([1, 2, 1, 3, 2, 1, 2, 1, 3, 0]))):
        like = draw(st.sampled_from(starting_kilns()))
        side = Length.mm(draw(st.sampled_from([260, 450, 260, 350, 450, 260, 110, 60])))
        out = draw(outages()) if draw(st.integers(0, 3)) == 0 else ()
        kiln = replace(like, id=f"K{n}", name=f"Kiln {n}", width=side, depth=side, outages=out)
        made.append(replace(kiln, in_service=draw(st.integers(0, 14)) < 14, unattended=draw(st.integers(0, 5)) < 5))
    return tuple(made)


@st.composite
def machines(draw: st.DrawFn, sizes: tuple[FlaskSize, ...]) -> tuple[CastingMachine, ...]:
    made = []
    for n in range(draw(st.sampled_from([1, 2, 1, 2, 1, 2, 1, 2, 0]))):
        like = draw(st.sampled_from(starting_machines()))
        fits = frozenset(s.id for s in sizes if draw(st.integers(0, 5)) < 5)
        machine = replace(like, id=f"M{n}", name=f"Machine {n}", fits=fits, in_service=draw(st.integers(0, 14)) < 14)
        made.append(replace(machine, crucible_mass=Mass.g(draw(st.sampled_from([350, 900, 350, 900, 40])))))
    return tuple(made)


@st.composite
def people(draw: st.DrawFn) -> tuple[Person, ...]:
    made = []
    for n in range(draw(st.sampled_from([2, 1, 3, 2, 3, 1, 2, 3, 2, 0]))):
        opens = draw(st.sampled_from([480, 420, 720]))
        closes = opens + draw(st.sampled_from([540, 540, 480, 240, 60]))
        days = draw(st.sampled_from([tuple(Weekday)[:5], tuple(Weekday), tuple(Weekday)[1:3]]))
        shifts = tuple(Shift(day=d, opens=opens, closes=closes) for d in days)
        away = draw(outages()) if draw(st.integers(0, 3)) == 0 else ()
        made.append(Person(id=f"P{n}", name=f"Person {n}", casts=draw(st.integers(0, 6)) < 6, shifts=shifts, away=away))
    return tuple(made)


@st.composite
def shops(draw: st.DrawFn) -> Shop:
    chosen = [s for s in starting_sizes() if draw(st.integers(0, 3)) < 3]
    sizes = tuple(replace(s, owned=draw(st.sampled_from([1, 2, 4, 2, 0]))) for s in chosen)
    sells = draw(st.sampled_from(["everything", "with days", "everything", "nothing"]))
    return Shop(
        rules=draw(rules()),
        alloys=starting_alloys(),
        materials=starting_materials(),
        sizes=sizes,
        investments=starting_investments(),
        programs=tuple(p for p in starting_programs() if draw(st.integers(0, 9)) < 9),
        kilns=draw(kilns()),
        machines=draw(machines(sizes)),
        people=draw(people()),
        closures=draw(st.sampled_from([(), (), (), (), (), (), (), (Outage(first=_day(1), last=_day(2)),), ALL_WEEK])),
        metals=tuple(_sold(m, sells) for m in starting_metals()),
    )


def _sold(metal: Metal, sells: str) -> Metal:
    return replace(metal, lead_days={"everything": 1, "nothing": None, "with days": metal.lead_days}[sells])


def rules() -> st.SearchStrategy[ShopRules]:
    return st.builds(
        ShopRules,
        timezone=st.sampled_from(["Europe/Vienna", "UTC"]),
        hot_hold_minutes=st.sampled_from([600, 0, 1500]),
        overtime_minutes=st.sampled_from([120, 0]),
        invest_minutes=st.sampled_from([15, 60]),
        horizon_days=st.sampled_from([7, 14, 7, 14, 10, 3, 1, 0]),
        step_soak_minutes=st.sampled_from([30, 0]),
    )


@st.composite
def jobs(draw: st.DrawFn, sizes: tuple[FlaskSize, ...]) -> tuple[tuple[Job, ...], tuple[Lot, ...]]:
    made, own = [], []
    for n in range(draw(st.integers(0, 12))):
        job = draw(_job(n))
        if sizes and draw(st.integers(0, 5)) == 0:
            job = replace(job, per_tree={draw(st.sampled_from(sizes)).id: draw(st.integers(1, 20))})
        if draw(st.integers(0, 7)) == 0:
            job = replace(job, own_metal=f"C{n}")
            grams = Mass.g(draw(st.sampled_from([200, 10, 1])))
            own.append(_lot(f"C{n}", ALLOYS[job.alloy], grams, job.id))
        made.append(job)
    return tuple(made), tuple(own)


@st.composite
def _job(draw: st.DrawFn, number: int) -> Job:
    side = st.sampled_from([6, 12, 3, 8, 10, 14, 6, 9, 25, 12, 60, 200])
    ready = draw(st.integers(-1, 4))
    return Job(
        id=f"J{number}",
        item="piece",
        alloy=draw(st.sampled_from(COMMON)),
        section=draw(st.sampled_from(list(Section))),
        material=draw(st.sampled_from(["injection-wax", "castable-resin"])),
        quantity=draw(st.sampled_from([1, 3, 8, 40])),
        pattern_mass=Mass.g(draw(st.sampled_from(["0.3", "1.5", "0.02", "0.5", "0.3", "1.1", "30"]))),
        size=PieceSize(width=Length.mm(draw(side)), height=Length.mm(draw(side)), reach=Length.mm(draw(side))),
        ready=_day(ready),
        due=_day(ready + draw(st.integers(-4, 6))),
        weight=draw(st.integers(1, 3)),
        may_split=draw(st.booleans()),
    )


def _lot(name: str, alloy: Alloy, mass: Mass, owner: str | None = None) -> Lot:
    """Grain of the alloy: each element at its low end, the rest filled up one after another."""
    left = 1_000_000 - sum(part.low.base for part in alloy.composition)
    shares: dict[str, Share] = {}
    for part in alloy.composition:
        more = min(left, part.high.base - part.low.base)
        shares[part.element], left = Share(part.low.base + more), left - more
    return Lot(
        id=name, name=name, kind=MetalKind.GRAIN, composition=shares, mass=mass, alloy=alloy.id, owner_job=owner, since="2026-02-20"
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """``pins``: which flasks of a first plan are pinned before the week is planned again, 100 for all of
    them; none where nobody has read a plan. ``later``: minutes between the two plans."""

    week: Week
    pins: int | None = None
    later: int = 0


@st.composite
def weeks(draw: st.DrawFn) -> Asked:
    shop = draw(shops())
    wanted, own = draw(jobs(shop.sizes))
    stock = draw(st.sampled_from([0, 100, 500, 50_000]))
    lots = tuple(_lot(f"S-{a}", ALLOYS[a], Mass.g(stock)) for a in COMMON if stock)
    start = datetime.combine(MONDAY, clock_time(draw(st.sampled_from([7, 7, 11, 17]))))
    week = Week(shop=shop, jobs=wanted, lots=(*lots, *own), now=start)
    return Asked(week=week, pins=draw(st.none() | st.sampled_from([0, 30, 100])), later=draw(st.sampled_from([0, 90])))


@dataclass
class Tally:
    """What the weeks of a campaign were like."""

    weeks: int = 0
    replans: int = 0
    flasks: int = 0
    left: Counter[int] = field(default_factory=Counter)
    bare: int = 0
    full: int = 0

    def add(self, problem: Problem, plan: Plan) -> None:
        self.weeks += 1
        self.replans += problem.previous is not None
        self.flasks += len(plan.flasks)
        self.left.update(entry.rule for entry in plan.left_out)
        self.bare += not plan.flasks
        self.full += bool(plan.flasks) and not plan.left_out


def answered(asked: Asked, tally: Tally | None = None) -> None:
    """Plans the week, and again with pins where asked. Raises ``AssertionError`` for what is wrong with an answer."""
    problem = problem_of(asked.week)
    plan = plan_week(problem, seconds=SECONDS, deterministic=True)
    sound(problem, plan)
    by_hand = plan_by_hand(problem)
    assert check(problem, by_hand, metal=False) == (), "the plan by hand"
    if tally:
        tally.add(problem, plan)
    if asked.pins is not None:
        _planned_again(asked, plan, tally)


def _planned_again(asked: Asked, plan: Plan, tally: Tally | None) -> None:
    pinned = frozenset(f.id for n, f in enumerate(plan.flasks) if n * 37 % 100 < asked.pins)  # type: ignore[operator]
    week = replace(asked.week, previous=plan, pinned=pinned, now=asked.week.now + timedelta(minutes=asked.later))
    problem = problem_of(week)
    again = plan_week(problem, seconds=SECONDS, deterministic=True)
    sound(problem, again)
    flasks = {f.id: f for f in again.flasks}
    assert all(flasks.get(f.id) == f for f in problem.fixed_flasks), "a pinned flask moved"
    if tally:
        tally.add(problem, again)


def sound(problem: Problem, plan: Plan) -> None:
    """The checker passes the plan with its metal, bounds are bounds, and what is left out says why."""
    broken = check(problem, plan)
    assert broken == (), f"{len(broken)} rules broken, first {broken[0]}"
    assert all(level.bound is None or level.bound <= level.value for level in plan.levels), "a bound above its value"
    inside, out = planned_pieces(plan), Counter({e.job: e.pieces for e in plan.left_out})
    for job in problem.jobs:
        missing = max(0, job.quantity - inside.get(job.id, 0))
        assert out[job.id] == missing, f"{job.id}: {missing} pieces in no flask, {out[job.id]} explained"
    for entry in plan.left_out:
        assert 1 <= entry.rule <= 11
        assert entry.job in entry.reason, f"the reason does not name the job: {entry.reason}"
        assert len(entry.reason) > len(entry.job) + 15, f"hardly a reason: {entry.reason}"
        assert len(entry.remedy) > 10, f"hardly a remedy: {entry.remedy}"


def bare_weeks() -> dict[str, Asked]:
    """The degenerate ones, by what they lack."""
    jobs = tuple(_plain(n) for n in range(4))
    lots = (_lot("S", ALLOYS["silver-925"], Mass.g(500)),)
    shop = Shop(
        rules=ShopRules(timezone="Europe/Vienna", horizon_days=7),
        alloys=starting_alloys(),
        materials=starting_materials(),
        sizes=starting_sizes(),
        investments=starting_investments(),
        programs=starting_programs(),
        kilns=tuple(replace(k, unattended=True) for k in starting_kilns()),
        machines=starting_machines(),
        people=tuple(
            Person(id=p, name=p, casts=True, shifts=tuple(Shift(day=d, opens=480, closes=1020) for d in tuple(Weekday)[:5]))
            for p in ("A", "B")
        ),
        closures=(),
        metals=starting_metals(),
    )
    week = Week(shop=shop, jobs=jobs, lots=lots, now=datetime.combine(MONDAY, clock_time(7)))
    nobody = tuple(replace(m, lead_days=None) for m in shop.metals)
    huge = tuple(replace(j, size=PieceSize(width=Length.mm(300), height=Length.mm(400), reach=Length.mm(300))) for j in jobs)
    return {
        "nothing": Asked(week=week, pins=0),
        "no kiln": Asked(week=replace(week, shop=replace(shop, kilns=()))),
        "no machine": Asked(week=replace(week, shop=replace(shop, machines=()))),
        "no flask": Asked(week=replace(week, shop=replace(shop, sizes=()))),
        "no flask large enough": Asked(week=replace(week, jobs=huge)),
        "no metal and no supplier": Asked(week=replace(week, lots=(), shop=replace(shop, metals=nobody))),
        "no metal on the shelf": Asked(week=replace(week, lots=())),
        "nobody": Asked(week=replace(week, shop=replace(shop, people=()))),
        "no open day": Asked(week=replace(week, shop=replace(shop, closures=ALL_WEEK))),
        "no program": Asked(week=replace(week, shop=replace(shop, programs=()))),
        "nothing free": Asked(week=week, pins=100),
        "no time": Asked(week=replace(week, jobs=tuple(replace(j, due="2026-01-05") for j in jobs)), pins=30),
        "no more than one job": Asked(week=replace(week, jobs=jobs[:1]), pins=100),
        "no job": Asked(week=replace(week, jobs=())),
    }


def _plain(number: int) -> Job:
    box = PieceSize(width=Length.mm(8), height=Length.mm(20), reach=Length.mm(12))
    section = (Section.THIN, Section.MEDIUM)[number % 2]
    common = {"item": "ring", "alloy": "silver-925", "section": section, "material": "injection-wax", "quantity": 6}
    return Job(id=f"J{number}", pattern_mass=Mass.g("0.5"), size=box, ready=_day(0), due=_day(3), **common)  # type: ignore[arg-type]


def main(count: int = 1000, number: int = 0) -> None:
    began, tally = time.monotonic(), Tally()
    for name, asked in bare_weeks().items():
        try:
            answered(asked, tally)
        except AssertionError as wrong:
            print(f"{name}: {wrong}")

    @seed(number)
    @settings(
        max_examples=count,
        deadline=None,
        database=None,
        phases=(Phase.generate, Phase.shrink),
        suppress_health_check=list(HealthCheck),
        print_blob=False,
    )
    @given(weeks())
    def campaign(asked: Asked) -> None:
        answered(asked, tally)

    campaign()
    print(f"{tally.weeks} plans, {tally.replans} of them replans, {tally.flasks} flasks, {time.monotonic() - began:.0f} s")
    print(f"{tally.full} with everything planned, {tally.bare} without a flask, the rest with something left out")
    print("left out by rule: " + ", ".join(f"{rule}: {n}" for rule, n in sorted(tally.left.items())))


if __name__ == "__main__":
    main(*(int(x) for x in sys.argv[1:]))
