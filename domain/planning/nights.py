"""Between which minutes a kiln may be under fire: by day, and in the nights for which it is allowed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from domain.planning.clock import Minute
from domain.planning.problem import Problem
from domain.shop.burnout import Kiln

NOON = 12 * 60


def ends_of_nights(problem: Problem, kiln: Kiln) -> dict[Minute, Minute]:
    """By the midnight that a day begins with: noon of the day after, for the nights of this kiln."""
    clock = problem.clock
    days = [date.fromisoformat(night) for night in kiln.nights]
    return {clock.minute_of(day): clock.minute_of(day + timedelta(days=1), NOON) for day in days}


def burning(problem: Problem, kiln: Kiln, open_days: Sequence[tuple[Minute, Minute]]) -> list[tuple[Minute, Minute, Minute]]:
    """Of every open day, in order: from when to when a load may go in, and by when its program ends, where
    the kiln does not run alone on all days."""
    nights = ends_of_nights(problem, kiln)
    midnights = {d.opens: d.midnight for d in problem.days}
    return [(opens, closes, max(closes, nights.get(midnights.get(opens, -1), closes))) for opens, closes in open_days]


def alone_until(problem: Problem, kiln: Kiln, load_at: Minute) -> Minute | None:
    """By when the program of a load that goes in then, and waits for its timer, must end; none where it may not
    wait. A kiln that runs alone on all days has all the time that is planned, and more."""
    if kiln.unattended:
        return 2 * problem.end
    midnight = next((d.midnight for d in problem.days if d.midnight <= load_at < d.end), -1)
    return ends_of_nights(problem, kiln).get(midnight)
