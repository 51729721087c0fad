"""The answer: which flask holds what, which load it rides, when it is cast, from what metal.

Every time is stored, never derived again: what was checked is what is shown. Times are minutes
of the problem's clock.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from domain.mould.ring import Ring
from domain.planning.clock import Minute
from domain.units import Mass, Temperature


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedFlask:
    """``rings`` from the button upwards. ``charge``: metal to weigh, melt loss included.
    ``knockout_start``/``knockout_end``: the flask is back on the shelf at the latter."""

    id: str
    melt: str
    size: str
    investment: str
    rings: tuple[Ring, ...]
    temperature: Temperature
    charge: Mass
    invest_start: Minute
    invest_end: Minute
    load: str
    machine: str
    people: tuple[str, ...]
    cast_start: Minute
    cast_end: Minute
    knockout_start: Minute
    knockout_end: Minute

    @property
    def contents(self) -> dict[str, int]:
        """How many pieces of each job the flask holds."""
        counts: dict[str, int] = {}
        for ring in self.rings:
            for job, count in ring.pieces:
                counts[job] = counts.get(job, 0) + count
        return counts


@dataclass(frozen=True, slots=True, kw_only=True)
class KilnLoad:
    """``rows``: flask ids as they stand on the floor, row by row from the door. ``load_at``: the
    flasks go in; ``start``: the program starts; ``program_end``: its last segment ends."""

    id: str
    kiln: str
    program: str
    rows: tuple[tuple[str, ...], ...]
    load_at: Minute
    start: Minute
    program_end: Minute

    @property
    def flasks(self) -> tuple[str, ...]:
        return tuple(flask for row in self.rows for flask in row)


class From(StrEnum):
    """Where a part of a charge comes from."""

    LOT = "lot"
    ORDER = "order"
    RETURNS = "returns"


@dataclass(frozen=True, slots=True, kw_only=True)
class ChargePart:
    """``ref``: a lot id, a metal id (on order), or the id of the flask whose returns are used."""

    origin: From
    ref: str
    mass: Mass


@dataclass(frozen=True, slots=True, kw_only=True)
class FlaskCharge:
    flask: str
    parts: tuple[ChargePart, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MetalOrder:
    """Metal to order: ``order_by`` is the last day to order it on, ``arrives`` the day it is then
    here (ISO dates); ``mass`` is rounded up to the supplier's pack, ``needed`` is not."""

    metal: str
    needed: Mass
    mass: Mass
    order_by: str
    arrives: str
    flasks: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """``pieces`` of a job that are in no flask, with the rule in the way (1 to 11 of the trade's
    rules), the reason, and what would mend it, in words that name the job."""

    job: str
    pieces: int
    rule: int
    reason: str
    remedy: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """One objective. ``bound``: proven least value, however it was had; ``proven``: value is optimal
    given the levels before it."""

    name: str
    value: int
    bound: int | None = None

    @property
    def proven(self) -> bool:
        return self.bound is not None and self.bound >= self.value


LEVELS = ("left out", "weighted days late", "flasks and loads", "overtime", "crucible changes", "idle minutes", "changed flasks")
"""The objectives in their order.

left out: Σ weight × pieces not planned · weighted days late: Σ over jobs of weight × calendar days
from the due date to the day of the last knock-out's end, where later · flasks and loads: Σ cost of
flask sizes and of kiln loads · overtime: Σ over days of the minutes by which the last cast ends
after the latest shift of a caster that day · crucible changes: consecutive casts of a machine on one
day with different families · idle minutes: gaps between consecutive casts of a machine on one day,
less the crucible change where there is one · changed flasks: flasks of the previous plan, not pinned,
that are gone or whose contents, size, machine, cast start or load (its id, kiln, program, start) are another.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """``made_by``: baseline, planner or hand. ``seconds``: how long it took. ``seed``: what makes it
    again with a deterministic limit."""

    flasks: tuple[PlannedFlask, ...] = ()
    loads: tuple[KilnLoad, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    charges: tuple[FlaskCharge, ...] = ()
    orders: tuple[MetalOrder, ...] = ()
    levels: tuple[Level, ...] = ()
    made_by: str = "planner"
    seconds: float = 0.0
    seed: int = 0
    notes: tuple[str, ...] = field(default=())

    def flask(self, flask_id: str) -> PlannedFlask | None:
        return next((f for f in self.flasks if f.id == flask_id), None)

    def load(self, load_id: str) -> KilnLoad | None:
        return next((load for load in self.loads if load.id == load_id), None)
