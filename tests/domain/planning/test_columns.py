"""What flasks and loads cost at least is never more than what some plan costs."""

import importlib.util
import itertools
import random
import sys
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import pytest

from domain.mould.floor import fits_floor
from domain.mould.levels import Boxes, fits_height
from domain.planning.baseline.trees import Trees
from domain.planning.check import check
from domain.planning.explain.reasons import left_out
from domain.planning.manager import plan_by_hand
from domain.planning.plan import LEVELS, Level, Plan
from domain.planning.problem import Problem
from domain.planning.search import columns
from domain.planning.search.bounds import week_bounds
from domain.planning.search.columns import Aim, Limits, least, least_cost
from domain.planning.search.columns_days import NEVER, Days, Room, with_crew
from domain.planning.search.columns_loads import full_loads
from domain.planning.search.columns_start import Starts
from domain.planning.search.columns_trees import Item, Trunk, good_worths, most_worth
from domain.stock.week_charges import WeekCharges
from domain.units import Mass
from domain.week import answer
from domain.week.answer import plan_week
from domain.week.build import problem_of


@pytest.fixture(scope="module")
def tiny() -> ModuleType:
    path = Path(__file__).resolve().parents[2] / "benchmarks" / "tiny.py"
    spec = importlib.util.spec_from_file_location("benchmark_tiny_weeks", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def everything(week: Problem) -> dict[str, int]:
    return {j.id: j.quantity for j in week.jobs}


def test_no_tiny_week_costs_less_than_its_bound(studio: ModuleType, tiny: ModuleType, long_slices: bool) -> None:
    compared = met = 0
    for seed in range(200 if long_slices else 50):
        week = tiny.tiny_week(studio, seed)
        try:
            best = tiny.EveryPlan(week, most=3_000).run()
        except tiny.TooMany:
            continue
        if best[0] == 0:
            bound = least_cost(Trees(week), everything(week), best[1], 0)
            assert bound <= best[2], f"week {seed}"
            assert bound <= least_cost(Trees(week), everything(week), best[1], 0, nodes=20, seconds=20) <= best[2], f"week {seed}"
            compared += 1
            met += bound == best[2]
    assert compared >= (60 if long_slices else 10)
    assert met >= compared // 2, "a bound that is seldom met says little"


def test_no_tiny_week_leaves_out_is_late_or_costs_less_than_its_bounds(
    studio: ModuleType, tiny: ModuleType, long_slices: bool
) -> None:
    compared, met = 0, [0, 0, 0]
    for seed in range(60 if long_slices else 30):
        week = tiny.tiny_week(studio, seed)
        try:
            best = tiny.EveryPlan(week, most=3_000).run()
        except tiny.TooMany:
            continue
        for spare in ((0, 0, 0), (3, 4, 10)):
            told = (*(value + more for value, more in zip(best, spare, strict=False)), *best[3:], 0)
            plan = Plan(levels=tuple(Level(name=name, value=value) for name, value in zip(LEVELS, told, strict=True)))
            bounds = [week_bounds(Trees(week), plan, whole=True)[name] for name in LEVELS[:6]]
            assert all(bound <= value for bound, value in zip(bounds, best, strict=True)), f"week {seed}, {bounds}, {best}"
            if not any(spare):
                met = [n + (bound == value) for n, bound, value in zip(met, bounds, best, strict=False)]
        compared += 1
    assert compared >= (25 if long_slices else 12)
    assert min(met) >= compared // 2, "a bound that is seldom met says little"


def test_a_week_without_room_for_everything_has_a_bound_on_what_is_left_out(studio: ModuleType) -> None:
    week = studio.studio(1, 30, days=4)
    kilns = tuple(replace(k, in_service=n == 0) for n, k in enumerate(week.shop.kilns))
    sizes = tuple(replace(s, owned=1) for s in week.shop.sizes)
    week = replace(week, shop=replace(week.shop, kilns=kilns, sizes=sizes))
    plan = plan_by_hand(week)
    assert 0 < week_bounds(Trees(week), plan)["left out"] <= plan.levels[0].value


@pytest.mark.parametrize("seed", range(3))
def test_a_week_solved_whole_costs_no_less_than_its_bound(studio: ModuleType, monkeypatch: pytest.MonkeyPatch, seed: int) -> None:
    monkeypatch.setattr(answer, "week_charges", lambda *_: WeekCharges(composed={}))
    week = studio.studio(seed, 9, days=7, alloys=3)
    plan = plan_week(week, seconds=3)
    assert plan.levels[0].value == 0
    assert least_cost(Trees(week), everything(week), plan.levels[1].value, 0, nodes=20, seconds=20) <= plan.levels[2].value


def test_later_weeks_may_cost_less_and_never_more(studio: ModuleType) -> None:
    week = studio.studio(2, 30)
    trees = Trees(week)
    bounds = [least_cost(trees, everything(week), late, 0) for late in (0, 5, 20, 500)]
    assert bounds == sorted(bounds, reverse=True)
    assert bounds[0] > bounds[-1]


def test_days_make_the_bound_of_a_studio_higher_than_its_share_of_flasks(studio: ModuleType) -> None:
    week = studio.studio(1, 45)
    by_hand = plan_by_hand(week)
    assert [level.value for level in by_hand.levels[:2]] == [0, 0]
    # 190 was the share of the cheapest flasks, and loads for as many
    assert 215 <= week_bounds(Trees(week), by_hand)["flasks and loads"] <= by_hand.levels[2].value


def test_days_taken_as_one_bound_no_higher(studio: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    week = studio.studio(1, 45)
    by_days = least_cost(Trees(week), everything(week), 0, 0)
    monkeypatch.setattr(columns, "LARGE", 0)
    assert 190 <= least_cost(Trees(week), everything(week), 0, 0) < by_days


def test_the_fullest_loads_are_those_of_a_floor_tried_out(studio: ModuleType) -> None:
    sizes = [studio.size("a", 50, 60, 9, 1, 300), studio.size("b", 70, 60, 9, 1, 300), studio.size("c", 110, 60, 9, 1, 300)]
    kiln = studio.kiln("kiln", 290, 260)
    gap = kiln.gap.base
    sides = tuple(s.outer_diameter.base + gap for s in sizes)
    loads = full_loads(sides, kiln.width.base - gap, kiln.depth.base - gap)
    assert loads is not None
    for counts in itertools.product(range(13), range(7), range(4)):
        stands = fits_floor(list(zip(sizes, counts, strict=True)), kiln)
        inside = any(all(n <= m for n, m in zip(counts, load, strict=True)) for load in loads)
        assert stands == inside, counts


def test_a_size_that_does_not_go_into_the_chamber_stands_in_no_load() -> None:
    assert full_loads((0, 100), 200, 200) == ((0, 4),)


def test_no_tree_is_worth_more_than_the_most_and_worths_pay_for_flasks() -> None:
    rng = random.Random(7)
    for _ in range(40):
        items = [Item(f"J{n}", rng.randrange(9, 25), rng.randrange(9, 28), rng.randrange(1, 5)) for n in range(4)]
        items.sort(key=lambda i: i.height)
        trunk = Trunk("only", 75, 58, 8, tuple(items))
        wanted = {i.job: i.number for i in items}
        worth = good_worths([trunk], wanted)
        assert most_worth(trunk, worth) <= 8.001
        for counts in itertools.product(*(range(i.number + 1) for i in items)):
            boxes = [Boxes(i.width, i.height, n) for i, n in zip(items, counts, strict=True) if n]
            if boxes and fits_height(boxes, 75, 58):
                assert sum(worth.get(i.job, 0.0) * n for i, n in zip(items, counts, strict=True)) <= 8.001


def test_worths_know_that_two_wide_pieces_share_no_ring() -> None:
    trunk = Trunk("only", 75, 58, 8, (Item("wide", 40, 29, 8),))
    worth = good_worths([trunk], {"wide": 8})
    # one to a ring, two rings to a flask: four flasks, where the bare area asks for three
    assert sum(worth[j] * 8 for j in worth) == pytest.approx(4 * 8)


def test_a_job_is_as_late_as_its_last_piece_where_whole_numbers_are_asked_for(sets: ModuleType) -> None:
    week = problem_of(sets.week("studio", 7))
    jobs = tuple(j for j in week.jobs if j.quantity >= 16 and j.due < "2026-03-02")
    assert jobs, "a job of many pieces that is overdue"
    # all of its metal but for a few pieces is there before new metal comes on Wednesday
    melts = tuple(replace(m, stock_castable=Mass(85_000), order_from=3_300) for m in week.melts)
    week = replace(week, jobs=jobs[:1], melts=melts)
    by_hand = plan_by_hand(week)
    fractions = least(Trees(week), everything(week), Aim.LATE, Limits())
    assert by_hand.levels[0].value == 0
    assert fractions < least(Trees(week), everything(week), Aim.LATE, Limits(), nodes=5, seconds=20) == by_hand.levels[1].value


def test_two_who_cast_together_are_there_when_the_second_comes_until_the_first_goes() -> None:
    assert with_crew([(420, 960), (480, 1020), (540, 900)], 2) == (480, 960)
    assert with_crew([(420, 960)], 2) == (420, NEVER)


def test_a_piece_that_fits_the_larger_flask_only_waits_for_its_longer_program(studio: ModuleType) -> None:
    week = studio.studio(1, 20)
    trees = Trees(week)
    days = Days(trees, week.jobs)
    for job in week.jobs:
        fitting = [s.burnout_minutes for s in trees.usable_sizes(job.melt) if trees.fits(job.melt, s.id, {job.id: 1})]
        assert fitting, job.id
        assert (days.needs(job) or 0) >= max(job.burnout_minutes, min(fitting))


def test_what_is_invested_and_cast_on_the_first_day_is_in_the_kiln_together(studio: ModuleType) -> None:
    week = studio.studio(1, 30)
    room = Room(Days(Trees(week), week.jobs))
    by_hand = plan_by_hand(week)
    first = [f for f in by_hand.flasks if f.cast_start < week.days[0].end]
    fresh = room.fresh(0)
    assert fresh is not None
    assert len(first) <= fresh <= max(room.invested(0), room.casts(0, 0))
    assert room.fresh(1) is None


def test_starts_are_whole_plans_of_their_week(studio: ModuleType) -> None:
    week = studio.studio(1, 30)
    asked: list[int] = []

    def enough() -> bool:
        asked.append(1)
        return len(asked) > 400

    plans = list(Starts(Trees(week), everything(week), random.Random(1), enough).plans(0))
    assert len(plans) >= 4
    for plan in plans:
        assert check(week, replace(plan, left_out=left_out(week, plan)), metal=False) == ()
    assert min(plan.levels[2].value for plan in plans) <= plan_by_hand(week).levels[2].value


def test_starts_end_when_nobody_waits(studio: ModuleType) -> None:
    week = studio.studio(1, 10)
    assert len(list(Starts(Trees(week), everything(week), random.Random(1), lambda: True).plans(0))) == 2
