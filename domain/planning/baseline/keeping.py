"""A timetable that people have read: what comes new finds its place with as few of its flasks changed as may be."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cached_property
from typing import ClassVar

from domain.planning.baseline.beside import squeezed_in, still_free, with_flask
from domain.planning.baseline.drafts import Draft, Ride, Timed, draft
from domain.planning.baseline.schedule import Placing, Schedule
from domain.planning.baseline.times import Timetable
from domain.planning.baseline.trees import Trees, suits
from domain.planning.problem import PlanDay
from domain.shop.burnout import Kiln


class Beside(Schedule):
    """Scores are weighted days late, flasks changed that people have read, cost, casting day."""

    harm: ClassVar[int] = 2

    @classmethod
    def of(cls, trees: Trees, *, patient: bool = False) -> Beside:
        plain = Schedule.of(trees, patient=patient)
        return cls(trees, Timetable.of(trees.problem), patient, taken_ids=plain.taken_ids)

    @cached_property
    def read(self) -> frozenset[str]:
        """Names of the flasks that people have read of."""
        previous = self.problem.previous
        return frozenset(f.id for f in previous.flasks) if previous else frozenset()

    def put_back(self, load_id: str, kept: Ride, timed: Timed) -> bool:
        """A flask that was taken out, back where it was; ``kept``: its load as it was."""
        ride = self.rides.get(load_id)
        if ride is None:
            return self._load_back(kept, timed)
        if not self._room(timed.draft, ride, self.problem.kiln[ride.kiln]) or not still_free(self.table, ride, timed):
            return False
        self.take_out(load_id)
        self.put_in(with_flask(ride, timed))
        return True

    def _load_back(self, kept: Ride, timed: Timed) -> bool:
        """The load was emptied and is begun again, where the kiln is free still."""
        last = timed.cast_start + self.problem.kiln[kept.kiln].cooldown_minutes
        if self.table.kiln_clash(kept.kiln, kept.load_at, last) is not None:
            return False
        alone = kept._replace(flasks=(timed,))
        if not still_free(self.table, alone, timed):
            return False
        self.put_in(alone)
        return True

    def _best(self, flask: Draft) -> Placing | None:
        """The gaps first; loads timed anew and loads of its own where no gap serves as well."""
        found = [p for ride in self.rides.values() if (p := self._gap(flask, ride))]
        if not any(p.score[0] <= 0 for p in found):
            found += self._new_loads(flask)
        if not any(p.score[0] <= 0 for p in found):
            found += self._topped_up(flask)
            found += [p for ride in list(self.rides.values()) if (p := self._join(flask, ride))]
        return min(found, key=lambda p: p.score, default=None)

    def _gap(self, flask: Draft, ride: Ride) -> Placing | None:
        if not self._room(flask, ride, self.problem.kiln[ride.kiln]):
            return None
        joined = squeezed_in(self.table, ride, flask)
        if joined is None:
            return None
        return Placing((self.late(joined) - self.late(ride), 0, self._cost(flask), self._day(joined)), joined, ride)

    def _join(self, flask: Draft, ride: Ride) -> Placing | None:
        placing = super()._join(flask, ride)
        if placing is None:
            return None
        late, cost, day = placing.score
        return placing._replace(score=(late, self._changed(ride, placing.ride), cost, day))

    def _alone(self, flask: Draft, kiln: Kiln, program: str, day: PlanDay) -> Placing | None:
        placing = super()._alone(flask, kiln, program, day)
        if placing is None:
            return None
        late, cost, when = placing.score
        return placing._replace(score=(late, 0, cost, when))

    def _topped_up(self, flask: Draft) -> Iterator[Placing]:
        """The pieces in a flask that is there already: that flask is read anew, no other."""
        for ride in self.rides.values():
            for timed in ride.flasks:
                fuller = self._fuller(ride, timed, flask) if timed.draft.melt == flask.melt else None
                if fuller is not None:
                    new = ride._replace(flasks=tuple(fuller if f is timed else f for f in ride.flasks))
                    changed = int(timed.draft.id in self.read)
                    yield Placing((self.late(new) - self.late(ride), changed, 0, self._day(new)), new, ride)

    def _fuller(self, ride: Ride, timed: Timed, flask: Draft) -> Timed | None:
        old = timed.draft
        contents = {j: old.pieces.get(j, 0) + flask.pieces.get(j, 0) for j in {**old.pieces, **flask.pieces}}
        return self.refilled(ride, timed, contents)

    def refilled(self, ride: Ride, timed: Timed, contents: dict[str, int]) -> Timed | None:
        """The flask with other contents at the same time; none where that does not go."""
        old = timed.draft
        if not self.trees.fits(old.melt, old.size, contents):
            return None
        new = draft(self.trees, old.id, old.melt, old.size, contents)
        kinds = self.trees.investments_for(old.melt, contents, old.size)
        if new is None or old.investment not in kinds or new.ready > timed.invest_start or timed.machine not in new.machines:
            return None
        new = replace(new, investment=old.investment, need=self.trees.need(old.size, old.investment, contents))
        within = new.low <= timed.temperature <= new.high and suits(self.problem.program[ride.program], new.need)
        return timed._replace(draft=new) if within and self._metal(timed, new) else None

    def _metal(self, timed: Timed, new: Draft) -> bool:
        if not self.table.from_shelf(new.melt, timed.cast_start):
            return True
        more = new.charge - timed.draft.charge
        return self.table.charged[new.melt] + more <= self.problem.melt[new.melt].stock_castable.base

    def _changed(self, before: Ride, after: Ride) -> int:
        """Flasks of a load that people would have to read again."""
        moved = (before.start, before.program) != (after.start, after.program)
        slots = {f.draft.id: (f.machine, f.cast_start) for f in after.flasks}
        mine = [f for f in before.flasks if f.draft.id in self.read]
        return sum(moved or slots.get(f.draft.id) != (f.machine, f.cast_start) for f in mine)
