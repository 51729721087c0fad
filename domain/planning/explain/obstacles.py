"""What a change gets out of the way, in words: which flasks are in use until when, which kiln is taken, who is busy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from domain.planning.baseline.drafts import Ride, Timed
from domain.planning.explain.changes import (
    AddFlask,
    AllowSplit,
    Both,
    Change,
    EarlierPatterns,
    KilnBack,
    LaterDate,
    MetalBy,
    MoreMetal,
    NightLoad,
    Overtime,
    PlanAhead,
    SecondKiln,
    SecondMachine,
    WorkOn,
)
from domain.planning.explain.never import Reason
from domain.planning.explain.words import day_words, moment_words
from domain.planning.plan import Plan
from domain.planning.problem import PlanJob, Problem
from domain.saying import say

Places = Sequence[tuple[Ride, Timed]]


@dataclass(frozen=True)
class Obstacles:
    """Words about one plan. ``places``: where the job would stand after the change."""

    problem: Problem
    plan: Plan

    def reason(self, job: PlanJob, change: Change, places: Places) -> Reason:
        """Why the job is not there without the change, and the change as advice."""
        if isinstance(change, Both):
            one, other = (self._part(job, c, places) for c in (change.one, change.other))
            return Reason(
                rule=one[0],
                reason=say("Job {job}: {one}, and {other}", job=job.name, one=one[1], other=other[1]),
                remedy=say("Both together: {one} {other}", one=one[2], other=other[2]),
                change=change,
            )
        rule, why, remedy = self._part(job, change, places)
        return Reason(rule=rule, reason=say("Job {job}: {why}", job=job.name, why=why), remedy=remedy, change=change)

    def _part(self, job: PlanJob, change: Change, places: Places) -> tuple[int, str, str]:
        match change:
            case AddFlask():
                return self._flasks(change, places)
            case EarlierPatterns():
                ready = day_words(self.problem.clock.day_of(job.ready))
                return (
                    6,
                    say("its patterns are ready on {ready}", ready=ready),
                    say("Get its patterns by {day}.", day=day_words(change.day)),
                )
            case LaterDate():
                return self._date(job, change)
            case PlanAhead():
                last = day_words(self.problem.days[-1].date)
                return (
                    8,
                    say("the days up to {last} have no room for it", last=last),
                    say("Plan {days} days further ahead.", days=change.days),
                )
            case AllowSplit():
                why = say(
                    "its {quantity} pieces may not be split, and no one flask has room for them in time", quantity=job.quantity
                )
                return 3, why, say("Allow the job to be split.")
            case MetalBy() | MoreMetal():
                return self._metal(change)
            case KilnBack() | NightLoad() | SecondKiln():
                return self._kiln(change, places)
            case Overtime() | WorkOn() | SecondMachine():
                return self._hours(change, places)
            case Both():
                return self._part(job, change.one, places)

    def _flasks(self, change: AddFlask, places: Places) -> tuple[int, str, str]:
        size = self.problem.size[change.size]
        mine = [f for _, f in places if f.draft.size == change.size] or [f for _, f in places]
        until = self._back(change.size, min(f.invest_start for f in mine), max(f.knockout_end for f in mine))
        few = (
            say("both {size} flasks are", size=size.name)
            if size.owned == 2
            else say("all {owned} {size} flasks are", owned=size.owned, size=size.name)
        )
        how = say("the only {size} flask is", size=size.name) if size.owned == 1 else few
        when = say(" until {moment}", moment=moment_words(self.problem.clock, until)) if until is not None else ""
        if change.number == 1:
            remedy = say("Buy or borrow one more {size} flask.", size=size.name)
        else:
            remedy = say("Buy or borrow {number} more {size} flasks.", number=change.number, size=size.name)
        return 5, say("{how} in use{when}", how=how, when=when), remedy

    def _back(self, size: str, start: int, end: int) -> int | None:
        """When the first of the flasks that are in use then is knocked out."""
        uses = [f.knockout_end for f in self.plan.flasks if f.size == size and f.invest_start < end and start < f.knockout_end]
        return min(uses, default=None)

    def _date(self, job: PlanJob, change: LaterDate) -> tuple[int, str, str]:
        due, first = day_words(job.due), self.problem.days[0].date
        why = (
            say("it was due on {due}, before the first day planned", due=due)
            if job.due < first
            else say("no day up to {due} has room for it", due=due)
        )
        return 6, why, say("Agree with the customer on {day}.", day=day_words(change.day))

    def _metal(self, change: MetalBy | MoreMetal) -> tuple[int, str, str]:
        melt = self.problem.melt[change.melt]
        name = melt.alloy.name
        if isinstance(change, MoreMetal):
            return (
                9,
                say("the customer's {name} does not suffice", name=name),
                say("Ask the customer for {mass} g more of {name}.", mass=change.mass.decimal("g", 1), name=name),
            )
        here = melt.order_from
        when = (
            say("in the days planned")
            if here is None or here >= self.problem.end
            else say("before {day}", day=day_words(self.problem.clock.day_of(here)))
        )
        why = say("the shelf cannot make more {name}, and metal ordered now cannot be here {when}", name=name, when=when)
        return 9, why, say("Have metal for {name} delivered by {day}.", name=name, day=day_words(change.day))

    def _kiln(self, change: KilnBack | NightLoad | SecondKiln, places: Places) -> tuple[int, str, str]:
        name = self.problem.kiln[change.kiln].name
        cast = day_words(self.problem.clock.day_of(min(f.cast_start for _, f in places)))
        if isinstance(change, KilnBack):
            return (
                7,
                say("{name} is out of service when it is wanted for casts on {cast}", name=name, cast=cast),
                say("Have {name} back in service for casts on {cast}.", name=name, cast=cast),
            )
        if isinstance(change, NightLoad):
            why = say(
                "{name} does not run with nobody in the shop, and by day there is no time before casts on {cast}",
                name=name,
                cast=cast,
            )
            may = say("if the fire code, the landlord and the insurer allow it")
            when = say(" on the night of {day}", day=day_words(change.day)) if change.day else ""
            return (
                7,
                why,
                say("Run a night load in {name}{when} for casts on {cast}, {may}.", name=name, when=when, cast=cast, may=may),
            )
        taken = self._loads(change.kiln, places)
        why = say("{name} is taken{taken} before casts on {day}", name=name, taken=taken, day=day_words(change.day))
        return (
            7,
            why,
            say("Run one more load in another kiln like {name} for casts on {day}.", name=name, day=day_words(change.day)),
        )

    def _loads(self, kiln: str, places: Places) -> str:
        start, end = min(r.load_at for r, _ in places), max(f.cast_start for _, f in places)
        ends = {
            x.id: max((f.cast_start for f in self.plan.flasks if f.load == x.id), default=x.program_end) for x in self.plan.loads
        }
        mine = [x for x in self.plan.loads if x.kiln == kiln and x.load_at < end and start < ends[x.id]]
        return (
            say(
                " by load {load} until {moment}",
                load=mine[0].id,
                moment=moment_words(self.problem.clock, max(ends[x.id] for x in mine)),
            )
            if mine
            else ""
        )

    def _hours(self, change: Overtime | WorkOn | SecondMachine, places: Places) -> tuple[int, str, str]:
        cast = min(f.cast_start for _, f in places)
        if isinstance(change, Overtime):
            day = day_words(change.day)
            return (
                8,
                say("the working day of {day} is too short for it", day=day),
                say("Work {minutes} minutes longer on {day}.", minutes=change.minutes, day=day),
            )
        if isinstance(change, WorkOn):
            day = day_words(change.day)
            who = next((p.name for p in self.problem.shop.people if p.id == change.person), change.person)
            return (
                8,
                say("{who} has no shift on {day}, and nobody else has time", who=who, day=day),
                say("Have {who} work on {day}.", who=who, day=day),
            )
        machine, day = self.problem.machine[change.machine].name, day_words(self.problem.clock.day_of(cast))
        return (
            8,
            say("{machine} has no time left on {day}", machine=machine, day=day),
            say("Use a second machine like {machine} on {day}.", machine=machine, day=day),
        )
