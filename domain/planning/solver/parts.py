"""The solver's variables, flask by flask and load by load."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from ortools.sat.python import cp_model

from domain.planning.solver.case import Case, Span
from domain.shop.burnout import BurnoutProgram, Kiln
from domain.shop.shop import ShopRules

Var = Any
"""The library's variables and expressions carry no types."""


@dataclass
class FlaskVars:
    """One flask that may be made. ``rides``: by load number and size; ``on``: by size and machine."""

    melt: str
    number: int
    jobs: list[str]
    sizes: list[str]
    used: Var
    count: dict[str, Var] = field(default_factory=dict)
    holds: dict[str, Var] = field(default_factory=dict)
    size: dict[str, Var] = field(default_factory=dict)
    on: dict[tuple[str, str], Var] = field(default_factory=dict)
    machine: dict[str, Var] = field(default_factory=dict)
    investment: dict[str, Var] = field(default_factory=dict)
    rides: dict[tuple[int, str], Var] = field(default_factory=dict)
    load: dict[int, Var] = field(default_factory=dict)
    ring: dict[tuple[int, str], Var] = field(default_factory=dict)
    counted: dict[tuple[str, str], Var] = field(default_factory=dict)
    degree: Var = None
    invest: Var = None
    cast: Var = None
    lasts: Var = None
    knockout: Var = None
    cast_day: dict[int, Var] = field(default_factory=dict)
    knockout_day: dict[int, Var] = field(default_factory=dict)
    crew: dict[int, Var] = field(default_factory=dict)
    at_shift: dict[tuple[int, int], Var] = field(default_factory=dict)
    in_use: Var = None
    from_shelf: Var = None
    draws: Var = None

    @property
    def name(self) -> str:
        return f"{self.melt}#{self.number}"


@dataclass
class LoadVars:
    """One kiln load that may run."""

    number: int
    kiln: Kiln
    programs: list[BurnoutProgram]
    used: Var
    program: dict[str, Var] = field(default_factory=dict)
    load_at: Var = None
    start: Var = None
    end: Var = None
    last: Var = None
    interval: Var = None


@dataclass
class Parts:
    """Everything that the constraints talk about. ``exact``: false as soon as a limit was set that
    might keep a better plan out."""

    case: Case
    model: Any
    flasks: list[FlaskVars] = field(default_factory=list)
    loads: list[LoadVars] = field(default_factory=list)
    sequences: list[Any] = field(default_factory=list)
    exact: bool = True

    @property
    def rules(self) -> ShopRules:
        return self.case.problem.rules

    def flag(self, name: str) -> Var:
        return self.model.new_bool_var(name)

    def number(self, low: int, high: int, name: str) -> Var:
        return self.model.new_int_var(low, high, name)

    def within(self, spans: list[Span], name: str) -> Var:
        """A whole number in one of the spans, both ends included."""
        domain = cp_model.Domain.from_intervals([[a, b] for a, b in spans if a <= b])
        return self.model.new_int_var_from_domain(domain, name)

    def fixed_spans(self, spans: list[Span], name: str) -> list[Var]:
        return [self.model.new_fixed_size_interval_var(a, b - a, f"{name} {a}") for a, b in spans]


def start(case: Case) -> Parts:
    """Every flask and load that may be made, with nothing said about them yet."""
    parts = Parts(case, cp_model.CpModel())
    for melt, count in case.flask_slots.items():
        for number in range(count):
            used = parts.flag(f"used {melt}#{number}")
            parts.flasks.append(FlaskVars(melt, number, case.jobs_of(melt), case.sizes_of(melt), used))
    for kiln in case.kilns:
        for number in range(case.load_slots[kiln.id]):
            used = parts.flag(f"run {kiln.id}#{number}")
            parts.loads.append(LoadVars(number, kiln, case.programs(kiln), used))
    return parts
