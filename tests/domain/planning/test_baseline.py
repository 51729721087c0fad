"""The careful manager's plan: always valid, whatever the week looks like."""

from dataclasses import replace
from itertools import groupby, pairwise
from types import ModuleType

import pytest

from domain.planning import manager
from domain.planning.baseline.blocks import casts_of, in_blocks
from domain.planning.baseline.groups import Groups, pieces_wanted
from domain.planning.baseline.hours import Hours
from domain.planning.baseline.schedule import Schedule
from domain.planning.baseline.trees import Trees
from domain.planning.check import check
from domain.planning.manager import plan_by_hand
from domain.planning.plan import Plan
from domain.planning.problem import Problem
from domain.units import Mass


def checked(problem: Problem) -> Plan:
    plan = plan_by_hand(problem)
    assert check(problem, plan, metal=False) == ()
    return plan


def value(plan: Plan, name: str) -> int:
    return next(level.value for level in plan.levels if level.name == name)


@pytest.mark.parametrize("block", range(10))
def test_a_hundred_messy_weeks_are_planned_without_a_broken_rule(studio: ModuleType, block: int) -> None:
    for seed in range(block * 10, block * 10 + 10):
        checked(studio.messy(seed))


def test_messy_weeks_are_planned_as_a_crowd_without_a_broken_rule(studio: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(manager, "CROWD", 0)
    for seed in range(12):
        checked(studio.messy(seed))


def test_what_is_cast_on_one_day_stands_family_after_family_in_falling_temperature(studio: ModuleType) -> None:
    trees = Trees(studio.studio(11, 120))
    drafts, _ = Groups(trees, Hours(trees.problem)).drafts(pieces_wanted(trees.problem))
    schedule = Schedule.of(trees)
    day = schedule.table.hours.cast_days[1]
    room = casts_of(schedule, day) * 9 // 10
    order = in_blocks(drafts, room, lambda d: d.size != "small")
    today = [d for d in drafts if d.size != "small"][:room]
    assert 0 < len(today) < len(drafts)
    assert {d.id for d in order[: len(today)]} == {d.id for d in today}
    assert order[0].family == drafts[0].family
    assert len([family for family, _ in groupby(d.family for d in order[: len(today)])]) == len({d.family for d in today})
    assert all(a.low >= b.low for a, b in pairwise(order[: len(today)]) if a.family == b.family)
    assert order[len(today) :] == [d for d in drafts if d not in today]


@pytest.mark.parametrize("jobs", [1, 10, 45, 120])
def test_a_studio_that_has_room_leaves_nothing_out_and_is_in_time(studio: ModuleType, jobs: int) -> None:
    plan = checked(studio.studio(7, jobs))
    assert value(plan, "left out") == 0
    assert value(plan, "weighted days late") == 0


def test_the_same_week_is_planned_the_same_way_twice(studio: ModuleType) -> None:
    one, two = plan_by_hand(studio.studio(3, 45)), plan_by_hand(studio.studio(3, 45))
    assert replace(one, seconds=0) == replace(two, seconds=0)


def test_no_jobs_give_an_empty_plan(studio: ModuleType) -> None:
    plan = checked(studio.studio(1, 0))
    assert (plan.flasks, plan.loads, plan.left_out) == ((), (), ())


def test_without_a_kiln_every_job_is_left_out_with_the_kiln_as_reason(studio: ModuleType) -> None:
    week = studio.studio(2, 12)
    plan = checked(replace(week, shop=replace(week.shop, kilns=())))
    assert plan.flasks == ()
    assert {entry.rule for entry in plan.left_out} == {7}
    assert sum(entry.pieces for entry in plan.left_out) == sum(job.quantity for job in week.jobs)


def test_without_flasks_or_machines_every_job_is_left_out(studio: ModuleType) -> None:
    week = studio.studio(2, 12)
    for shop in (replace(week.shop, sizes=()), replace(week.shop, machines=()), replace(week.shop, programs=())):
        plan = checked(replace(week, shop=shop))
        assert plan.flasks == ()
        assert len(plan.left_out) == 12


def test_a_shop_closed_all_week_casts_nothing(studio: ModuleType) -> None:
    week = studio.studio(2, 5)
    days = tuple(replace(day, opens=None, closes=None) for day in week.days)
    plan = checked(replace(week, shifts=(), days=days))
    assert plan.flasks == ()
    assert {entry.rule for entry in plan.left_out} == {8}


def test_fixed_flasks_stay_as_they_are_and_their_pieces_are_not_planned_again(studio: ModuleType) -> None:
    week = studio.studio(5, 20)
    first = plan_by_hand(week)
    kept = first.loads[0]
    fixed = tuple(f for f in first.flasks if f.load == kept.id)
    again = replace(week, fixed_flasks=fixed, fixed_loads=(kept,), previous=first)
    plan = checked(again)
    assert set(fixed) <= set(plan.flasks)
    assert kept in plan.loads


def test_everything_fixed_leaves_nothing_to_plan(studio: ModuleType) -> None:
    week = studio.studio(5, 20)
    first = plan_by_hand(week)
    plan = checked(replace(week, fixed_flasks=first.flasks, fixed_loads=first.loads))
    assert set(plan.flasks) == set(first.flasks)


def test_no_more_is_cast_before_an_order_can_arrive_than_the_shelf_can_make(studio: ModuleType) -> None:
    week = studio.studio(4, 20)
    wednesday = 2 * 1440 + 600
    melts = tuple(replace(m, stock_castable=Mass.g(60), order_from=wednesday) for m in week.melts)
    plan = checked(replace(week, melts=melts))
    for melt in melts:
        early = sum(f.charge.base for f in plan.flasks if f.melt == melt.key and f.cast_start < wednesday)
        assert early <= melt.stock_castable.base
    assert any(f.cast_start >= wednesday for f in plan.flasks)
