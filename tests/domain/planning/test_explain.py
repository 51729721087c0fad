"""Every job that is out or late has its rule, its reason and its remedy."""

from dataclasses import replace
from types import ModuleType

import pytest

from domain.planning.check import check
from domain.planning.explain.reasons import why_late
from domain.planning.manager import plan_by_hand
from domain.planning.plan import LeftOut
from domain.planning.polish import polish
from domain.planning.problem import PlanJob, Problem
from domain.shop.alloy import Heat
from domain.shop.pattern import PieceSize
from domain.units import Length, Mass, Temperature, TemperatureRange


@pytest.fixture
def week(studio: ModuleType) -> Problem:
    base = studio.studio(1, 0, days=6)
    jobs = [studio.job("J1", "silver", 2, temperatures=TemperatureRange.c(500, 600), due=4)]
    return studio.problem(base.shop, jobs, days=6)


def with_job(week: Problem, **changes: object) -> Problem:
    return replace(week, jobs=(replace(week.jobs[0], **changes),))  # type: ignore[arg-type]


def reason(week: Problem) -> LeftOut:
    plan = plan_by_hand(week)
    assert check(week, plan, metal=False) == ()
    assert plan.flasks == ()
    (entry,) = plan.left_out
    assert "J1" in entry.reason
    assert entry.remedy
    return entry


def test_a_piece_that_no_flask_holds_is_out_for_its_reach(week: Problem) -> None:
    entry = reason(with_job(week, size=PieceSize(width=Length.mm(10), height=Length.mm(10), reach=Length.mm(90))))
    assert entry.rule == 3
    assert "reaches" in entry.reason


def test_pieces_that_may_not_be_split_are_out_where_no_tree_takes_them_all(week: Problem) -> None:
    entry = reason(with_job(week, quantity=500, may_split=False))
    assert entry.rule == 3
    assert "may not be split" in entry.reason
    assert "Allow the job to be split" in entry.remedy


def test_an_alloy_that_no_machine_melts_is_out(week: Problem) -> None:
    melt = week.melts[0]
    torch = replace(melt, machines=frozenset(), alloy=replace(melt.alloy, heat=frozenset({Heat.TORCH})))
    entry = reason(replace(week, melts=(torch,)))
    assert entry.rule == 1
    assert "torch" in entry.reason


def test_a_piece_heavier_than_every_crucible_is_out(week: Problem) -> None:
    entry = reason(with_job(week, metal_each=Mass.g(900)))
    assert entry.rule == 4
    assert "crucible" in entry.reason


def test_an_alloy_without_a_suitable_investment_is_out(week: Problem) -> None:
    entry = reason(replace(week, melts=(replace(week.melts[0], investments=()),)))
    assert entry.rule == 7
    assert "investment" in entry.reason


def test_a_pattern_that_no_program_burns_out_is_out(week: Problem) -> None:
    for changes in ({"burnout_minutes": 3000}, {"burnout_peak": Temperature.c(900)}):
        entry = reason(with_job(week, **changes))
        assert entry.rule == 7
        assert "program" in entry.reason


def test_patterns_that_are_ready_after_the_last_day_are_out(week: Problem) -> None:
    entry = reason(with_job(week, ready=20 * 1440))
    assert entry.rule == 6
    assert "ready on Sun 22 Mar" in entry.reason


def test_metal_that_cannot_be_here_in_time_is_named(week: Problem) -> None:
    entry = reason(replace(week, melts=(replace(week.melts[0], stock_castable=Mass.g(1)),)))
    assert entry.rule == 9
    assert "Find a supplier" in entry.remedy
    late = replace(week.melts[0], stock_castable=Mass.g(1), order_from=week.end)
    assert "Order now" in reason(replace(week, melts=(late,))).remedy


def test_a_customers_own_metal_is_not_to_be_bought(week: Problem) -> None:
    own = replace(week.melts[0], stock_castable=Mass.g(1), own_lot="LOT")
    assert "Ask the customer" in reason(replace(week, melts=(own,))).remedy


def crowded(studio: ModuleType, week: Problem, **changes: object) -> Problem:
    """So many jobs that one flask of each size does not suffice."""
    jobs: list[PlanJob] = [
        replace(week.jobs[0], id=f"J{n}", name=f"J{n}", quantity=30, due="2026-03-04", **changes)  # type: ignore[arg-type]
        for n in range(1, 9)
    ]
    sizes = tuple(replace(s, owned=1) for s in week.shop.sizes)
    shop = replace(week.shop, sizes=sizes, kilns=week.shop.kilns[:1])
    return studio.problem(shop, jobs, days=3)


def test_jobs_without_room_say_what_is_taken(studio: ModuleType, week: Problem) -> None:
    full = crowded(studio, week)
    plan = plan_by_hand(full)
    assert plan.left_out
    assert check(full, plan, metal=False) == ()
    for entry in plan.left_out:
        assert entry.job in entry.reason
        assert entry.rule in (5, 6, 7, 8)


def test_a_late_job_says_whether_its_patterns_or_the_shop_kept_it(week: Problem) -> None:
    late = with_job(week, ready=3 * 1440, due="2026-03-04")
    (entry,) = why_late(late, plan_by_hand(late))
    assert entry.job == "J1"
    assert entry.days >= 1
    assert entry.rule == 6
    assert "patterns are ready on Thu 5 Mar" in entry.reason


def test_a_job_that_was_due_before_the_plan_begins_says_so(week: Problem) -> None:
    overdue = with_job(week, due="2026-02-27")
    (entry,) = why_late(overdue, plan_by_hand(overdue))
    assert "was due on Fri 27 Feb" in entry.reason


def test_a_plan_in_time_has_nothing_to_explain(week: Problem) -> None:
    assert why_late(week, plan_by_hand(week)) == ()


def test_polishing_moves_temperatures_to_the_middle_and_keeps_their_order(studio: ModuleType) -> None:
    full = studio.studio(3, 30)
    plan = plan_by_hand(full)
    polished = polish(full, plan)
    assert check(full, polished, metal=False) == ()
    before = {f.id: f.temperature for f in plan.flasks}
    after = {f.id: f.temperature for f in polished.flasks}
    assert any(after[f] > before[f] for f in after)
    for load in plan.loads:
        for a in load.flasks:
            for b in load.flasks:
                assert (before[a] < before[b]) == (after[a] < after[b])


def test_a_single_flask_is_polished_to_the_middle_of_its_range(week: Problem) -> None:
    (flask,) = polish(week, plan_by_hand(week)).flasks
    assert flask.temperature == Temperature.c(550)
