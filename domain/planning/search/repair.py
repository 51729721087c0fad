"""The plan that people have read, mended: what still holds stays, what is new finds a place beside it."""

from __future__ import annotations

import re
from dataclasses import replace

from domain.planning.baseline.beside import with_flask
from domain.planning.baseline.drafts import Draft, Ride, Timed, draft
from domain.planning.baseline.groups import Groups, may_add, pieces_of, pieces_wanted
from domain.planning.baseline.held import timed_of
from domain.planning.baseline.hours import Hours
from domain.planning.baseline.schedule import Schedule
from domain.planning.baseline.trees import Trees
from domain.planning.check import check
from domain.planning.manager import as_plan
from domain.planning.plan import LeftOut, Plan, PlannedFlask
from domain.planning.problem import Problem

ROUNDS = 50
"""Checks of what is kept; each takes at least one flask or load out, after these everything goes."""


def repaired(trees: Trees) -> Plan | None:
    """The previous plan, mended; none where there is none. Reasons for what is left out are not in it."""
    problem = trees.problem
    if problem.previous is None:
        return None
    kept, loose = holding(trees, problem.previous)
    schedule = Schedule.of(trees)
    for ride in kept:
        schedule.put_in(ride)
    groups = Groups(trees, Hours(problem))
    schedule.insert_all(loose, groups.next_id)
    inside = pieces_of(flask for ride in schedule.rides.values() for flask in ride.drafts)
    missing = {j: n - inside.get(j, 0) for j, n in pieces_wanted(problem).items()}
    drafts, _ = groups.drafts({j: n for j, n in missing.items() if n > 0 and may_add(problem, j, inside)})
    schedule.insert_all(drafts, groups.next_id)
    return as_plan(schedule)


def holding(trees: Trees, previous: Plan) -> tuple[list[Ride], list[Draft]]:
    """Loads of the previous plan that break no rule, and the flasks of those that do."""
    problem = trees.problem
    fixed = {f.id for f in problem.fixed_flasks}
    fixed_loads = {x.id for x in problem.fixed_loads}
    wanted = dict(pieces_wanted(problem))
    drafts: dict[str, Draft] = {}
    for flask in sorted(previous.flasks, key=lambda f: (f.cast_start, f.id)):
        if flask.id not in fixed and (made := _still_wanted(trees, flask, wanted)):
            drafts[flask.id] = made
    rides = [ride for load in previous.loads if load.id not in fixed_loads and (ride := _ride(problem, previous, load.id, drafts))]
    rides = _some_after_all(trees, _without_violations(trees, rides), rides)
    riding = {f.draft.id for ride in rides for f in ride.flasks}
    return rides, [d for d in drafts.values() if d.id not in riding]


def _still_wanted(trees: Trees, flask: PlannedFlask, wanted: dict[str, int]) -> Draft | None:
    """The flask with the pieces that are still asked for; they are taken off ``wanted``."""
    problem = trees.problem
    if flask.melt not in problem.melt or flask.size not in problem.size:
        return None
    contents = {j: min(n, wanted.get(j, 0)) for j, n in flask.contents.items()}
    contents = {j: n for j, n in contents.items() if n and problem.job[j].melt == flask.melt and _whole(problem, j, n)}
    if not contents or not trees.fits(flask.melt, flask.size, contents):
        return None
    made = draft(trees, flask.id, flask.melt, flask.size, contents)
    if made is None:
        return None
    for j, n in contents.items():
        wanted[j] -= n
    kinds = trees.investments_for(flask.melt, contents, flask.size)
    return replace(made, investment=flask.investment) if flask.investment in kinds else made


def _whole(problem: Problem, job: str, count: int) -> bool:
    return problem.job[job].may_split or problem.job[job].quantity == count


def _ride(problem: Problem, previous: Plan, load_id: str, drafts: dict[str, Draft]) -> Ride | None:
    load = previous.load(load_id)
    inside = [f for f in previous.flasks if f.load == load_id and f.id in drafts]
    if load is None or not inside or load.kiln not in problem.kiln or load.program not in problem.program:
        return None
    timed = tuple(timed_of(f, drafts[f.id]) for f in inside if f.machine in drafts[f.id].machines)
    return Ride(load.id, load.kiln, load.program, load.load_at, load.start, load.program_end, timed) if timed else None


def _without_violations(trees: Trees, rides: list[Ride]) -> list[Ride]:
    """Takes out, round by round, what the checker names."""
    for _ in range(ROUNDS):
        if not _stand(trees, rides):
            rides = [r for r in rides if _stand(trees, [r])]
        named = _named(trees, rides)
        if not named:
            return rides
        rides = [smaller for ride in rides if (smaller := _less(ride, named))]
    return []


def _some_after_all(trees: Trees, rides: list[Ride], before: list[Ride]) -> list[Ride]:
    """Of two flasks that stood in each other's way both were taken out: one of them may stay."""
    kept = {f.draft.id for r in rides for f in r.flasks}
    gone = [(r, f) for r in before for f in r.flasks if f.draft.id not in kept]
    for ride, timed in gone[:ROUNDS]:
        with_it = _with(rides, ride, timed)
        if _stand(trees, with_it) and not _named(trees, with_it):
            rides = with_it
    return rides


def _with(rides: list[Ride], ride: Ride, timed: Timed) -> list[Ride]:
    if not any(r.id == ride.id for r in rides):
        return [*rides, ride._replace(flasks=(timed,))]
    return [with_flask(r, timed) if r.id == ride.id else r for r in rides]


def _stand(trees: Trees, rides: list[Ride]) -> bool:
    for ride in rides:
        counts: dict[str, int] = {}
        for d in ride.drafts:
            counts[d.size] = counts.get(d.size, 0) + 1
        if trees.stand(counts, trees.problem.kiln[ride.kiln]) is None:
            return False
    return True


def _named(trees: Trees, rides: list[Ride]) -> set[str]:
    """Flasks and loads that break a rule, the metal of a melt counting for its last flask."""
    problem = trees.problem
    schedule = Schedule(trees, Schedule.of(trees).table, rides={r.id: r for r in rides})
    plan = as_plan(schedule)
    inside = pieces_of(d for r in rides for d in r.drafts)
    left = tuple(
        LeftOut(job=j, pieces=n - inside.get(j, 0), rule=8, reason="not placed yet", remedy="place it")
        for j, n in pieces_wanted(problem).items()
        if n > inside.get(j, 0)
    )
    violations = [v for v in check(problem, replace(plan, left_out=left), metal=False) if v.rule not in (0, 11)]
    words = " ".join(f"{v.where} {v.message}" for v in violations if not v.where.startswith("metal"))
    names = {r.id for r in rides} | {f.draft.id for r in rides for f in r.flasks}
    named = {name for name in names if re.search(rf"(?<!\w){re.escape(name)}(?!\w)", words)}
    for v in violations:
        if v.where.startswith("metal "):
            named |= _last_of(rides, v.where.removeprefix("metal "))
    return named


def _last_of(rides: list[Ride], melt: str) -> set[str]:
    mine = [f for r in rides for f in r.flasks if f.draft.melt == melt]
    return {max(mine, key=lambda f: f.cast_start).draft.id} if mine else set()


def _less(ride: Ride, named: set[str]) -> Ride | None:
    if ride.id in named:
        return None
    left = tuple(f for f in ride.flasks if f.draft.id not in named)
    return ride._replace(flasks=left) if left else None
