"""Flasks by patterns: everything is in some flask that holds it, and of few jobs nothing is cheaper."""

import random
from collections import Counter
from dataclasses import replace
from types import ModuleType

from domain.planning.baseline.groups import Groups
from domain.planning.baseline.hours import Hours
from domain.planning.baseline.trees import Trees
from domain.planning.problem import Problem
from domain.planning.search.patterns import Pattern, Patterns


def by_melt(week: Problem) -> dict[str, dict[str, int]]:
    found: dict[str, dict[str, int]] = {}
    for job in week.jobs:
        found.setdefault(job.melt, {})[job.id] = job.quantity
    return found


def filled(week: Problem, melt: str, wanted: dict[str, int]) -> list[Pattern]:
    flasks = Patterns(Trees(week), melt, wanted, lambda: False).flasks()
    assert flasks is not None
    return flasks


def test_every_piece_is_in_one_flask_that_holds_it_and_what_may_not_be_split_is_in_one(studio: ModuleType) -> None:
    week = studio.studio(4, 25)
    rng = random.Random(4)
    week = replace(week, jobs=tuple(replace(j, may_split=rng.random() < 0.5) for j in week.jobs))
    trees = Trees(week)
    for melt, jobs in by_melt(week).items():
        wanted = {j: n for j, n in jobs.items() if any(trees.fits(melt, s.id, {j: n}) for s in trees.usable_sizes(melt))}
        flasks = filled(week, melt, wanted)
        assert all(trees.fits(melt, f.size, dict(f.contents)) for f in flasks)
        inside = Counter[str]()
        for flask in flasks:
            inside.update(dict(flask.contents))
        assert inside == wanted
        for j in wanted:
            assert week.job[j].may_split or sum(j in dict(f.contents) for f in flasks) == 1


def test_patterns_cost_no_more_than_flasks_filled_first_come_first_served(studio: ModuleType) -> None:
    for seed in range(3):
        week = studio.studio(seed, 30)
        trees = Trees(week)
        for melt, wanted in by_melt(week).items():
            by_hand, left = Groups(trees, Hours(week), quick=False).drafts(wanted)
            assert left == {}
            cost = sum(week.size[f.size].cost for f in filled(week, melt, wanted))
            assert cost <= sum(week.size[d.size].cost for d in by_hand)


def test_there_is_no_answer_where_nobody_waits(studio: ModuleType) -> None:
    week = studio.studio(1, 5)
    melt, wanted = next(iter(by_melt(week).items()))
    assert Patterns(Trees(week), melt, wanted, lambda: True).flasks() is None
