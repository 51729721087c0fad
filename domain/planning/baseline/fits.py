"""Whether pieces go into one flask, asked many thousand times over: whole numbers only, plain answers kept."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from domain.mould.levels import Boxes, first_fit_height
from domain.mould.tree import TreeSpace, reaches_inside
from domain.planning.problem import PlanJob
from domain.shop.shop import ShopRules


class Room(NamedTuple):
    """Of one flask size: trunk and circle in µm, the trunk with one gap more."""

    trunk: int
    circle: int
    height: int


class Place(NamedTuple):
    """What one piece takes in one size: width and height with their gaps, or the shop's own pieces per tree."""

    width: int
    height: int
    per_tree: int


@dataclass(frozen=True)
class Fits:
    """Trees and temperatures of one problem's jobs."""

    rules: ShopRules
    jobs: Mapping[str, PlanJob]
    spaces: Mapping[str, TreeSpace]
    places: dict[tuple[str, str], Place | None] = field(default_factory=dict)

    @cached_property
    def room(self) -> dict[str, Room]:
        gap = self.rules.ring_gap.base
        return {s: Room(sp.height.base, sp.circle.base, sp.height.base + gap) for s, sp in self.spaces.items()}

    @cached_property
    def ranges(self) -> dict[str, tuple[int, int]]:
        """By job, from which to which thousandth of a degree it is cast."""
        return {j: (job.temperatures.low.millidegrees, job.temperatures.high.millidegrees) for j, job in self.jobs.items()}

    @cached_property
    def metal(self) -> dict[str, int]:
        """mg of one piece with its feed."""
        return {j: job.metal_each.base for j, job in self.jobs.items()}

    def place(self, job: str, size: str) -> Place | None:
        """None where a piece does not go into this size at all."""
        key = (job, size)
        if key not in self.places:
            self.places[key] = self._place(self.jobs[job], size)
        return self.places[key]

    def _place(self, job: PlanJob, size: str) -> Place | None:
        full = job.per_tree.get(size) or 0
        width, height = max(1, (job.size.width + self.rules.piece_gap).base), (job.size.height + self.rules.ring_gap).base
        if not full and (not reaches_inside(job.size, self.spaces[size]) or width > self.room[size].circle):
            return None
        return Place(width, height, full)

    def together(self, jobs: Iterable[str]) -> bool:
        """Whether the jobs share a temperature."""
        spans = [self.ranges[j] for j in jobs]
        return max([low for low, _ in spans], default=0) <= min([high for _, high in spans], default=0)

    def weigh(self, contents: Mapping[str, int]) -> int:
        return sum([self.metal[j] * n for j, n in contents.items()])

    def plainly(self, size: str, contents: Mapping[str, int]) -> bool:
        """Tallest pieces first, each in the first ring that has room. Quick, and now and then too careful."""
        trunk, circle, room = self.room[size]
        boxes: list[Boxes] = []
        surface = 0
        for job, count in contents.items():
            place = self.place(job, size)
            if place is None and count:
                return False
            if place is None or not count:
                continue
            if place.per_tree:
                room -= -(-count * trunk // place.per_tree) + self.rules.ring_gap.base
            else:
                surface += place.width * place.height * count
                boxes.append(Boxes(place.width, place.height, count))
        if trunk <= 0 or room < 0 or surface > circle * room:
            return False
        return first_fit_height(boxes, circle) <= room

    def most_beside(self, size: str, contents: Mapping[str, int], job: str) -> int:
        """No more pieces of a job go in beside these contents, by circle times trunk."""
        trunk, circle, height = self.room[size]
        place = self.place(job, size)
        if place is None or trunk <= 0:
            return 0
        taken = 0
        for other, count in contents.items():
            its = self.place(other, size)
            if its is not None and not its.per_tree:
                taken += its.width * its.height * count
        left = circle * height - taken
        return max(0, left) // (place.width * place.height) if not place.per_tree else (10**9 if left >= 0 else 0)

    def hopeless(self, size: str, contents: Mapping[str, int]) -> bool:
        """Whether the pieces need more of circle times trunk than there is, whatever the rings."""
        trunk, circle, height = self.room[size]
        share = 0
        for job, count in contents.items():
            place = self.place(job, size)
            if place is None:
                return count > 0
            share += 0 if place.per_tree else place.width * place.height * count
        return trunk <= 0 or share > circle * height
