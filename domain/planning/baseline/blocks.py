"""What is to be cast on one day, put in an order in which a load holds few families and few temperatures: fewer crucible
changes and fewer soaks leave time for more casts."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import islice

from domain.planning.baseline.drafts import Draft
from domain.planning.baseline.schedule import Schedule
from domain.planning.problem import PlanDay


def in_blocks(needy: Sequence[Draft], room: int, may_be_cast: Callable[[Draft], bool]) -> list[Draft]:
    """The neediest that may be cast on the day, as many as there is room for: family after family, in falling
    temperature, the family of the neediest first. Then the others as they were."""
    today = list(islice(filter(may_be_cast, needy), room))
    rank: dict[str, int] = {}
    for d in today:
        rank.setdefault(d.family, len(rank))
    names = {d.id for d in today}
    return [*sorted(today, key=lambda d: (rank[d.family], -d.low)), *(d for d in needy if d.id not in names)]


def casts_of(schedule: Schedule, day: PlanDay) -> int:
    """No more casts go into a day, overtime and all, by the minutes of machines and casters."""
    shifts, late = schedule.table.hours.shifts_of(day), schedule.table.late
    machines = [m for m in schedule.problem.shop.machines if m.in_service]
    if not shifts or not machines:
        return 0
    span = max(s.closes for s in shifts) + late - min(s.opens for s in shifts)
    minutes = sum(s.closes + late - s.opens for s in shifts)
    by_people = minutes // max(1, min(m.people * m.minutes_per_cast for m in machines))
    return min(by_people, sum(span // max(1, m.minutes_per_cast) for m in machines))
