"""Which days the shop works, and who is there when."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from domain.planning.clock import Clock
from domain.planning.problem import PersonShift, PlanDay, Window
from domain.shop.burnout import Outage
from domain.shop.casting import Person, Weekday
from domain.shop.shop import Shop

WEEKDAYS = tuple(Weekday)


def covers(outages: Iterable[Outage], day: date) -> bool:
    """Whether one of the outages includes ``day``."""
    return any(o.first <= day.isoformat() <= o.last for o in outages)


def works(shop: Shop, day: date) -> bool:
    """Whether anybody has a shift on ``day`` and the shop is not closed."""
    weekday = WEEKDAYS[day.weekday()]
    open_day = any(s.day == weekday for p in shop.people for s in p.shifts)
    return open_day and not covers(shop.closures, day)


def arrival(shop: Shop, ordered: date, lead_days: int) -> date:
    """The day on which metal ordered on ``ordered`` is here: ``lead_days`` working days later.

    Where the shop never works, every day counts, so that the answer exists.
    """
    day, left = ordered, lead_days
    ever_open = any(p.shifts for p in shop.people)
    closed_streak = 0
    while left > 0:
        day += timedelta(days=1)
        closed_streak += 1
        if works(shop, day) or not ever_open or closed_streak > 60:
            left -= 1
            closed_streak = 0
    return day


def shifts_on(shop: Shop, clock: Clock, day: date) -> tuple[PersonShift, ...]:
    """Everybody's shifts on ``day``, absences and closures taken out, other hours of that day put in."""
    closed = covers(shop.closures, day)
    return tuple(shift for person in shop.people for shift in _shifts_of(person, clock, day, closed))


def _shifts_of(person: Person, clock: Clock, day: date, closed: bool) -> list[PersonShift]:
    hours = [(h.opens, h.closes) for h in person.other_hours if h.day == day.isoformat()]
    if not hours and not closed and not covers(person.away, day):
        hours = [(s.opens, s.closes) for s in person.shifts if s.day == WEEKDAYS[day.weekday()]]
    return [
        PersonShift(
            person=person.id,
            casts=person.casts,
            opens=clock.minute_of(day, opens),
            closes=clock.minute_of(day, closes),
        )
        for opens, closes in hours
        if opens < closes
    ]


def plan_day(shop: Shop, clock: Clock, day: date) -> PlanDay:
    shifts = shifts_on(shop, clock, day)
    return PlanDay(
        date=day.isoformat(),
        midnight=clock.minute_of(day),
        end=clock.minute_of(day + timedelta(days=1)),
        opens=min((s.opens for s in shifts), default=None),
        closes=max((s.closes for s in shifts), default=None),
    )


def windows(outages: Iterable[Outage], clock: Clock) -> tuple[Window, ...]:
    """Outages as spans of the plan's clock, from midnight of the first day to the end of the last."""
    return tuple(
        Window(
            clock.minute_of(date.fromisoformat(o.first)),
            clock.minute_of(date.fromisoformat(o.last) + timedelta(days=1)),
        )
        for o in outages
    )
