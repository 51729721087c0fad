"""From a week to a planning problem."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from domain.errors import InvalidValue
from domain.planning.manager import plan_by_hand
from domain.shop.jobs import Job
from domain.units import Mass
from domain.week.build import problem_of
from webapp.demo import demo_week

WEEK = demo_week(date(2026, 3, 2))


def test_a_job_of_an_alloy_that_the_shop_does_not_keep_is_named() -> None:
    broken = replace(WEEK, jobs=(replace(WEEK.jobs[0], alloy="unobtainium"), *WEEK.jobs[1:]))
    with pytest.raises(InvalidValue, match=rf"job {WEEK.jobs[0].id}: the shop has no alloy “unobtainium”"):
        problem_of(broken)


def test_a_customers_metal_that_is_not_on_the_shelf_is_named() -> None:
    broken = replace(WEEK, jobs=(replace(WEEK.jobs[0], own_metal="C99"),))
    with pytest.raises(InvalidValue, match="no lot C99"):
        problem_of(broken)


def test_a_customers_metal_is_a_melt_of_its_own() -> None:
    problem = problem_of(WEEK)
    own = [melt for melt in problem.melts if melt.own_lot]
    assert [melt.key for melt in own] == ["14kt-yellow/C01"]
    assert own[0].order_from is None


def test_what_is_due_late_takes_no_metal_from_what_is_due_early() -> None:
    """Two alloys share the fine gold: the one that is due first for its early jobs does not take it
    for its late ones."""
    yellow = {alloy: next(j for j in WEEK.jobs if j.alloy == alloy and not j.own_metal) for alloy in ("14kt-yellow", "18kt-yellow")}
    early = replace(yellow["18kt-yellow"], quantity=1, due="2026-03-04")
    middle = replace(yellow["14kt-yellow"], quantity=2, due="2026-03-06")
    late = replace(early, id="late", quantity=500, due="2026-03-10")

    def castable(*jobs: Job) -> Mass:
        return problem_of(replace(WEEK, jobs=jobs)).melt["14kt-yellow"].stock_castable

    assert castable(early, middle) > Mass.g(10)
    assert castable(early, late, middle) == castable(early, middle)
    assert castable(replace(late, due="2026-03-05"), middle) < castable(early, middle)


def test_the_supply_of_metal_is_taken_over_only_where_all_it_depends_on_is_the_same() -> None:
    week = WEEK
    problem = problem_of(week)
    plan = plan_by_hand(problem)
    flask = plan.flasks[0].id
    kept = replace(week, now=week.now + timedelta(minutes=30), previous=plan, pinned=frozenset({flask}))
    assert problem_of(kept, (week, problem)).melts is problem.melts
    changed = (
        replace(kept, weighed=frozenset({flask})),
        replace(kept, lots=(replace(week.lots[0], mass=Mass(1000)), *week.lots[1:])),
        replace(kept, jobs=week.jobs[1:]),
        replace(kept, shop=replace(week.shop, metals=week.shop.metals[1:])),
        replace(kept, now=week.now + timedelta(days=1)),
    )
    for one in (kept, *changed):
        assert problem_of(one, (week, problem)) == problem_of(one)
    assert all(problem_of(one, (week, problem)).melts is not problem.melts for one in changed)
