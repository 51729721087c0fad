"""A plan laid beside its problem, with the look-ups and words that every rule needs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import TypeVar

from domain.days import weekday_words
from domain.planning.clock import Minute
from domain.planning.plan import FlaskCharge, From, KilnLoad, Plan, PlannedFlask
from domain.planning.problem import Problem
from domain.saying import say
from domain.units import Length, Mass, Temperature

Item = TypeVar("Item")


@dataclass(frozen=True, slots=True, kw_only=True)
class Violation:
    """``rule``: 1 to 11 of the trade's rules, 0 where the plan misstates itself. ``where`` names the
    flask, load, job, kiln or machine; ``message`` says what is wrong, with the numbers."""

    rule: int
    where: str
    message: str


@dataclass(frozen=True)
class Case:
    """``free``: what the planner decided. What is fixed, and stands in the plan as it must, is
    looked at only where it meets something free. ``beside``: a plan of the same problem that has passed."""

    problem: Problem
    plan: Plan
    beside: Plan | None = None

    @cached_property
    def fixed_flasks(self) -> frozenset[str]:
        stands = {f.id: f for f in self.problem.fixed_flasks}
        return frozenset(f.id for f in self.plan.flasks if stands.get(f.id) == f)

    @cached_property
    def fixed_loads(self) -> frozenset[str]:
        stands = {load.id: load for load in self.problem.fixed_loads}
        return frozenset(load.id for load in self.plan.loads if stands.get(load.id) == load)

    def is_free(self, flask: PlannedFlask) -> bool:
        return flask.id not in self.fixed_flasks

    @cached_property
    def free_flasks(self) -> tuple[PlannedFlask, ...]:
        return tuple(f for f in self.plan.flasks if self.is_free(f))

    @cached_property
    def unlooked(self) -> tuple[PlannedFlask, ...]:
        """Free flasks that have not passed before."""
        return tuple(f for f in self.free_flasks if self._passed.get(f.id, (None, None))[0] != f)

    def stands(self, flask: PlannedFlask, charge: FlaskCharge) -> bool:
        """Whether the flask has passed before with this very charge."""
        return self._passed.get(flask.id) == (flask, charge)

    @cached_property
    def gives_back(self) -> frozenset[str]:
        """Flasks whose returns a charge uses."""
        return frozenset(p.ref for c in self.plan.charges for p in c.parts if p.origin is From.RETURNS)

    @cached_property
    def _passed(self) -> dict[str, tuple[PlannedFlask, FlaskCharge | None]]:
        if self.beside is None:
            return {}
        charges = {c.flask: c for c in self.beside.charges}
        return {f.id: (f, charges.get(f.id)) for f in self.beside.flasks}

    @cached_property
    def free_loads(self) -> tuple[KilnLoad, ...]:
        return tuple(load for load in self.plan.loads if load.id not in self.fixed_loads)

    @cached_property
    def load(self) -> dict[str, KilnLoad]:
        return {load.id: load for load in self.plan.loads}

    @cached_property
    def flask(self) -> dict[str, PlannedFlask]:
        return {f.id: f for f in self.plan.flasks}

    @cached_property
    def by_load(self) -> dict[str, list[PlannedFlask]]:
        """The flasks that name each load, in the order of their casts, the hottest first at one time."""
        riders: dict[str, list[PlannedFlask]] = {}
        for flask in sorted(self.plan.flasks, key=lambda f: (f.cast_start, -f.temperature.millidegrees)):
            riders.setdefault(flask.load, []).append(flask)
        return riders

    @cached_property
    def by_machine(self) -> dict[str, list[PlannedFlask]]:
        """The flasks that each machine casts, in the order of their casts."""
        casts: dict[str, list[PlannedFlask]] = {}
        for flask in sorted(self.plan.flasks, key=lambda f: (f.cast_start, f.cast_end)):
            casts.setdefault(flask.machine, []).append(flask)
        return casts

    @cached_property
    def holders(self) -> dict[str, list[PlannedFlask]]:
        """The flasks that hold each job, in the plan's order."""
        holding: dict[str, list[PlannedFlask]] = {}
        for flask in self.plan.flasks:
            for job in jobs_of(flask):
                holding.setdefault(job, []).append(flask)
        return holding

    @cached_property
    def placed(self) -> dict[str, int]:
        """How many pieces of each job are in flasks."""
        counts: dict[str, int] = {}
        for flask in self.plan.flasks:
            for job, count in pieces_of(flask):
                counts[job] = counts.get(job, 0) + count
        return counts

    def family(self, flask: PlannedFlask) -> str:
        """The crucible family of what the flask is cast from; the melt's key where it is unknown."""
        melt = self.problem.melt.get(flask.melt)
        return melt.alloy.family if melt else flask.melt

    def open_for(self, start: Minute, end: Minute, overtime: int = 0) -> bool:
        """Whether somebody is there from ``start`` to ``end``, within one day's opening."""
        return any(
            d.opens is not None and d.closes is not None and d.opens <= start and end <= d.closes + overtime
            for d in self.problem.days
        )

    def day(self, minute: Minute) -> date:
        """The local date; a minute beyond all calendars is put on their last or first day."""
        for d in self.problem.days:
            if d.midnight <= minute < d.end:
                return date.fromisoformat(d.date)
        try:
            return self.problem.clock.day_of(minute)
        except (OverflowError, ValueError):
            return date.max if minute > 0 else date.min

    def when(self, minute: Minute) -> str:
        """Weekday, date and clock time as the shop reads them."""
        try:
            local = self.problem.clock.local(minute)
        except (OverflowError, ValueError):
            return say("minute {minute}", minute=minute)
        return say("{weekday} {moment}", weekday=weekday_words(local), moment=f"{local:%Y-%m-%d %H:%M}")


def pieces_of(flask: PlannedFlask) -> Iterator[tuple[str, int]]:
    return (entry for ring in flask.rings for entry in ring.pieces)


def jobs_of(flask: PlannedFlask) -> list[str]:
    """Each job of the flask once, in the order in which the rings name it."""
    return list(dict.fromkeys(job for job, _ in pieces_of(flask)))


def overlaps(spans: Iterable[tuple[Minute, Minute, Item]]) -> Iterator[tuple[Item, Item]]:
    """Every two items whose spans share a minute, the earlier one first."""
    ordered = sorted(spans, key=lambda s: s[:2])
    for n, (_, end, item) in enumerate(ordered):
        for start, _, later in ordered[n + 1 :]:
            if start >= end:
                break
            yield item, later


def iso_date(text: str) -> date | None:
    """The date that ``text`` is, none where it is not one."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def thousandths(count: int, unit: str) -> str:
    whole, rest = divmod(abs(count), 1000)
    sign = "−" if count < 0 else ""
    return f"{sign}{whole}.{rest:03d}".rstrip("0").rstrip(".") + f" {unit}"


def grams(mass: Mass) -> str:
    return thousandths(mass.base, "g")


def millimetres(length: Length) -> str:
    return thousandths(length.base, "mm")


def degrees(temperature: Temperature) -> str:
    return thousandths(temperature.millidegrees, "°C")
