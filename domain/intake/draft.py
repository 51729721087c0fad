"""The draft of a job: what one row of a list says, all but its number."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date

from domain.shop.alloy import Alloy, Section
from domain.shop.jobs import Job
from domain.shop.pattern import PatternMaterial, PieceSize
from domain.units import Mass, Volume


@dataclass(frozen=True, slots=True, kw_only=True)
class Vocabulary:
    """What the shop knows: its alloys and pattern materials, the day, saved jobs by number, and the
    lots of customers' own metal by job number."""

    alloys: tuple[Alloy, ...]
    materials: tuple[PatternMaterial, ...]
    today: date
    known: Mapping[str, Job] = field(default_factory=dict)
    own_lots: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A job but for its number. ``held``: why it is not to be taken in yet. ``ready_typed``: whether
    the list says when the patterns are there."""

    customer: str
    item: str
    alloy: str
    quantity: int
    weighed: Mass | None
    volume: Volume | None
    size: PieceSize
    due: date
    ready: date
    ready_typed: bool
    material: str
    section: Section
    weight: int
    may_split: bool
    own_metal: bool
    own_lots: Mapping[str, str]
    held: str
    notes: str

    def job(self, job_id: str) -> Job:
        return Job(
            id=job_id,
            customer=self.customer,
            item=self.item,
            alloy=self.alloy,
            section=self.section,
            material=self.material,
            quantity=self.quantity,
            pattern_mass=self.weighed,
            metal_volume=self.volume,
            size=self.size,
            ready=self.ready.isoformat(),
            due=self.due.isoformat(),
            weight=self.weight,
            may_split=self.may_split,
            own_metal=self.own_lots.get(job_id) if self.own_metal else None,
            notes=self.notes,
        )

    def same_as(self, job: Job, saved: Job) -> bool:
        """Whether a saved job says the same; a day of readiness that the list does not give is left aside."""
        ready = job.ready if self.ready_typed else saved.ready
        return replace(job, ready=ready, per_tree=saved.per_tree) == saved
