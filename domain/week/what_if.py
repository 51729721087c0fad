"""Changes that a manager tries on the week before deciding on them. A change is a value: it says what it is
in words, and makes another week; the week that is there stays as it is."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Protocol, TypeVar

from domain.errors import DomainError
from domain.planning.calendar import arrival
from domain.planning.explain.words import day_words
from domain.saying import say
from domain.shop.burnout import Kiln, Outage
from domain.shop.jobs import Job
from domain.week.week import Week

T = TypeVar("T")


class Change(Protocol):
    """``apply`` and ``words`` raise ``DomainError`` where the week holds nothing that could change so."""

    def apply(self, week: Week) -> Week: ...

    def words(self, week: Week) -> str: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class NightLoads:
    """A kiln may run and start with nobody in the shop, if the fire code, the landlord and the insurer
    allow it: on all days, or on the night of one ``day`` (ISO date), until noon."""

    kiln: str
    day: str | None = None

    def apply(self, week: Week) -> Week:
        kiln = named(week.shop.kilns, self.kiln, say("kiln"))
        if self.day is None:
            return _kiln(week, replace(kiln, unattended=True))
        return _kiln(week, replace(kiln, nights=tuple(sorted({*kiln.nights, self.day}))))

    def words(self, week: Week) -> str:
        when = say(" on the night of {day}", day=day_words(self.day)) if self.day else ""
        return say(
            "{name} may run and start with nobody in the shop{when}",
            name=named(week.shop.kilns, self.kiln, say("kiln")).name,
            when=when,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class KilnBack:
    """A kiln is in service on all days."""

    kiln: str

    def apply(self, week: Week) -> Week:
        return _kiln(week, replace(named(week.shop.kilns, self.kiln, say("kiln")), in_service=True, outages=()))

    def words(self, week: Week) -> str:
        return say("{name} is in service on all days", name=named(week.shop.kilns, self.kiln, say("kiln")).name)


@dataclass(frozen=True, slots=True, kw_only=True)
class KilnDown:
    """A kiln is out of service from ``first`` to ``last`` (ISO dates, both included)."""

    kiln: str
    first: str
    last: str

    def apply(self, week: Week) -> Week:
        kiln = named(week.shop.kilns, self.kiln, say("kiln"))
        return _kiln(week, replace(kiln, outages=(*kiln.outages, _outage(self.first, self.last))))

    def words(self, week: Week) -> str:
        return say(
            "{name} is out of service {span}",
            name=named(week.shop.kilns, self.kiln, say("kiln")).name,
            span=_span(self.first, self.last),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class MoreFlasks:
    """``count`` more flasks of a size, at least one, with their sprue bases."""

    size: str
    count: int

    def apply(self, week: Week) -> Week:
        size = named(week.shop.sizes, self.size, say("flask size"))
        if self.count < 1:
            raise DomainError(say("Buy at least one flask."))
        sizes = with_changed(week.shop.sizes, replace(size, owned=size.owned + self.count))
        return replace(week, shop=replace(week.shop, sizes=sizes))

    def words(self, week: Week) -> str:
        name = named(week.shop.sizes, self.size, say("flask size")).name
        if self.count == 1:
            return say("{count} more flask {size}", count=self.count, size=name)
        return say("{count} more flasks {size}", count=self.count, size=name)


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeJob:
    """A job that is not on the list is taken in."""

    job: Job

    def apply(self, week: Week) -> Week:
        if any(job.id == self.job.id for job in week.jobs):
            raise DomainError(say("Job {job} is on the list already.", job=self.job.id))
        return replace(week, jobs=(*week.jobs, self.job))

    def words(self, week: Week) -> str:  # noqa: ARG002 (a change of the week as the others are)
        job, due, count = f"{self.job.id} {self.job.item}", day_words(self.job.due), self.job.quantity
        if count == 1:
            return say("job {job} is taken, {count} piece due {due}", job=job, count=count, due=due)
        return say("job {job} is taken, {count} pieces due {due}", job=job, count=count, due=due)


@dataclass(frozen=True, slots=True, kw_only=True)
class PutOff:
    """A job leaves the week; it waits in the archive. Pieces in flasks that do not move cannot be put off."""

    job: str

    def apply(self, week: Week) -> Week:
        job = named(week.jobs, self.job, say("job"))
        flasks = week.previous.flasks if week.previous else ()
        held = [f.id for f in flasks if f.id in week.pinned and job.id in f.contents]
        if held:
            raise DomainError(
                say("Job {job} cannot be put off: {names} holds it and does not move.", job=job.id, names=", ".join(held))
            )
        return replace(week, jobs=tuple(one for one in week.jobs if one.id != job.id))

    def words(self, week: Week) -> str:
        job = named(week.jobs, self.job, say("job"))
        return say("job {job} {item} is put off", job=job.id, item=job.item)


@dataclass(frozen=True, slots=True, kw_only=True)
class Away:
    """A person is away from ``first`` to ``last`` (ISO dates, both included)."""

    person: str
    first: str
    last: str

    def apply(self, week: Week) -> Week:
        person = named(week.shop.people, self.person, say("person"))
        people = with_changed(week.shop.people, replace(person, away=(*person.away, _outage(self.first, self.last))))
        return replace(week, shop=replace(week.shop, people=people))

    def words(self, week: Week) -> str:
        return say(
            "{name} is away {span}",
            name=named(week.shop.people, self.person, say("person")).name,
            span=_span(self.first, self.last),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Overtime:
    """Casters may stay ``minutes`` longer than their shift on any day, 0 to 480."""

    minutes: int

    def apply(self, week: Week) -> Week:
        if not 0 <= self.minutes <= 480:
            raise DomainError(say("Overtime is between 0 and 8 hours a day."))
        rules = replace(week.shop.rules, overtime_minutes=self.minutes)
        return replace(week, shop=replace(week.shop, rules=rules))

    def words(self, week: Week) -> str:
        before = week.shop.rules.overtime_minutes
        return say("overtime up to {minutes} a day instead of {before}", minutes=_hours(self.minutes), before=_hours(before))


@dataclass(frozen=True, slots=True, kw_only=True)
class MetalBy:
    """What is ordered today of a metal is here on ``day`` (ISO date)."""

    metal: str
    day: str

    def apply(self, week: Week) -> Week:
        metal = named(week.shop.metals, self.metal, say("metal"))
        lead = lead_until(week, self.day, metal.name)
        return replace(week, shop=replace(week.shop, metals=with_changed(week.shop.metals, replace(metal, lead_days=lead))))

    def words(self, week: Week) -> str:
        return say(
            "{name} ordered today is here on {day}",
            name=named(week.shop.metals, self.metal, say("metal")).name,
            day=day_words(self.day),
        )


def changed(week: Week, changes: Sequence[Change]) -> Week:
    """The week with all of them, one after the other."""
    for change in changes:
        week = change.apply(week)
    return week


def words(week: Week, changes: Iterable[Change]) -> tuple[str, ...]:
    """Each change in words, told of the week before any of them."""
    return tuple(change.words(week) for change in changes)


def lead_until(week: Week, day: str, what: str) -> int:
    """The lead time in working days with which something that is ordered today is here on ``day``."""
    today, wanted = week.now.date(), date.fromisoformat(day)
    if wanted < today:
        raise DomainError(say("{what} cannot be here before today.", what=what))
    lead = 0
    while arrival(week.shop, today, lead + 1) <= wanted:
        lead += 1
    return lead


def _kiln(week: Week, kiln: Kiln) -> Week:
    return replace(week, shop=replace(week.shop, kilns=with_changed(week.shop.kilns, kiln)))


def with_changed(things: tuple[T, ...], new: T) -> tuple[T, ...]:
    """The same, with the one of this id replaced."""
    return tuple(new if _id(thing) == _id(new) else thing for thing in things)


def named(things: Iterable[T], wanted: str, what: str) -> T:
    found = next((thing for thing in things if _id(thing) == wanted), None)
    if found is None:
        raise DomainError(say("There is no {what} “{wanted}”.", what=what, wanted=wanted))
    return found


def _id(thing: Any) -> str:
    return str(thing.id)


def _outage(first: str, last: str) -> Outage:
    if last < first:
        raise DomainError(say("The last day, {last}, is before the first, {first}.", last=day_words(last), first=day_words(first)))
    return Outage(first=first, last=last)


def _span(first: str, last: str) -> str:
    return (
        say("on {first}", first=day_words(first))
        if first == last
        else say("from {first} to {last}", first=day_words(first), last=day_words(last))
    )


def _hours(minutes: int) -> str:
    return f"{minutes // 60} h" if minutes % 60 == 0 else f"{minutes} min"
