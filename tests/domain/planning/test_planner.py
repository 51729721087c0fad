"""The planner: valid, never worse than by hand, the same twice, quick to stop, sparing with changes."""

from dataclasses import replace
from types import ModuleType

import pytest

from domain.planning.check import check
from domain.planning.manager import plan_by_hand
from domain.planning.measure import values
from domain.planning.plan import Plan
from domain.planning.problem import Problem
from domain.stock.week_charges import Shortage, WeekCharges
from domain.week import answer
from domain.week.answer import Progress, compare, plan_week


@pytest.fixture(autouse=True)
def _no_metal(monkeypatch: pytest.MonkeyPatch) -> None:
    """These weeks have no lots to weigh from; the charges have tests of their own."""
    monkeypatch.setattr(answer, "week_charges", lambda *_: WeekCharges(composed={}))


def planned(week: Problem, seconds: float) -> Plan:
    plan = plan_week(week, seconds=seconds, deterministic=True)
    assert check(week, plan, metal=False) == ()
    return plan


@pytest.mark.parametrize("block", range(5))
def test_messy_weeks_are_planned_validly_and_never_worse_than_by_hand(studio: ModuleType, block: int, long_slices: bool) -> None:
    better = 0
    for seed in range(100 + block * 10, 100 + block * 10 + (10 if long_slices else 1)):
        week = studio.messy(seed)
        by_hand = plan_by_hand(week)
        plan = planned(week, 0.15)
        assert compare(plan.levels, by_hand.levels) <= 0, f"week {seed}"
        assert all(level.bound is None or level.bound <= level.value for level in plan.levels)
        better += compare(plan.levels, by_hand.levels) < 0
    assert better >= 2 or not long_slices


def test_a_studio_is_planned_better_than_by_hand(studio: ModuleType) -> None:
    week = studio.studio(1, 45)
    by_hand = plan_by_hand(week)
    plan = planned(week, 0.8)
    assert values(plan.levels)[:3] < values(by_hand.levels)[:3]


def test_the_same_question_has_the_same_answer_twice(studio: ModuleType) -> None:
    one, two = (plan_week(studio.studio(6, 16), seconds=0.3, deterministic=True) for _ in range(2))
    assert replace(one, seconds=0) == replace(two, seconds=0)


def test_the_first_plan_is_told_at_once_and_every_next_one_is_better(studio: ModuleType) -> None:
    told: list[Progress] = []
    plan = plan_week(studio.studio(3, 30), seconds=0.6, deterministic=True, on_progress=told.append)
    assert told[0].levels == plan_by_hand(studio.studio(3, 30)).levels
    worths = [values(step.levels) for step in told]
    assert worths == sorted(worths, reverse=True)
    assert values(plan.levels) <= worths[-1]
    assert all(check(studio.studio(3, 30), step.plan, metal=False) == () for step in told)


def test_who_stops_at_once_gets_the_plan_by_hand(studio: ModuleType) -> None:
    week = studio.studio(3, 30)
    plan = plan_week(week, seconds=60, should_stop=lambda: True)
    assert values(plan.levels) == values(plan_by_hand(week).levels)


def test_no_time_gives_the_plan_by_hand(studio: ModuleType) -> None:
    week = studio.studio(3, 30)
    assert values(plan_week(week, seconds=0).levels) == values(plan_by_hand(week).levels)


def test_an_empty_week_is_answered(studio: ModuleType) -> None:
    assert planned(studio.studio(1, 0), 1).flasks == ()


def test_nothing_moves_when_nothing_has_changed(studio: ModuleType) -> None:
    week = studio.studio(8, 14)
    first = planned(week, 0.5)
    again = planned(replace(week, previous=first), 0)
    assert again.levels[6].value == 0
    assert set(again.flasks) == set(first.flasks)


def test_a_rush_job_leaves_most_of_what_people_have_read(studio: ModuleType) -> None:
    week = studio.studio(8, 30)
    first = planned(week, 1)
    rush = replace(week.jobs[0], id="RUSH", name="RUSH", quantity=1, due=week.days[3].date, weight=3)
    plan = planned(replace(week, jobs=(*week.jobs, rush), previous=first), 0)
    assert any("RUSH" in flask.contents for flask in plan.flasks)
    assert plan.levels[6].value <= len(first.flasks) // 2


def test_a_job_taken_back_is_taken_out_of_its_flask(studio: ModuleType) -> None:
    week = studio.studio(8, 20)
    first = planned(week, 0)
    fewer = replace(week, jobs=week.jobs[1:], previous=first)
    plan = planned(fewer, 0)
    assert all(week.jobs[0].id not in flask.contents for flask in plan.flasks)


def test_a_kiln_that_breaks_down_moves_its_loads_only(studio: ModuleType) -> None:
    week = studio.studio(8, 30)
    first = planned(week, 0)
    broken = first.loads[-1].kiln
    kilns = tuple(replace(k, in_service=k.id != broken) for k in week.shop.kilns)
    plan = planned(replace(week, shop=replace(week.shop, kilns=kilns), previous=first), 0)
    assert all(load.kiln != broken for load in plan.loads)


def test_a_flask_whose_metal_cannot_be_composed_is_left_out_with_the_metal_as_reason(
    studio: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    week = studio.studio(8, 12)
    melt = week.jobs[0].melt

    def short(_: Problem, flasks: tuple[object, ...]) -> WeekCharges:
        names = [f.id for f in flasks if f.melt == melt]  # type: ignore[attr-defined]
        return WeekCharges(composed={}, short=tuple(Shortage(flask=n, blocker="no silver", remedy="Buy silver.") for n in names))

    monkeypatch.setattr(answer, "week_charges", short)
    plan = planned(week, 0.2)
    assert all(f.melt != melt for f in plan.flasks)
    reasons = [entry for entry in plan.left_out if week.job[entry.job].melt == melt]
    assert len(reasons) == sum(job.melt == melt for job in week.jobs)
    assert all(entry.rule == 9 for entry in reasons)
