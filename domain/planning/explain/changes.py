"""What would mend a late or left-out job, as a value that can be applied to the problem."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TypeAlias

from domain.planning.calendar import plan_day, shifts_on
from domain.planning.problem import Melt, PersonShift, PlanDay, PlanJob, Problem, Window
from domain.shop.burnout import Kiln
from domain.units import Mass


@dataclass(frozen=True, slots=True)
class AddFlask:
    """``number`` more flasks of a size."""

    size: str
    number: int

    def apply(self, problem: Problem) -> Problem:
        sizes = tuple(replace(s, owned=s.owned + self.number) if s.id == self.size else s for s in problem.shop.sizes)
        return replace(problem, shop=replace(problem.shop, sizes=sizes))


@dataclass(frozen=True, slots=True)
class EarlierPatterns:
    """The job's patterns are there on ``day`` (ISO date)."""

    job: str
    day: str

    def apply(self, problem: Problem) -> Problem:
        ready = max(problem.now, problem.clock.minute_of(date.fromisoformat(self.day)))
        return _job(problem, replace(problem.job[self.job], ready=ready))


@dataclass(frozen=True, slots=True)
class LaterDate:
    """The customer agrees to ``day`` (ISO date)."""

    job: str
    day: str

    def apply(self, problem: Problem) -> Problem:
        return _job(problem, replace(problem.job[self.job], due=self.day))


@dataclass(frozen=True, slots=True)
class AllowSplit:
    """The job's pieces may be cast in several flasks."""

    job: str

    def apply(self, problem: Problem) -> Problem:
        return _job(problem, replace(problem.job[self.job], may_split=True))


@dataclass(frozen=True, slots=True)
class MetalBy:
    """Metal for a melt, as much as is wanted, is here when the shop opens on ``day`` (ISO date)."""

    melt: str
    day: str

    def apply(self, problem: Problem) -> Problem:
        day = next(d for d in problem.days if d.date == self.day)
        melt = problem.melt[self.melt]
        here = max(problem.now, day.opens if day.opens is not None else day.midnight)
        return _melt(problem, replace(melt, order_from=here if melt.order_from is None else min(here, melt.order_from)))


@dataclass(frozen=True, slots=True)
class MoreMetal:
    """The shelf can make ``mass`` more of a melt."""

    melt: str
    mass: Mass

    def apply(self, problem: Problem) -> Problem:
        melt = problem.melt[self.melt]
        return _melt(problem, replace(melt, stock_castable=melt.stock_castable + self.mass))


@dataclass(frozen=True, slots=True)
class Overtime:
    """Everybody's shift on ``day`` (ISO date) ends ``minutes`` later."""

    day: str
    minutes: int

    def apply(self, problem: Problem) -> Problem:
        day = next(d for d in problem.days if d.date == self.day)
        shifts = tuple(
            replace(s, closes=s.closes + self.minutes) if day.midnight <= s.opens < day.end else s for s in problem.shifts
        )
        longer = replace(day, closes=day.closes + self.minutes if day.closes is not None else None)
        return replace(problem, shifts=shifts, days=_days(problem, longer))


@dataclass(frozen=True, slots=True)
class WorkOn:
    """``person`` works on ``day`` (ISO date), on which they have no shift, from ``opens`` to ``closes``
    (minutes of the plan's clock)."""

    person: str
    day: str
    opens: int
    closes: int

    def apply(self, problem: Problem) -> Problem:
        day = next(d for d in problem.days if d.date == self.day)
        shift = PersonShift(person=self.person, casts=True, opens=self.opens, closes=self.closes)
        opens = min(self.opens, day.opens) if day.opens is not None else self.opens
        closes = max(self.closes, day.closes) if day.closes is not None else self.closes
        open_day = replace(day, opens=opens, closes=closes)
        return replace(problem, shifts=(*problem.shifts, shift), days=_days(problem, open_day))


@dataclass(frozen=True, slots=True)
class NightLoad:
    """A kiln may run and start with nobody in the shop, on all days or on the night of one (ISO date)."""

    kiln: str
    day: str | None = None

    def apply(self, problem: Problem) -> Problem:
        kilns = tuple(self._allowed(k) if k.id == self.kiln else k for k in problem.shop.kilns)
        return replace(problem, shop=replace(problem.shop, kilns=kilns))

    def _allowed(self, kiln: Kiln) -> Kiln:
        return replace(kiln, unattended=True) if self.day is None else replace(kiln, nights=(*kiln.nights, self.day))


@dataclass(frozen=True, slots=True)
class KilnBack:
    """A kiln is in service on all days."""

    kiln: str

    def apply(self, problem: Problem) -> Problem:
        kilns = tuple(replace(k, in_service=True, outages=()) if k.id == self.kiln else k for k in problem.shop.kilns)
        outages = {**problem.kiln_outages, self.kiln: ()}
        return replace(problem, shop=replace(problem.shop, kilns=kilns), kiln_outages=outages)


@dataclass(frozen=True, slots=True)
class SecondKiln:
    """Another kiln like ``kiln``, for loads that are cast on ``day`` (ISO date)."""

    kiln: str
    day: str

    def apply(self, problem: Problem) -> Problem:
        like = problem.kiln[self.kiln]
        name = f"second {like.id}"
        while name in problem.kiln:
            name = f"second {name}"
        day = next(d for d in problem.days if d.date == self.day)
        second = replace(like, id=name, name=f"second {like.name}", in_service=True, outages=())
        before = [d.midnight for d in problem.days if d.end <= day.midnight and d.opens is not None]
        away = (Window(0, max(before, default=day.midnight)), Window(day.end, max(day.end, problem.end)))
        return replace(
            problem,
            shop=replace(problem.shop, kilns=(*problem.shop.kilns, second)),
            kiln_outages={**problem.kiln_outages, name: tuple(w for w in away if w.start < w.end)},
        )


@dataclass(frozen=True, slots=True)
class SecondMachine:
    """Another casting machine like ``machine``."""

    machine: str

    def apply(self, problem: Problem) -> Problem:
        like = problem.machine[self.machine]
        second = replace(like, id=f"second {like.id}", name=f"second {like.name}", in_service=True)
        melts = tuple(replace(m, machines=m.machines | {second.id}) if self.machine in m.machines else m for m in problem.melts)
        outages = {**problem.machine_outages, second.id: ()}
        shop = replace(problem.shop, machines=(*problem.shop.machines, second))
        return replace(problem, shop=shop, melts=melts, machine_outages=outages)


@dataclass(frozen=True, slots=True)
class PlanAhead:
    """The plan looks ``days`` calendar days further ahead."""

    days: int

    def apply(self, problem: Problem) -> Problem:
        last = date.fromisoformat(problem.days[-1].date)
        dates = [last + timedelta(days=n) for n in range(1, self.days + 1)]
        days = tuple(plan_day(problem.shop, problem.clock, day) for day in dates)
        shifts = tuple(s for day in dates for s in shifts_on(problem.shop, problem.clock, day))
        return replace(problem, days=(*problem.days, *days), shifts=(*problem.shifts, *shifts), end=days[-1].end)


@dataclass(frozen=True, slots=True)
class Both:
    """Two changes that only help together."""

    one: Change
    other: Change

    def apply(self, problem: Problem) -> Problem:
        return self.other.apply(self.one.apply(problem))


Change: TypeAlias = (
    AddFlask
    | EarlierPatterns
    | LaterDate
    | AllowSplit
    | MetalBy
    | MoreMetal
    | Overtime
    | WorkOn
    | NightLoad
    | KilnBack
    | SecondKiln
    | SecondMachine
    | PlanAhead
    | Both
)


def _job(problem: Problem, job: PlanJob) -> Problem:
    return replace(problem, jobs=tuple(job if j.id == job.id else j for j in problem.jobs))


def _melt(problem: Problem, melt: Melt) -> Problem:
    return replace(problem, melts=tuple(melt if m.key == melt.key else m for m in problem.melts))


def _days(problem: Problem, day: PlanDay) -> tuple[PlanDay, ...]:
    return tuple(day if d.date == day.date else d for d in problem.days)
