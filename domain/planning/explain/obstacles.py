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
            why, remedy = f"{one[1]}, and {other[1]}", f"{one[2]} {other[2]}"
            return Reason(rule=one[0], reason=f"Job {job.name}: {why}", remedy=f"Both together: {remedy}", change=change)
        rule, why, remedy = self._part(job, change, places)
        return Reason(rule=rule, reason=f"Job {job.name}: {why}", remedy=remedy, change=change)

    def _part(self, job: PlanJob, change: Change, places: Places) -> tuple[int, str, str]:
        match change:
            case AddFlask():
                return self._flasks(change, places)
            case EarlierPatterns():
                ready = day_words(self.problem.clock.day_of(job.ready))
                return 6, f"its patterns are ready on {ready}", f"Get its patterns by {day_words(change.day)}."
            case LaterDate():
                return self._date(job, change)
            case PlanAhead():
                last = day_words(self.problem.days[-1].date)
                return 8, f"the days up to {last} have no room for it", f"Plan {change.days} days further ahead."
            case AllowSplit():
                why = f"its {job.quantity} pieces may not be split, and no one flask has room for them in time"
                return 3, why, "Allow the job to be split."
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
        few = f"both {size.name} flasks are" if size.owned == 2 else f"all {size.owned} {size.name} flasks are"
        how = f"the only {size.name} flask is" if size.owned == 1 else few
        when = f" until {moment_words(self.problem.clock, until)}" if until is not None else ""
        more = "one more" if change.number == 1 else f"{change.number} more"
        return 5, f"{how} in use{when}", f"Buy or borrow {more} {size.name} flask{'s' if change.number > 1 else ''}."

    def _back(self, size: str, start: int, end: int) -> int | None:
        """When the first of the flasks that are in use then is knocked out."""
        uses = [f.knockout_end for f in self.plan.flasks if f.size == size and f.invest_start < end and start < f.knockout_end]
        return min(uses, default=None)

    def _date(self, job: PlanJob, change: LaterDate) -> tuple[int, str, str]:
        due, first = day_words(job.due), self.problem.days[0].date
        why = f"it was due on {due}, before the first day planned" if job.due < first else f"no day up to {due} has room for it"
        return 6, why, f"Agree with the customer on {day_words(change.day)}."

    def _metal(self, change: MetalBy | MoreMetal) -> tuple[int, str, str]:
        melt = self.problem.melt[change.melt]
        name = melt.alloy.name
        if isinstance(change, MoreMetal):
            return (
                9,
                f"the customer's {name} does not suffice",
                f"Ask the customer for {change.mass.decimal('g', 1)} g more of {name}.",
            )
        here = melt.order_from
        when = (
            "in the days planned"
            if here is None or here >= self.problem.end
            else f"before {day_words(self.problem.clock.day_of(here))}"
        )
        why = f"the shelf cannot make more {name}, and metal ordered now cannot be here {when}"
        return 9, why, f"Have metal for {name} delivered by {day_words(change.day)}."

    def _kiln(self, change: KilnBack | NightLoad | SecondKiln, places: Places) -> tuple[int, str, str]:
        name = self.problem.kiln[change.kiln].name
        cast = day_words(self.problem.clock.day_of(min(f.cast_start for _, f in places)))
        if isinstance(change, KilnBack):
            return (
                7,
                f"{name} is out of service when it is wanted for casts on {cast}",
                f"Have {name} back in service for casts on {cast}.",
            )
        if isinstance(change, NightLoad):
            why = f"{name} does not run with nobody in the shop, and by day there is no time before casts on {cast}"
            may = "if the fire code, the landlord and the insurer allow it"
            when = f" on the night of {day_words(change.day)}" if change.day else ""
            return 7, why, f"Run a night load in {name}{when} for casts on {cast}, {may}."
        taken = self._loads(change.kiln, places)
        why = f"{name} is taken{taken} before casts on {day_words(change.day)}"
        return 7, why, f"Run one more load in another kiln like {name} for casts on {day_words(change.day)}."

    def _loads(self, kiln: str, places: Places) -> str:
        start, end = min(r.load_at for r, _ in places), max(f.cast_start for _, f in places)
        ends = {
            x.id: max((f.cast_start for f in self.plan.flasks if f.load == x.id), default=x.program_end) for x in self.plan.loads
        }
        mine = [x for x in self.plan.loads if x.kiln == kiln and x.load_at < end and start < ends[x.id]]
        return f" by load {mine[0].id} until {moment_words(self.problem.clock, max(ends[x.id] for x in mine))}" if mine else ""

    def _hours(self, change: Overtime | WorkOn | SecondMachine, places: Places) -> tuple[int, str, str]:
        cast = min(f.cast_start for _, f in places)
        if isinstance(change, Overtime):
            day = day_words(change.day)
            return 8, f"the working day of {day} is too short for it", f"Work {change.minutes} minutes longer on {day}."
        if isinstance(change, WorkOn):
            day = day_words(change.day)
            who = next((p.name for p in self.problem.shop.people if p.id == change.person), change.person)
            return 8, f"{who} has no shift on {day}, and nobody else has time", f"Have {who} work on {day}."
        machine, day = self.problem.machine[change.machine].name, day_words(self.problem.clock.day_of(cast))
        return 8, f"{machine} has no time left on {day}", f"Use a second machine like {machine} on {day}."
