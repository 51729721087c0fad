"""From a first plan to a good one: small weeks solved whole, larger ones by freeing a few loads at a time.

The plan in hand is only ever changed for one that is better at the first level that differs.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import count

from domain.planning.baseline.trees import Trees
from domain.planning.measure import measure, values
from domain.planning.plan import LEVELS, KilnLoad, Level, Plan
from domain.planning.problem import Problem
from domain.planning.search.anew import Anew
from domain.planning.search.bounds import most_slots, possible
from domain.planning.search.columns_start import Starts
from domain.planning.solver.case import Case, around, whole
from domain.planning.solver.model import OBJECTIVES, SEQUENCED, Effort, Solved, solve
from domain.saying import say

WHOLE = 14
"""Flasks up to which a whole week is one case."""
FREE = 7
"""Flasks of a neighbourhood whose trees are free; the others in its loads only move."""
TOGETHER = 22
"""Flasks in a neighbourhood's loads."""
ANEW = 0.75
"""Share of the time left in which flasks are put together anew."""
DAYS = 0.12
"""Share of the time for the order of each day's casts, at the end."""
START = 0.07
"""Share of the time in which other plans to begin with are made."""
STARTS = 6
"""Of them, for each second of a deterministic limit."""
PATTERNED = 0.05
"""What a plan by patterns counts of a deterministic limit."""
PATTERNS = 350
"""Jobs above which filling flasks by patterns takes too long."""
OTHERWISE = 80
"""Jobs above which filling them in many ways takes too long."""
STEPS = 120
"""Changes for each second of a deterministic limit."""
OVERHEAD = 0.2
"""What building a model counts of a deterministic limit, which the solver does not see."""
TRIES = 60
"""Neighbourhoods without a better plan, after which there is probably none."""


@dataclass
class Search:
    """``better`` is told of every better plan. ``seconds`` count for everything together."""

    trees: Trees
    plan: Plan
    effort: Effort
    better: Callable[[str, Plan], None]
    spent: float = 0.0
    began: float = field(default_factory=time.monotonic)
    bounds: dict[str, int] = field(default_factory=dict)

    @cached_property
    def rng(self) -> random.Random:
        return random.Random(self.effort.seed)

    @property
    def problem(self) -> Problem:
        return self.trees.problem

    def run(self, least: dict[str, int]) -> Plan:
        """The best plan found; ``least``: bounds already known, which end the search where they are met."""
        self._patterns(least)
        few = len(self.plan.flasks) - len(self._fixed) <= WHOLE
        case = whole(self.trees, self.plan, WHOLE, most_slots(self.trees, self.plan)) if few else None
        if case is not None and case.holds_incumbent() and not self._finished(least):
            self._whole(case)
        if not self._proven():
            self._starts(least)
            self._anew(least, 0)
            self._all_loads()
            for again in count(1):
                if not self._neighbourhoods(least):
                    break
                self._anew(least, again)
            self._days()
        return replace(self.plan, levels=tuple(self._with_bound(level) for level in self.plan.levels))

    def _with_bound(self, level: Level) -> Level:
        bound = self.bounds.get(level.name)
        return level if bound is None else replace(level, bound=min(bound, level.value))

    def _whole(self, case: Case) -> None:
        """One case for the week. Its bounds hold for the week up to the first level that it did not prove."""
        solved = solve(case, self._share(0.6))
        self._take(solved, say("solving the whole week"))
        if solved.exact and solved.plan is not None:
            self._hold_bounds(solved)

    def _hold_bounds(self, solved: Solved) -> None:
        """A level's bound was worked out given the values of the levels before it: it holds for as long as
        these are proven."""
        proven = True
        for level in self.plan.levels[: len(OBJECTIVES)]:
            if proven:
                self.bounds[level.name] = solved.bounds[level.name]
            proven = proven and solved.bounds[level.name] >= level.value

    def _proven(self) -> bool:
        return all(self.bounds.get(level.name, -1) >= level.value for level in self.plan.levels[: len(OBJECTIVES)])

    def _patterns(self, least: dict[str, int]) -> None:
        """Each melt's cheapest flasks, which are a good beginning where the days are roomy."""
        starts = self._other_starts(least, PATTERNS)
        for plan in starts.by_patterns(dict.fromkeys(starts.wanted, 0)) if starts and not self._finished(least) else ():
            self.spent += PATTERNED
            self._take_plan(plan, say("filling flasks by patterns"))

    def _starts(self, least: dict[str, int]) -> None:
        """Other plans to begin with."""
        starts = self._other_starts(least, OTHERWISE)
        for plan in starts.plans(self.plan.levels[1].value) if starts else ():
            self.spent += 1 / STARTS
            self._take_plan(plan, say("filling flasks in other ways"))

    def _other_starts(self, least: dict[str, int], most: int) -> Starts | None:
        """Where nobody has read a plan, everything that can be is planned, and no more than ``most`` jobs are asked for."""
        wanted = possible(self.trees)
        until = self._left() * (1 - START)
        if until <= 0 or self.problem.previous or not 0 < len(wanted) <= most or self.plan.levels[0].value > least["left out"]:
            return None
        return Starts(self.trees, wanted, random.Random(self.effort.seed), lambda: self._left() <= until)

    def _anew(self, least: dict[str, int], again: int) -> None:
        """Flasks taken out and put back in other ways, for most of the time; each time ``again`` in others."""
        whole = self._left() * ANEW
        if whole <= 0:
            return
        anew = Anew.of(self.trees, self.plan, self.effort.seed + again, steps=self.effort.deterministic)
        steps, until = int(whole * STEPS), self._left() - whole
        for n in range(steps) if self.effort.deterministic else count():
            if self._left() < until or self._finished(least):
                break
            if anew.step(n / steps if self.effort.deterministic else 1 - (self._left() - until) / whole):
                self._take_plan(anew.plan(), say("putting flasks together anew"))

    def _all_loads(self) -> None:
        """Where the loads are not too many, all trees are free once."""
        free = [f for f in self.plan.flasks if f.id not in self._fixed]
        if 0 < len(free) <= 2 * FREE:
            self._free_loads([x.id for x in self._loads], say("trying all trees anew"), frozenset(f.id for f in free), 0.35)

    def _neighbourhoods(self, least: dict[str, int]) -> bool:
        """Whether there is time left for other things, because none of them was better for long."""
        tries = 0
        while tries < TRIES:
            loads = self._pick_loads(self.rng)
            share = min(0.2, self._left() / self.effort.seconds - DAYS)
            if not loads or share <= 0 or self._finished(least, upto=3):
                return False
            free = self._pick_flasks(self.rng, loads)
            tries = 0 if self._free_loads(loads, say("trying some loads anew"), free, share) else tries + 1
        return True

    def _pick_loads(self, rng: random.Random) -> list[str]:
        """One load and those nearest to it in time, as many as are not too much together."""
        if not self._loads:
            return []
        late = [x for x in self._loads if self._is_late(x)]
        first = rng.choice(late if late and rng.random() < 0.5 else self._loads)
        wanted = rng.choice([1, 2, 2, 3, 3, 4])
        near = sorted(self._loads, key=lambda x: (abs(x.start - first.start) * rng.uniform(0.3, 1.0), x.id))
        near.remove(first)
        chosen, count = [first], len(first.flasks)
        for load in near:
            if len(chosen) < wanted and count + len(load.flasks) <= TOGETHER:
                chosen.append(load)
                count += len(load.flasks)
        return [x.id for x in chosen]

    def _is_late(self, load: KilnLoad) -> bool:
        due = {
            j: self.problem.job[j].due for f in self.plan.flasks if f.load == load.id for j in f.contents if j in self.problem.job
        }
        ends = max((f.knockout_end for f in self.plan.flasks if f.load == load.id), default=0)
        return any(self.problem.clock.day_of(ends).isoformat() > day for day in due.values())

    def _pick_flasks(self, rng: random.Random, loads: Sequence[str]) -> frozenset[str]:
        """Flasks whose trees are free: of one melt after another, as long as they are few."""
        inside = [f for f in self.plan.flasks if f.load in loads]
        melts = list(dict.fromkeys(f.melt for f in inside))
        rng.shuffle(melts)
        free: list[str] = []
        for melt in melts:
            mine = [f.id for f in inside if f.melt == melt]
            if len(mine) > FREE:
                mine = rng.sample(mine, FREE)
            if len(free) + len(mine) <= FREE:
                free += mine
        return frozenset(free)

    def _days(self) -> None:
        """The order of casts of each day, with the trees as they are."""
        days = {self.problem.clock.day_of(f.cast_start) for f in self.plan.flasks if f.id not in self._fixed}
        for day in sorted(days):
            if self._left() <= 0 or not any(self.plan.levels[n].value for n in (3, 4, 5)):
                return
            flasks = [f for f in self.plan.flasks if self.problem.clock.day_of(f.cast_start) == day and f.id not in self._fixed]
            loads = list(dict.fromkeys(f.load for f in flasks))
            inside = [f for f in self.plan.flasks if f.load in loads]
            if 1 < len(inside) <= TOGETHER:
                share = 1 / max(1, len(days))
                self._free_loads(loads, say("ordering the casts of each day"), frozenset(), share, upto=6)

    def _free_loads(self, loads: Sequence[str], stage: str, free: frozenset[str], share: float, upto: int = 3) -> bool:
        """Solves the loads anew beside everything else; whether that made the plan better."""
        problem = self.problem
        frozen = replace(
            problem,
            fixed_flasks=tuple(f for f in self.plan.flasks if f.load not in loads),
            fixed_loads=tuple(x for x in self.plan.loads if x.id not in loads),
        )
        lacking = self.plan.levels[0].value > 0 or self.plan.levels[1].value > 0
        case = around(self.trees.beside(frozen), self.plan, spare=1 if lacking and upto <= 3 else 0, reserved=self._names())
        kept = frozenset(f.id for f in case.free_flasks) - free
        return self._take(solve(case, self._share(share), upto=upto, kept=kept), stage, first=upto)

    def _take(self, solved: Solved, stage: str, first: int = len(LEVELS)) -> bool:
        """Takes a plan that is better. One that was only solved through the ``first`` levels and is better
        at none of them is not looked at."""
        self.spent += solved.spent + OVERHEAD
        return solved.plan is not None and self._take_plan(solved.plan, stage, first)

    def _take_plan(self, found: Plan, stage: str, first: int = len(LEVELS)) -> bool:
        plan = replace(found, levels=measure(self.problem, found))
        old, new = values(self.plan.levels), values(plan.levels)
        if new >= old or (first < SEQUENCED and new[:first] == old[:first]):
            return False
        self.plan = plan
        self.better(stage, plan)
        return True

    def _share(self, share: float) -> Effort:
        seconds = max(0.05, min(self._left(), share * self.effort.seconds))
        return replace(self.effort, seconds=seconds)

    def _left(self) -> float:
        if self.effort.should_stop and self.effort.should_stop():
            return 0.0
        spent = self.spent if self.effort.deterministic else time.monotonic() - self.began
        return self.effort.seconds - spent

    def _finished(self, least: dict[str, int], upto: int = len(LEVELS)) -> bool:
        return all(level.value <= least.get(level.name, 0) for level in self.plan.levels[:upto])

    @property
    def _fixed(self) -> set[str]:
        return {f.id for f in self.problem.fixed_flasks}

    @property
    def _loads(self) -> list[KilnLoad]:
        fixed = {x.id for x in self.problem.fixed_loads}
        return [x for x in self.plan.loads if x.id not in fixed]

    def _names(self) -> frozenset[str]:
        return frozenset(f.id for f in self.plan.flasks) | frozenset(x.id for x in self.plan.loads)
