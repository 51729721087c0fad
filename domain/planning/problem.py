"""What is asked of a planner. Built from a ``Week`` by ``domain.week.build.problem_of``; planners, checker and
explanations all read it, and it decides nothing."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from domain.planning.clock import Clock, Minute
from domain.planning.plan import KilnLoad, Plan, PlannedFlask
from domain.shop.alloy import Alloy
from domain.shop.burnout import BurnoutProgram, Kiln
from domain.shop.casting import CastingMachine
from domain.shop.flask import FlaskSize
from domain.shop.investment import InvestmentKind
from domain.shop.lots import Lot
from domain.shop.pattern import PieceSize
from domain.shop.shop import Shop, ShopRules
from domain.units import Mass, Temperature, TemperatureRange


@dataclass(frozen=True, slots=True)
class Window:
    """From ``start`` to ``end`` of the plan's clock; ``end`` is not in it."""

    start: Minute
    end: Minute


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonShift:
    """One caster or helper on one day, absences and closures already taken out. With overtime the
    person may work until ``closes`` plus the shop's limit."""

    person: str
    casts: bool
    opens: Minute
    closes: Minute


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanDay:
    """A calendar day of the horizon. ``opens``/``closes``: the first opening and last closing of
    any shift that day, none where the shop is closed."""

    date: str
    midnight: Minute
    end: Minute
    opens: Minute | None
    closes: Minute | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Melt:
    """Jobs that may share a flask share a melt: one alloy, and one owner's metal.

    ``key``: the alloy's id, with the lot's id behind a slash for a customer's own metal.
    ``investments``: ids of the kinds that suit the alloy, best first. ``machines``: ids of machines
    in service that melt it. ``stock_castable``: charges cast before ``order_from`` may add up to
    this much, which the shelf (and deliveries on their way) can make; charges from ``order_from``
    on may use metal ordered now. ``order_from`` is none when nobody can deliver.
    """

    key: str
    alloy: Alloy
    own_lot: str | None
    investments: tuple[str, ...]
    machines: frozenset[str]
    stock_castable: Mass
    order_from: Minute | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanJob:
    """``metal_each``: one piece with its feed sprue. ``ready``: patterns are there. ``due``: ISO
    date; done in time when its last knock-out ends on or before that day. ``burnout_minutes`` and
    ``burnout_peak``: what its pattern material needs; ``material``: which that is, for its cautions."""

    id: str
    name: str
    melt: str
    quantity: int
    temperatures: TemperatureRange
    metal_each: Mass
    size: PieceSize
    ready: Minute
    due: str
    weight: int
    may_split: bool
    per_tree: dict[str, int]
    burnout_minutes: int
    burnout_peak: Temperature
    material: str = ""


@dataclass(frozen=True, kw_only=True)
class Problem:
    """``fixed_flasks`` and ``fixed_loads`` stand as they are (rule 10), whatever their times;
    their jobs' pieces count towards ``PlanJob.quantity``. ``previous``: the plan people have read.
    ``weighed``: ids of fixed flasks whose charge was weighed, so that its metal has left the shelf."""

    shop: Shop
    clock: Clock
    now: Minute
    end: Minute
    days: tuple[PlanDay, ...]
    shifts: tuple[PersonShift, ...]
    kiln_outages: dict[str, tuple[Window, ...]]
    machine_outages: dict[str, tuple[Window, ...]]
    melts: tuple[Melt, ...]
    jobs: tuple[PlanJob, ...]
    lots: tuple[Lot, ...]
    fixed_flasks: tuple[PlannedFlask, ...] = ()
    fixed_loads: tuple[KilnLoad, ...] = ()
    previous: Plan | None = None
    weighed: frozenset[str] = frozenset()

    def on_shelf(self, flask: PlannedFlask) -> bool:
        """Whether the metal of its charge is still to be taken: it is neither weighed nor cast."""
        return flask.cast_start >= self.now and flask.id not in self.weighed

    @property
    def rules(self) -> ShopRules:
        return self.shop.rules

    @cached_property
    def melt(self) -> dict[str, Melt]:
        return {m.key: m for m in self.melts}

    @cached_property
    def job(self) -> dict[str, PlanJob]:
        return {j.id: j for j in self.jobs}

    @cached_property
    def size(self) -> dict[str, FlaskSize]:
        return {s.id: s for s in self.shop.sizes}

    @cached_property
    def kiln(self) -> dict[str, Kiln]:
        return {k.id: k for k in self.shop.kilns}

    @cached_property
    def machine(self) -> dict[str, CastingMachine]:
        return {m.id: m for m in self.shop.machines}

    @cached_property
    def program(self) -> dict[str, BurnoutProgram]:
        return {p.id: p for p in self.shop.programs}

    @cached_property
    def investment(self) -> dict[str, InvestmentKind]:
        return {i.id: i for i in self.shop.investments}
