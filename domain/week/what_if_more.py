"""More changes that a manager tries: other hours on one day, and what a reason for a late job names as its mend."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from domain.errors import DomainError
from domain.planning.calendar import WEEKDAYS, arrival, covers
from domain.planning.explain.words import day_words
from domain.saying import say
from domain.shop.burnout import Outage
from domain.shop.casting import DayHours, Person
from domain.shop.jobs import Job
from domain.stock.offers import supplier_offers
from domain.week.week import Week
from domain.week.what_if import lead_until, named, with_changed

MIDNIGHT = 24 * 60


@dataclass(frozen=True, slots=True, kw_only=True)
class LongerDay:
    """Everybody who works on ``day`` (ISO date) stays ``minutes`` longer, at most until midnight."""

    day: str
    minutes: int

    def apply(self, week: Week) -> Week:
        people = tuple(self._longer(week, person) for person in week.shop.people)
        if people == week.shop.people:
            raise DomainError(say("Nobody works on {day}, so nobody can stay longer.", day=day_words(self.day)))
        return replace(week, shop=replace(week.shop, people=people))

    def _longer(self, week: Week, person: Person) -> Person:
        hours = [(opens, min(closes + self.minutes, MIDNIGHT)) for opens, closes in _hours_on(week, person, self.day)]
        return _with_hours(person, self.day, hours) if hours else person

    def words(self, week: Week) -> str:  # noqa: ARG002 (a change of the week as the others are)
        return say("everybody who works on {day} stays {minutes} min longer", day=day_words(self.day), minutes=self.minutes)


@dataclass(frozen=True, slots=True, kw_only=True)
class WorksOn:
    """A person works on ``day`` (ISO date), on which they have no shift, as long as on another day."""

    person: str
    day: str

    def apply(self, week: Week) -> Week:
        person = named(week.shop.people, self.person, say("person"))
        if _hours_on(week, person, self.day):
            raise DomainError(say("{person} works on {day} already.", person=person.name, day=day_words(self.day)))
        like = [s for p in (person, *week.shop.people) for s in p.shifts]
        opens, closes = (like[0].opens, like[0].closes) if like else (8 * 60, 16 * 60)
        people = with_changed(week.shop.people, _with_hours(person, self.day, [(opens, closes)]))
        return replace(week, shop=replace(week.shop, people=people))

    def words(self, week: Week) -> str:
        return say("{name} works on {day}", name=named(week.shop.people, self.person, say("person")).name, day=day_words(self.day))


@dataclass(frozen=True, slots=True, kw_only=True)
class PatternsBy:
    """A job's patterns are there on ``day`` (ISO date)."""

    job: str
    day: str

    def apply(self, week: Week) -> Week:
        return _with_job(week, replace(_job(week, self.job), ready=self.day))

    def words(self, week: Week) -> str:
        return say("the patterns of job {job} are there on {day}", job=_named_job(week, self.job), day=day_words(self.day))


@dataclass(frozen=True, slots=True, kw_only=True)
class DueOn:
    """The customer agrees to ``day`` (ISO date)."""

    job: str
    day: str

    def apply(self, week: Week) -> Week:
        return _with_job(week, replace(_job(week, self.job), due=self.day))

    def words(self, week: Week) -> str:
        return say("job {job} is due {day}", job=_named_job(week, self.job), day=day_words(self.day))


@dataclass(frozen=True, slots=True, kw_only=True)
class MaySplit:
    """A job's pieces may be cast in several flasks."""

    job: str

    def apply(self, week: Week) -> Week:
        return _with_job(week, replace(_job(week, self.job), may_split=True))

    def words(self, week: Week) -> str:
        return say("job {job} may be split over flasks", job=_named_job(week, self.job))


@dataclass(frozen=True, slots=True, kw_only=True)
class AlloyMetalBy:
    """All metal for an alloy that is ordered today is here on ``day`` (ISO date)."""

    alloy: str
    day: str

    def apply(self, week: Week) -> Week:
        alloy = named(week.shop.alloys, self.alloy, say("alloy"))
        lead = lead_until(week, self.day, say("Metal for {alloy}", alloy=alloy.name))
        wanted = {o.id.partition(":")[2] for o in supplier_offers(alloy, week.shop.metals)}
        today, day = week.now.date(), date.fromisoformat(self.day)
        late = [m for m in week.shop.metals if m.id in wanted and m.lead_days is not None]
        metals = week.shop.metals
        for metal in late:
            if arrival(week.shop, today, metal.lead_days or 0) > day:
                metals = with_changed(metals, replace(metal, lead_days=lead))
        return replace(week, shop=replace(week.shop, metals=metals))

    def words(self, week: Week) -> str:
        name = named(week.shop.alloys, self.alloy, say("alloy")).name
        return say("all metal for {name} that is ordered today is here on {day}", name=name, day=day_words(self.day))


@dataclass(frozen=True, slots=True, kw_only=True)
class LookAhead:
    """The plan looks ``days`` calendar days further ahead."""

    days: int

    def apply(self, week: Week) -> Week:
        rules = replace(week.shop.rules, horizon_days=week.shop.rules.horizon_days + self.days)
        return replace(week, shop=replace(week.shop, rules=rules))

    def words(self, week: Week) -> str:
        return say(
            "the plan looks {ahead} days ahead, {days} more than now",
            ahead=week.shop.rules.horizon_days + self.days,
            days=self.days,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class AnotherKiln:
    """Another kiln like one that the shop has."""

    like: str

    def apply(self, week: Week) -> Week:
        like = named(week.shop.kilns, self.like, say("kiln"))
        new = _second(like.id, like.name, {k.id for k in week.shop.kilns})
        kiln = replace(like, id=new[0], name=new[1], in_service=True, outages=tuple[Outage, ...](()))
        return replace(week, shop=replace(week.shop, kilns=(*week.shop.kilns, kiln)))

    def words(self, week: Week) -> str:
        return say("one more kiln like {name}", name=named(week.shop.kilns, self.like, say("kiln")).name)


@dataclass(frozen=True, slots=True, kw_only=True)
class AnotherMachine:
    """Another casting machine like one that the shop has."""

    like: str

    def apply(self, week: Week) -> Week:
        like = named(week.shop.machines, self.like, say("machine"))
        new = _second(like.id, like.name, {m.id for m in week.shop.machines})
        machine = replace(like, id=new[0], name=new[1], in_service=True, outages=())
        return replace(week, shop=replace(week.shop, machines=(*week.shop.machines, machine)))

    def words(self, week: Week) -> str:
        return say("one more machine like {name}", name=named(week.shop.machines, self.like, say("machine")).name)


def _second(key: str, name: str, taken: set[str]) -> tuple[str, str]:
    number = next(n for n in range(2, len(taken) + 3) if f"{key}-{n}" not in taken)
    return f"{key}-{number}", f"{name} ({number})"


def _hours_on(week: Week, person: Person, day: str) -> list[tuple[int, int]]:
    """When a person works on a day, in minutes after midnight."""
    other = [(h.opens, h.closes) for h in person.other_hours if h.day == day]
    known = date.fromisoformat(day)
    if other or covers(week.shop.closures, known) or covers(person.away, known):
        return other
    return [(s.opens, s.closes) for s in person.shifts if s.day == WEEKDAYS[known.weekday()]]


def _with_hours(person: Person, day: str, hours: list[tuple[int, int]]) -> Person:
    kept = [h for h in person.other_hours if h.day != day]
    return replace(person, other_hours=(*kept, *(DayHours(day=day, opens=opens, closes=closes) for opens, closes in hours)))


def _job(week: Week, job: str) -> Job:
    return named(week.jobs, job, say("job"))


def _named_job(week: Week, job: str) -> str:
    found = _job(week, job)
    return f"{found.id} {found.item}".strip()


def _with_job(week: Week, job: Job) -> Week:
    return replace(week, jobs=with_changed(week.jobs, job))
