"""A flask put into a load that stays as people have read it: every other cast keeps its slot."""

from __future__ import annotations

from itertools import pairwise

from domain.planning.baseline.attempt import Attempt
from domain.planning.baseline.drafts import Draft, Ride, Timed
from domain.planning.baseline.times import Timetable, clash
from domain.planning.baseline.trees import suits
from domain.planning.clock import Minute


def squeezed_in(table: Timetable, ride: Ride, flask: Draft) -> Ride | None:
    """The load with one more flask in a gap between its casts or behind them; none where there is no gap.
    ``ride`` is in the timetable; that the floor has room is for the caller to ask."""
    problem = table.problem
    kiln, program = problem.kiln[ride.kiln], problem.program[ride.program]
    if not suits(program, flask.need):
        return None
    day = problem.days[table.hours.day_index(ride.flasks[0].cast_start)]
    attempt = Attempt(table, ride.id, kiln, program, [], day)
    invest = _invested(attempt, ride, flask)
    if invest is None:
        return None
    for earliest, latest, at in _gaps(attempt, ride, flask):
        slot = attempt.slot(flask, earliest, latest, ())
        if isinstance(slot, Timed):
            timed = slot._replace(temperature=at, invest_start=invest)
            if _free(table, ride, timed):
                return with_flask(ride, timed)
    return None


def with_flask(ride: Ride, timed: Timed) -> Ride:
    """The load with one more flask, in the order of its casts."""
    return ride._replace(flasks=tuple(sorted((*ride.flasks, timed), key=lambda f: (f.cast_start, -f.temperature))))


def _invested(attempt: Attempt, ride: Ride, flask: Draft) -> Minute | None:
    problem = attempt.table.problem
    kind = problem.investment[flask.investment]
    start = attempt.bench_slot(ride.load_at - kind.bench_set_minutes, max(flask.ready, problem.now), ())
    if start is None or ride.load_at - start - problem.rules.invest_minutes > kind.bench_limit_minutes:
        return None
    return start


def _gaps(attempt: Attempt, ride: Ride, flask: Draft) -> list[tuple[Minute, Minute, int]]:
    """Earliest and latest cast and a temperature, for every place among the load's casts."""
    rules = attempt.table.problem.rules
    first, last = ride.program_end + rules.soak_minutes, attempt.latest_cast(ride.program_end)
    order = sorted(ride.flasks, key=lambda f: (f.cast_start, -f.temperature))
    found: list[tuple[Minute, Minute, int]] = []
    for before, after in pairwise([None, *order, None]):
        highest = min(flask.high, before.temperature) if before else flask.high
        lowest = max(flask.low, after.temperature) if after else flask.low
        for at in dict.fromkeys((highest, lowest)) if lowest <= highest else ():
            down = rules.step_soak_minutes if before and at < before.temperature else 0
            next_down = rules.step_soak_minutes if after and after.temperature < at else 0
            earliest = max(first, before.cast_start + down) if before else first
            latest = min(last, after.cast_start - next_down) if after else last
            if earliest <= latest:
                found.append((earliest, latest, at))
    return found


def _free(table: Timetable, ride: Ride, timed: Timed) -> bool:
    """Whether a flask of the size is on the shelf and the kiln may stay hot until its cast."""
    cooldown = table.problem.kiln[ride.kiln].cooldown_minutes
    last = max(f.cast_start for f in ride.flasks) + cooldown
    longer = timed.cast_start + cooldown
    if longer > last and table.kiln_clash(ride.kiln, last, longer) is not None:
        return False
    return table.spare_flask(timed.draft.size, timed.invest_start, timed.knockout_end, ())


def still_free(table: Timetable, ride: Ride, timed: Timed) -> bool:
    """Whether a flask that was taken out of the load may go back to where it was."""
    problem = table.problem
    day = problem.days[table.hours.day_index(timed.cast_start)]
    attempt = Attempt(table, ride.id, problem.kiln[ride.kiln], problem.program[ride.program], [], day)
    lasts = timed.cast_end - timed.cast_start
    if attempt.machine_free(timed.machine, timed.draft.family, timed.cast_start, lasts, ()) != timed.cast_start:
        return False
    index = table.hours.day_index(timed.cast_start)
    if any(clash(table.person_casts.get((p, index), ()), timed.cast_start, timed.cast_end) for p in timed.people):
        return False
    if clash(table.bench, timed.invest_start, timed.invest_start + problem.rules.invest_minutes):
        return False
    return _metal(table, timed) and _falls(ride, timed, problem.rules.step_soak_minutes) and _free(table, ride, timed)


def _metal(table: Timetable, timed: Timed) -> bool:
    d = timed.draft
    if not table.from_shelf(d.melt, timed.cast_start):
        return True
    return table.charged[d.melt] + d.charge <= table.problem.melt[d.melt].stock_castable.base


def _falls(ride: Ride, timed: Timed, step: int) -> bool:
    order = with_flask(ride, timed).flasks
    return all(
        b.temperature <= a.temperature and (b.temperature == a.temperature or b.cast_start >= a.cast_start + step)
        for a, b in pairwise(order)
    )
