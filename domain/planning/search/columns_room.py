"""The rows of a week's program that count what its days have room for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from domain.planning.search.columns_days import TURNS, Room
from domain.planning.search.columns_families import Family
from domain.planning.search.columns_lp import Programme
from domain.units import Mass

SPAN = 4
"""Days between which room is counted together."""
ROUNDED = 3
"""Milligrams by which the charge of a flask may be rounded."""


@dataclass(frozen=True)
class RoomRows:
    """``flasks``: by family, day and size. ``tiers``: loads by day and least minutes of their program."""

    model: Programme
    room: Room
    families: Sequence[Family]
    flasks: Mapping[tuple[int, int, str], int]
    tiers: Mapping[tuple[int, int], int]

    def add(self, pieces: Mapping[tuple[int, int, str], Mapping[str, int]]) -> None:
        """``pieces``: by flask's key and job."""
        by_day: dict[int, list[int]] = defaultdict(list)
        by_size: dict[str, dict[int, list[int]]] = defaultdict(lambda: defaultdict(list))
        for (_, day, size), v in self.flasks.items():
            by_day[day].append(v)
            by_size[size][day].append(v)
        for first, last in self._spans():
            self._row(self.room.casts(first, last), first, last, by_day)
            for size, mine in by_size.items():
                self._owned(size, first, last, mine)
            for minutes in {m for _, m in self.tiers}:
                loads = {d: [v] for (d, m), v in self.tiers.items() if m == minutes}
                self._row(self.room.loads(minutes, first, last), first, last, loads)
        for last in sorted(by_day):
            self._row(self.room.invested(last), 0, last, by_day)
            if (fresh := self.room.fresh(last)) is not None:
                self._row(fresh, last, last, by_day)
        for melt in {f.melt for f in self.families}:
            self._metal(melt, pieces)

    def _spans(self) -> Iterator[tuple[int, int]]:
        days = sorted({d for _, d, _ in self.flasks})
        yield from ((a, b) for a in days for b in days if a <= b < a + SPAN)
        yield from ((days[0], b) for b in days if b >= days[0] + SPAN)

    def _row(self, most: int, first: int, last: int, by_day: Mapping[int, Sequence[int]]) -> None:
        some = [v for d, mine in by_day.items() if first <= d <= last for v in mine]
        if some:
            self.model.row(dict.fromkeys(some, 1.0), high=most)

    def _owned(self, size: str, first: int, last: int, by_day: Mapping[int, Sequence[int]]) -> None:
        known = self.room.trees.problem.size[size]
        turns = self.room.flask_turns(known.burnout_minutes, first, last)
        if turns < TURNS:
            self._row(turns * known.owned, first, last, by_day)

    def _metal(self, melt: str, pieces: Mapping[tuple[int, int, str], Mapping[str, int]]) -> None:
        """Charges cast for certain before new metal comes, in grams."""
        known, trees = self.room.trees.problem.melt[melt], self.room.trees
        until = known.order_from if known.order_from is not None else trees.problem.end
        hold = trees.problem.rules.hot_hold_minutes
        terms: dict[int, float] = {}
        for (index, day, size), v in self.flasks.items():
            if self.families[index].melt == melt and self.room.last[day] + hold < until:
                empty = trees.charge_of(melt, size, Mass(0)).base - ROUNDED
                terms[v] = max(0, empty) / 1000
                for j, piece in pieces[index, day, size].items():
                    terms[piece] = trees.problem.job[j].metal_each.base / 1000
        if terms:
            self.model.row(terms, high=known.stock_castable.base / 1000)
