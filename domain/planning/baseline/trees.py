"""What fits a flask: trees, charges and temperatures, asked over and over by everybody who plans."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import NamedTuple, TypeAlias

from domain.metallurgy.pattern_metal import planned_charge
from domain.mould.floor import Standing, rows_on_floor
from domain.mould.ring import Ring
from domain.mould.rings import TreePiece, fits_tree, pack_rings
from domain.mould.tree import TreeSpace, tree_space
from domain.planning.baseline.fits import Fits
from domain.planning.problem import PlanJob, Problem
from domain.shop.alloy import Bond
from domain.shop.burnout import BurnoutProgram, Kiln
from domain.shop.casting import CastingMachine
from domain.shop.flask import FlaskSize
from domain.units import Mass, TemperatureRange

Contents: TypeAlias = Mapping[str, int]
"""How many pieces of each job, by job id."""


class Need(NamedTuple):
    """What a flask asks of its burnout: the least time and peak, the peak its investment bears, and
    what binds that."""

    minutes: int
    peak: int
    not_above: int
    bond: Bond


@dataclass(frozen=True)
class Trees:
    """Answers about one problem; keeps what it has worked out."""

    problem: Problem

    @cached_property
    def _spaces(self) -> dict[str, TreeSpace]:
        return {s.id: tree_space(s, self.problem.rules) for s in self.problem.shop.sizes}

    @cached_property
    def _most_metal(self) -> dict[tuple[str, str, str], int]:
        return {}

    @cached_property
    def _tree_answers(self) -> dict[tuple[str, tuple[tuple[str, int], ...]], bool]:
        return {}

    def beside(self, problem: Problem) -> Trees:
        """The same for a problem that differs only in what is fixed; what is worked out is shared."""
        other = Trees(problem)
        other.__dict__.update(self._kept)
        return other

    @property
    def _kept(self) -> dict[str, object]:
        return {
            "_spaces": self._spaces,
            "_most_metal": self._most_metal,
            "_tree_answers": self._tree_answers,
            "_floor_answers": self._floor_answers,
            "_heaviest": self._heaviest,
            "quick": self.quick,
        }

    def space(self, size: str) -> TreeSpace:
        return self._spaces[size]

    def machines(self, melt: str, size: str) -> tuple[CastingMachine, ...]:
        """The machines that melt this and take flasks of this size."""
        known = self.problem.melt[melt].machines
        return tuple(m for m in self.problem.shop.machines if m.id in known and m.in_service and size in m.fits)

    def most_metal(self, melt: str, size: str, machine: str) -> Mass:
        """The most that pieces with their feeds may weigh, so that the charge fits the crucible by mass
        and by volume; −1 mg where not even an empty tree fits."""
        key = (melt, size, machine)
        if key not in self._most_metal:
            self._most_metal[key] = self._search_most(*key)
        return Mass(self._most_metal[key])

    def _search_most(self, melt: str, size: str, machine: str) -> int:
        limit = self.problem.machine[machine]
        density = self.problem.melt[melt].alloy.density
        low, high = -1, limit.crucible_mass.base + 1
        while high - low > 1:
            middle = (low + high) // 2
            charge = self.charge_of(melt, size, Mass(middle))
            fits = charge <= limit.crucible_mass and density.volume_of(charge) <= limit.crucible_volume
            low, high = (middle, high) if fits else (low, middle)
        return low

    def charge_of(self, melt: str, size: str, pieces: Mass) -> Mass:
        alloy = self.problem.melt[melt].alloy
        return planned_charge(pieces, self.problem.size[size], self.problem.rules, alloy.density, alloy.melt_loss)

    def pieces_metal(self, contents: Contents) -> Mass:
        return Mass(self.quick.weigh(contents))

    def charge(self, melt: str, size: str, contents: Contents) -> Mass:
        return self.charge_of(melt, size, self.pieces_metal(contents))

    def machines_for(self, melt: str, size: str, contents: Contents) -> tuple[str, ...]:
        """The machines whose crucible holds the charge."""
        metal = self.pieces_metal(contents)
        return tuple(m.id for m in self.machines(melt, size) if metal <= self.most_metal(melt, size, m.id))

    def _tree_pieces(self, size: str, contents: Contents) -> list[TreePiece]:
        jobs = [(self.problem.job[j], n) for j, n in sorted(contents.items()) if n]
        return [TreePiece(j.id, j.size, n, j.metal_each, j.per_tree.get(size) or None) for j, n in jobs]

    @cached_property
    def quick(self) -> Fits:
        return Fits(self.problem.rules, self.problem.job, self._spaces)

    def fits_tree(self, size: str, contents: Contents) -> bool:
        """Whether rings are found; the answer for the same contents is kept."""
        if self.quick.plainly(size, contents):
            return True
        space = self.space(size)
        if self.quick.hopeless(size, contents):
            return False
        key = (size, tuple(sorted((j, n) for j, n in contents.items() if n)))
        if key not in self._tree_answers:
            self._tree_answers[key] = fits_tree(self._tree_pieces(size, contents), space, self.problem.rules)
        return self._tree_answers[key]

    def rings(self, size: str, contents: Contents) -> tuple[Ring, ...] | None:
        packed = pack_rings(self._tree_pieces(size, contents), self.space(size), self.problem.rules)
        return tuple(sorted(packed, key=self._mean_metal, reverse=True)) if packed is not None else None

    def _mean_metal(self, ring: Ring) -> Fraction:
        count = sum(n for _, n in ring.pieces)
        return Fraction(sum(self.problem.job[j].metal_each.base * n for j, n in ring.pieces), count)

    def temperatures(self, contents: Contents) -> TemperatureRange | None:
        """The range that all the pieces share."""
        return common_range(self.problem.job[j] for j, n in contents.items() if n)

    def fits(self, melt: str, size: str, contents: Contents) -> bool:
        """Whether one flask of this size may hold all this: one melt, temperatures, tree, charge."""
        return self._goes(melt, size, contents) and self.fits_tree(size, contents)

    def plainly(self, melt: str, size: str, contents: Contents) -> bool:
        """``fits``, as a caster sees it at once: tallest pieces first, each where there is room."""
        return self._goes(melt, size, contents) and self.quick.plainly(size, contents)

    def most_beside(self, melt: str, size: str, contents: Contents, job: str) -> int:
        """No more pieces of a job go in beside these contents, which it is not among: by crucible, temperature, and
        circle times trunk."""
        metal = (self.heaviest(melt, size) - self.quick.weigh(contents)) // max(1, self.quick.metal[job])
        if metal < 1 or not self.quick.together([job, *contents]):
            return 0
        return min(metal, self.quick.most_beside(size, contents, job))

    def _goes(self, melt: str, size: str, contents: Contents) -> bool:
        """Whether a crucible holds the charge, and the pieces share a temperature."""
        return self.quick.weigh(contents) <= self.heaviest(melt, size) and self.quick.together(j for j, n in contents.items() if n)

    def heaviest(self, melt: str, size: str) -> int:
        """The most mg that pieces with their feeds may weigh on any machine; −1 where there is none."""
        key = (melt, size)
        if key not in self._heaviest:
            self._heaviest[key] = max([self.most_metal(melt, size, m.id).base for m in self.machines(melt, size)], default=-1)
        return self._heaviest[key]

    @cached_property
    def _heaviest(self) -> dict[tuple[str, str], int]:
        return {}

    def need(self, size: str, investment: str, contents: Contents) -> Need:
        jobs = [self.problem.job[j] for j, n in contents.items() if n and j in self.problem.job]
        kind = self.problem.investment[investment]
        minutes = max([self.problem.size[size].burnout_minutes, *(j.burnout_minutes for j in jobs)])
        peak = max([j.burnout_peak.millidegrees for j in jobs], default=0)
        return Need(minutes, peak, kind.peak.millidegrees, kind.bond)

    def usable_sizes(self, melt: str) -> tuple[FlaskSize, ...]:
        """Sizes that the shop owns, a machine takes, some kiln holds and some program burns out, cheapest first."""
        sizes = [s for s in self.problem.shop.sizes if s.owned > 0 and self.machines(melt, s.id) and self.kilns_for(s.id)]
        return tuple(sorted(sizes, key=lambda s: (s.cost, s.inner_diameter, s.height, s.id)))

    def kilns_for(self, size: str) -> tuple[Kiln, ...]:
        """Kilns in service whose chamber holds at least one flask of this size."""
        return tuple(k for k in self.problem.shop.kilns if k.in_service and self.stand({size: 1}, k) is not None)

    @cached_property
    def _floor_answers(self) -> dict[tuple[str, tuple[tuple[str, int], ...]], tuple[tuple[str, ...], ...] | None]:
        return {}

    def stand(self, counts: Contents, kiln: Kiln) -> tuple[tuple[str, ...], ...] | None:
        """Rows of size ids on the kiln's floor; none where they do not all fit."""
        key = (kiln.id, tuple(sorted((s, n) for s, n in counts.items() if n)))
        if key not in self._floor_answers:
            self._floor_answers[key] = rows_on_floor([self._standing[s] for s, n in key[1] for _ in range(n)], kiln)
        return self._floor_answers[key]

    @cached_property
    def _standing(self) -> dict[str, Standing]:
        return {s.id: Standing(s.id, s.outer_diameter, s.height) for s in self.problem.shop.sizes}

    def programs_for(self, kiln: Kiln, needs: Iterable[Need]) -> list[BurnoutProgram]:
        """The programs that burn all these out in this kiln, shortest first."""
        wanted = frozenset(needs)
        if (kiln.id, wanted) not in self._programs:
            self._programs[kiln.id, wanted] = [p for p in self._runs(kiln) if all(suits(p, need) for need in wanted)]
        return self._programs[kiln.id, wanted]

    @cached_property
    def _programs(self) -> dict[tuple[str, frozenset[Need]], list[BurnoutProgram]]:
        return {}

    def _runs(self, kiln: Kiln) -> list[BurnoutProgram]:
        """What the kiln can run, shortest first."""
        if kiln.id not in self._running:
            mine = [p for p in self.problem.shop.programs if runs(kiln, p)]
            self._running[kiln.id] = sorted(mine, key=lambda p: (p.minutes, p.id))
        return self._running[kiln.id]

    @cached_property
    def _running(self) -> dict[str, list[BurnoutProgram]]:
        return {}

    def investments_for(self, melt: str, contents: Contents, size: str) -> tuple[str, ...]:
        """Kinds of investment that suit the melt and that some kiln's program can burn out, best first."""
        return tuple(
            i
            for i in self.problem.melt[melt].investments
            if any(self.programs_for(k, [self.need(size, i, contents)]) for k in self.kilns_for(size))
        )


def common_range(jobs: Iterable[PlanJob]) -> TemperatureRange | None:
    shared: TemperatureRange | None = None
    for index, job in enumerate(jobs):
        shared = job.temperatures if index == 0 or shared is None else shared.intersection(job.temperatures)
        if shared is None:
            return None
    return shared


def suits(program: BurnoutProgram, need: Need) -> bool:
    """Long and hot enough, not too hot, and written for this bond."""
    peak = program.peak.millidegrees
    return program.minutes >= need.minutes and need.peak <= peak <= need.not_above and need.bond in program.bonds


def runs(kiln: Kiln, program: BurnoutProgram) -> bool:
    """Whether the kiln reaches the program's peak and follows its ramps. The first ramp starts from
    the temperature of the room, taken as 20 °C (common practice, no source)."""
    if program.peak > kiln.top_temperature or not program.segments:
        return False
    at = 20_000
    for segment in program.segments:
        rise = segment.target.millidegrees - at
        if rise > 0 and rise * 60 > kiln.fastest_ramp * 1000 * segment.ramp_minutes:
            return False
        at = segment.target.millidegrees
    return True
