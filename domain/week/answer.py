"""The planner's front door: a first plan at once, then better ones until time is up or nobody is waiting."""

from __future__ import annotations

import logging
import math
import random
import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from domain.planning.baseline.trees import Trees
from domain.planning.check import check
from domain.planning.explain.reasons import Reason, left_out, why_out
from domain.planning.manager import plan_by_hand
from domain.planning.measure import compare, measure, values
from domain.planning.names import numbered
from domain.planning.plan import LeftOut, Level, Plan
from domain.planning.polish import polish
from domain.planning.problem import Melt, Problem
from domain.planning.search.bounds import bounded, prepare, week_bounds
from domain.planning.search.refill import refilled
from domain.planning.search.repair import repaired
from domain.planning.search.steady import Steady
from domain.saying import say
from domain.stock.week_charges import Shortage, week_charges
from domain.units import Mass
from domain.week.beside import Beside

__all__ = ["Progress", "compare", "plan_week"]

LOG = logging.getLogger(__name__)

SEARCHED = 0.92
"""Share of what is left of the time for the search; after it, what is late or left out is tried once more."""
SEARCHED_OF_MANY = 0.5
"""The same above ``MANY`` jobs, where that finds more than the search."""
MANY = 350
REFILLED = 0.5
"""Share of the time in which days of such a week are filled otherwise."""
MENDED_FIRST = 0.3
"""Share of the time in which the first plan's late jobs are tried once more."""
LAST = 0.08
"""Share of the time for bounds after the search."""
WEIGHED = 8
"""Flasks that are weighed out to learn how long a whole week of them takes."""
LATER = 4
"""How much longer a flask takes in the course of the week, when there are returns to choose from."""
TINY = 14
"""Flasks up to which bounds are known before the search begins; above, they are worked out beside it."""
FEW = 80
"""Jobs up to which whole flasks and loads are asked for, anew for each plan that is less late."""
AGAIN = 0.3
"""Share of its time that the search has once more for a week that is planned again."""
STEPS = 60
"""Tries to make room for each second of a deterministic limit."""
TIGHTER = 3
"""How often a week is planned again because its metal did not suffice after all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """``stage`` in words; ``plan``: the best so far, which has passed the checker but is not weighed out."""

    stage: str
    seconds: float
    levels: tuple[Level, ...]
    flasks: int
    loads: int
    left_out: int
    plan: Plan

    def __str__(self) -> str:
        return self.stage


@dataclass
class _Asked:
    seconds: float
    seed: int
    workers: int
    deterministic: bool
    on_progress: Callable[[Progress], None] | None
    should_stop: Callable[[], bool] | None
    anew: bool
    began: float = field(default_factory=time.monotonic)
    kept_back: float = 0.0
    """seconds for bounds after the search"""
    weighing: float = 0.0
    """seconds for charges after that"""
    beside: Beside | None = None
    """bounds, while the search goes on"""

    def left(self) -> float:
        """Seconds for the search."""
        return self.seconds if self.deterministic else self.rest() - self.kept_back - self.weighing

    def rest(self) -> float:
        """Seconds until there should be an answer; without end where no clock counts."""
        return math.inf if self.deterministic else self.seconds - (time.monotonic() - self.began)

    def going(self) -> bool:
        return not self.stopped() and self.left() > 0

    def stopped(self) -> bool:
        return self.should_stop is not None and self.should_stop()

    def tell(self, stage: str, plan: Plan) -> None:
        if self.on_progress:
            out = sum(entry.pieces for entry in plan.left_out)
            counts = {"flasks": len(plan.flasks), "loads": len(plan.loads), "left_out": out}
            seconds = time.monotonic() - self.began
            self.on_progress(Progress(stage=stage, seconds=seconds, levels=plan.levels, plan=plan, **counts))


def plan_week(
    problem: Problem,
    *,
    seconds: float,
    seed: int = 0,
    workers: int = 2,
    deterministic: bool = False,
    on_progress: Callable[[Progress], None] | None = None,
    should_stop: Callable[[], bool] | None = None,
    anew: bool = False,
) -> Plan:
    """The best plan found in ``seconds``, weighed out and checked; never worse than the plan by hand.

    Where there is a previous plan, people have read it: what still holds of it stays exactly as it is, what
    is new or broken finds its place beside it, and nothing moves but for less left out or less lateness.
    Where something is new or broken, no more is left out or late than by hand. ``anew``: the previous plan is a beginning like any
    other, and changes count last.

    ``deterministic``: one worker, and ``seconds`` in the solver's own steps, so that the same question
    has the same answer twice. ``on_progress`` is told of the first plan and of every better one;
    ``should_stop`` ends the search, and the best plan so far is finished and returned.
    """
    asked = _Asked(seconds, seed, workers, deterministic, on_progress, should_stop, anew)
    plan = _told_why(problem, numbered(problem, _answer(problem, asked)))
    return replace(plan, seconds=time.monotonic() - asked.began, seed=seed)


def _told_why(problem: Problem, plan: Plan) -> Plan:
    """What is left out for want of a place, with the change that was tried and would mend it. Where metal could
    not be composed, that stays the reason."""
    if not plan.left_out:
        return plan
    plain = {e.job: e.reason for e in left_out(problem, plan)}
    tried = why_out(problem, plan, 1)
    return replace(plan, left_out=tuple(_mendable(e, plain, tried) for e in plan.left_out))


def _mendable(entry: LeftOut, plain: dict[str, str], tried: dict[str, tuple[Reason, ...]]) -> LeftOut:
    if entry.reason != plain.get(entry.job) or not tried.get(entry.job):
        return entry
    first = tried[entry.job][0]
    return replace(entry, rule=first.rule, reason=first.reason, remedy=first.remedy)


def _answer(problem: Problem, asked: _Asked) -> Plan:
    """Plans, weighs out, and where metal does not suffice tightens what the shelf can make and plans again."""
    tightened, best = problem, None
    for _ in range(TIGHTER):
        plan = _planned(problem, tightened, asked)
        weighed, short = _weighed_out(problem, plan)
        weighed = weighed if not short else _without_short(problem, plan)
        best = weighed if best is None or values(weighed.levels) < values(best.levels) else best
        if not short or asked.stopped():
            break
        tightened = _tighter(tightened, plan, short)
        asked.seconds += AGAIN * asked.seconds
    assert best is not None  # one round is always made
    return best


def _planned(problem: Problem, tightened: Problem, asked: _Asked) -> Plan:
    """The best plan that passes the checker, its charges not composed."""
    trees = Trees(tightened)
    by_hand = plan_by_hand(tightened)
    if not asked.deterministic:
        _keep_back(problem, by_hand, asked)
    objection = ""
    if problem.previous is not None and not asked.anew:
        steady, objection = _steady(trees, by_hand, asked)
        if steady is not None:
            return _bounded(problem, replace(steady, made_by="planner"), asked)
    start = _mended(trees) or by_hand
    asked.tell(say("first plan, as by hand") if start is by_hand else say("the plan that was read, mended"), start)
    if not asked.deterministic and len(problem.jobs) > MANY:
        start = _refilled(trees, start, asked)
    start = _mended_first(trees, start, asked)
    found = _better(tightened, polish(tightened, _searched(trees, start, asked)), start)
    best = by_hand if values(by_hand.levels) < values(found.levels) else found
    best = _each_mended(trees, best, asked.going)
    if tightened is not problem:  # what was proven holds for the tightened week only
        best = replace(best, levels=measure(problem, best))
    if objection:
        best = replace(
            best,
            notes=(
                *best.notes,
                say("Planned anew, because the checker objected to the mended plan: {objection}.", objection=objection),
            ),
        )
    return _bounded(problem, best, asked)


def _bounded(problem: Problem, plan: Plan, asked: _Asked) -> Plan:
    if asked.beside is not None:
        asked.beside.join()
    return bounded(Trees(problem), plan, whole=not asked.deterministic, seconds=max(0.0, asked.rest() - asked.weighing))


def _keep_back(problem: Problem, plan: Plan, asked: _Asked) -> None:
    """Time for bounds and charges after the search, by a few flasks weighed out."""
    few = plan.flasks[:: max(1, len(plan.flasks) // WEIGHED)]
    began = time.monotonic()
    week_charges(problem, few)
    each = (time.monotonic() - began) / max(1, len(few))
    asked.kept_back = LAST * asked.seconds
    asked.weighing = LATER * each * len(plan.flasks)


def _refilled(trees: Trees, start: Plan, asked: _Asked) -> Plan:
    """Where many jobs are late, days are filled otherwise for a part of the time."""
    if not any(level.value for level in start.levels[:2]):
        return start
    until = asked.left() * (1 - REFILLED)
    stage = say("filling the days otherwise")
    plan = refilled(
        trees,
        start,
        asked.seed,
        lambda: asked.going() and asked.left() > until,
        lambda better: asked.tell(stage, _explained(trees.problem, better)),
    )
    plan = _better(trees.problem, replace(plan, made_by="planner"), start) if plan is not start else start
    if plan is not start:
        asked.tell(stage, plan)
    return plan


def _mended_first(trees: Trees, start: Plan, asked: _Asked) -> Plan:
    """What is late is tried once more before anything that costs, for a part of the time."""
    until = asked.left() * (1 - MENDED_FIRST)
    plan = _each_mended(trees, start, lambda: asked.going() and asked.left() > until)
    if plan is not start:
        asked.tell(say("bringing late jobs forward"), plan)
    return plan


def _each_mended(trees: Trees, plan: Plan, going: Callable[[], bool]) -> Plan:
    """What is late or left out is tried once more, so that a steady replan of this plan has nothing to move."""
    if not any(level.value for level in plan.levels[:2]):
        return plan
    steady = Steady.holding_plan(trees, plan)
    if not steady.mend_each(going):
        return plan
    return _better(trees.problem, replace(steady.plan(), made_by="planner"), plan)


def _steady(trees: Trees, by_hand: Plan, asked: _Asked) -> tuple[Plan | None, str]:
    """The previous plan with as few of its flasks changed as may be; none where the checker objects, and to what."""
    problem = trees.problem
    steady = Steady.mended(trees)
    better = steady.mend_each(asked.going)
    plan = _explained(problem, steady.plan())
    wrong = check(problem, plan, metal=False)
    if wrong:
        LOG.warning("the mended plan breaks %d rules and the week is planned anew: %s", len(wrong), wrong[0].message)
        return None, wrong[0].message
    asked.tell(say("the plan that was read, mended"), plan)
    if not steady.broken and not better:
        return plan, ""
    plan = _steadily_better(steady, plan, asked)
    return (by_hand if values(by_hand.levels)[:2] < values(plan.levels)[:2] else plan), ""


def _steadily_better(steady: Steady, plan: Plan, asked: _Asked) -> Plan:
    """Less left out or late, for as long as there is time and something to gain."""
    problem = steady.problem
    least = week_bounds(steady.trees, plan, seconds=asked.left())
    steps = iter(range(int(asked.seconds * STEPS) if asked.deterministic else 10**9))
    found = plan

    def going() -> bool:
        met = all(level.value <= least.get(level.name, 0) for level in found.levels[:2])
        return not met and not asked.stopped() and asked.left() > 0 and next(steps, None) is not None

    def told(better: Plan) -> None:
        nonlocal found
        found = replace(better, left_out=found.left_out)
        asked.tell(say("making room for what is late"), _explained(problem, better))

    steady.search(random.Random(asked.seed), going, told)
    steady.mend_each(asked.going)
    searched = _explained(problem, steady.plan())
    worse = values(searched.levels)[:2] > values(plan.levels)[:2] or check(problem, searched, metal=False)
    return plan if worse else searched


def _mended(trees: Trees) -> Plan | None:
    """The previous plan, mended, where the checker passes it."""
    plan = repaired(trees)
    if plan is None:
        return None
    plan = _explained(trees.problem, plan)
    return None if check(trees.problem, plan, metal=False) else plan


def _searched(trees: Trees, plan: Plan, asked: _Asked) -> Plan:
    if asked.stopped() or asked.left() <= 0 or not trees.problem.jobs:
        return plan
    # The solver's library takes half a second and much memory: who only looks at plans never loads it.
    from domain.planning.search.improve import Search
    from domain.planning.solver.model import Effort

    least = _least(trees, plan, asked)
    share = SEARCHED_OF_MANY if len(trees.problem.jobs) > MANY else SEARCHED
    effort = Effort(
        seconds=asked.left() if asked.deterministic else share * asked.left(),
        workers=asked.workers,
        seed=asked.seed,
        deterministic=asked.deterministic,
        should_stop=asked.should_stop,
    )

    def better(stage: str, found: Plan) -> None:
        if asked.beside is not None:
            asked.beside.plan = found
        asked.tell(stage, _explained(trees.problem, found))

    try:
        return replace(Search(trees, plan, effort, better).run(least), made_by="planner")
    finally:
        if asked.beside is not None:
            asked.beside.over()


def _least(trees: Trees, plan: Plan, asked: _Asked) -> dict[str, int]:
    """Bounds that end the search; but for the smallest weeks a thread raises them while it goes on."""
    jobs, least = len(trees.problem.jobs), dict.fromkeys((level.name for level in plan.levels), 0)
    asked.beside = None
    if asked.deterministic or len(plan.flasks) <= TINY:
        least.update(week_bounds(trees, plan, seconds=math.inf if asked.deterministic else asked.left()))
        return least
    if FEW < jobs <= MANY:
        prepare(trees.problem)
    asked.beside = Beside(trees, plan, lambda: asked.rest() - asked.weighing, jobs <= FEW, least)
    asked.beside.start()
    return least


def _explained(problem: Problem, plan: Plan) -> Plan:
    return replace(plan, left_out=left_out(problem, plan))


def _better(problem: Problem, new: Plan, old: Plan) -> Plan:
    """The new plan, unless it is worse or the checker objects; then the old one, with a note of why."""
    new = _explained(problem, new)
    if values(measure(problem, new)) > values(old.levels):
        return old
    wrong = check(problem, new, metal=False)
    if not wrong:
        return new
    note = say("A better plan was not taken, because the checker objected: {message}.", message=wrong[0].message)
    return replace(old, notes=(*old.notes, note))


def _weighed_out(problem: Problem, plan: Plan) -> tuple[Plan, tuple[Shortage, ...]]:
    metal = week_charges(problem, plan.flasks)
    return replace(plan, charges=metal.charges, orders=metal.orders), metal.short


def _tighter(problem: Problem, plan: Plan, short: tuple[Shortage, ...]) -> Problem:
    """What the shelf can make of a melt, lowered by the charges that could not be composed."""
    lacking: dict[str, int] = {}
    flasks = {f.id: f for f in plan.flasks}
    for shortage in short:
        flask = flasks[shortage.flask]
        lacking[flask.melt] = lacking.get(flask.melt, 0) + flask.charge.base
    return replace(problem, melts=tuple(_lowered(problem, plan, m, lacking.get(m.key, 0)) for m in problem.melts))


def _lowered(problem: Problem, plan: Plan, melt: Melt, lacking: int) -> Melt:
    if not lacking:
        return melt
    until = melt.order_from if melt.order_from is not None else problem.end
    early = sum(f.charge.base for f in plan.flasks if f.melt == melt.key and problem.on_shelf(f) and f.cast_start < until)
    return replace(melt, stock_castable=Mass(max(0, min(melt.stock_castable.base, early) - lacking)))


def _without_short(problem: Problem, plan: Plan) -> Plan:
    """The plan without the flasks whose charges cannot be composed, their jobs left out with the reason."""
    fixed = {f.id for f in problem.fixed_flasks}
    while True:
        weighed, short = _weighed_out(problem, plan)
        gone = {s.flask: s for s in short if s.flask not in fixed}
        if not gone:
            return replace(weighed, levels=_levels_again(problem, weighed))
        plan = _taken_out(problem, plan, gone)


def _levels_again(problem: Problem, plan: Plan) -> tuple[Level, ...]:
    bounds = {level.name: level.bound for level in plan.levels}
    return tuple(replace(level, bound=_no_more(bounds.get(level.name), level.value)) for level in measure(problem, plan))


def _no_more(bound: int | None, value: int) -> int | None:
    return None if bound is None else min(bound, value)


def _taken_out(problem: Problem, plan: Plan, gone: dict[str, Shortage]) -> Plan:
    """Without these flasks, and without the other flasks of jobs that may not be split."""
    words: dict[str, LeftOut] = {}
    for flask in (f for f in plan.flasks if f.id in gone):
        for job, pieces in flask.contents.items():
            shortage = gone[flask.id]
            before = words[job].pieces if job in words else 0
            name = problem.job[job].name
            reason = say("Job {name}: no charge can be composed for it. {blocker}", name=name, blocker=shortage.blocker)
            words[job] = LeftOut(job=job, pieces=before + pieces, rule=9, reason=reason, remedy=shortage.remedy)
    loads = [replace(x, rows=_rows_without(x.rows, gone)) for x in plan.loads]
    left = replace(
        plan,
        flasks=tuple(f for f in plan.flasks if f.id not in gone),
        loads=tuple(x for x in loads if x.rows),
        left_out=_added(plan.left_out, words),
    )
    return replace(left, levels=_levels_again(problem, left))


def _rows_without(rows: tuple[tuple[str, ...], ...], gone: dict[str, Shortage]) -> tuple[tuple[str, ...], ...]:
    kept = (tuple(f for f in row if f not in gone) for row in rows)
    return tuple(row for row in kept if row)


def _added(entries: tuple[LeftOut, ...], words: dict[str, LeftOut]) -> tuple[LeftOut, ...]:
    merged = [
        replace(words.pop(e.job), pieces=e.pieces + words_pieces) if (words_pieces := _pieces_of(words, e.job)) else e
        for e in entries
    ]
    return (*merged, *words.values())


def _pieces_of(words: dict[str, LeftOut], job: str) -> int:
    return words[job].pieces if job in words else 0
