"""The demo's story holds on every day and at every hour, through the store as well."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from pathlib import Path

import pytest

from domain.planning.check import check
from domain.planning.manager import plan_by_hand
from domain.planning.plan import Plan
from domain.planning.problem import Problem
from domain.shop.lots import MetalKind
from domain.units import Mass
from domain.week.answer import plan_week
from domain.week.build import problem_of
from webapp.demo import demo_week, fresh_demo, seed_demo
from webapp.settings import Settings
from webapp.store.engine import Database
from webapp.store.week import load_week

FORTNIGHT = [date(2026, 3, 20) + timedelta(days=n) for n in range(14)]
"""Over the change to summer time on 29 March 2026."""
BEFORE_HOLIDAYS = [date(2026, 12, 22), date(2026, 12, 23), date(2026, 12, 24), date(2027, 1, 1)]
MOMENTS = [
    *((day, time(7, 0)) for day in FORTNIGHT + BEFORE_HOLIDAYS),
    *((day, time(17, 0)) for day in FORTNIGHT[:4] + BEFORE_HOLIDAYS[:2]),
    (FORTNIGHT[0], time(11, 30)),
    (FORTNIGHT[0], time(0, 0)),
    (FORTNIGHT[1], time(23, 59)),
]


def _late(problem: Problem, plan: Plan) -> set[str]:
    done: dict[str, int] = {}
    for flask in plan.flasks:
        for job in flask.contents:
            done[job] = max(done.get(job, 0), flask.knockout_end)
    return {job for job, end in done.items() if problem.clock.day_of(end).isoformat() > problem.job[job].due}


def test_the_studio_has_what_a_tour_needs() -> None:
    week = demo_week(date(2026, 3, 2))
    assert 44 <= len(week.jobs) <= 48
    assert len({job.alloy for job in week.jobs}) == 8
    assert len(week.shop.sizes) >= 3
    assert len(week.shop.kilns) == 2
    assert len(week.shop.machines) == 2
    assert sum(person.casts for person in week.shop.people) >= 2
    assert any(not job.may_split for job in week.jobs)
    assert any(job.material == "castable-resin" for job in week.jobs)
    own = next(job for job in week.jobs if job.own_metal)
    assert next(lot for lot in week.lots if lot.id == own.own_metal).owner_job == own.id
    assert any(lot.kind is MetalKind.RECYCLED and lot.melts >= 3 for lot in week.lots)
    assert any(lot.arrives for lot in week.lots)


def test_the_same_day_makes_the_same_week() -> None:
    assert demo_week(date(2026, 3, 2)) == demo_week(date(2026, 3, 2))
    assert demo_week(date(2026, 3, 2)) != demo_week(date(2026, 3, 3))


@pytest.mark.parametrize("today", FORTNIGHT + BEFORE_HOLIDAYS)
def test_the_weeks_days_are_working_days_and_within_the_plans_horizon(today: date) -> None:
    week = demo_week(today)
    closed = {(date(2026, 12, 24) + timedelta(days=n)).isoformat() for n in range(9)}
    end = (today + timedelta(days=week.shop.rules.horizon_days)).isoformat()
    for job in week.jobs:
        assert job.due < end
        if job.due != today.isoformat():
            assert date.fromisoformat(job.due).weekday() < 5
            assert job.due not in closed


@pytest.mark.parametrize(("today", "at"), MOMENTS)
def test_one_job_cannot_be_cast_two_are_late_and_the_rest_is_on_time(today: date, at: time) -> None:
    problem = problem_of(demo_week(today, at))
    plan = plan_by_hand(problem)
    assert check(problem, plan, metal=False) == ()
    assert [left.job for left in plan.left_out] == ["J146"]
    assert plan.left_out[0].rule == 3
    assert _late(problem, plan) == {"J144", "J145"}
    assert min(flask.invest_start for flask in plan.flasks) >= problem.now


@pytest.mark.parametrize("today", [FORTNIGHT[0], FORTNIGHT[1], BEFORE_HOLIDAYS[1]])
def test_gold_does_not_last_the_week_and_one_order_made_in_time_mends_it(today: date) -> None:
    problem = problem_of(demo_week(today))
    plan = plan_week(problem, seconds=1)
    assert check(problem, plan) == ()
    assert [left.job for left in plan.left_out] == ["J146"]
    assert _late(problem, plan) == {"J144", "J145"}
    assert [order.metal for order in plan.orders] == ["fine-gold"]
    assert plan.orders[0].order_by >= today.isoformat()
    assert plan.orders[0].needed > Mass(0)


@pytest.fixture
def demo_settings(tmp_path: Path) -> Settings:
    return Settings(
        database_url=f"sqlite:///{tmp_path / 'demo.sqlite3'}", demo=True, log_level="ERROR", fixed_now=datetime(2026, 3, 6, 17, 0)
    )


@pytest.fixture
def demo_db(demo_settings: Settings) -> Iterator[Database]:
    fresh_demo(demo_settings)
    db = Database(demo_settings.database_url)
    yield db
    db.close()


def test_the_store_gives_the_demo_week_back(demo_db: Database) -> None:
    now = datetime(2026, 3, 6, 17, 0)
    with demo_db.read() as session:
        assert load_week(session, now) == demo_week(now.date(), now.time())


def test_a_demo_is_made_anew_at_every_start(demo_settings: Settings) -> None:
    fresh_demo(demo_settings)
    later = replace(demo_settings, fixed_now=datetime(2026, 3, 9, 8, 0))
    fresh_demo(later)
    fresh = Database(later.database_url)
    with fresh.read() as session:
        assert load_week(session, datetime(2026, 3, 9, 8, 0)) == demo_week(date(2026, 3, 9), time(8, 0))
    fresh.close()


def test_a_shops_own_database_is_never_taken_for_the_demos(demo_settings: Settings) -> None:
    with pytest.raises(ValueError, match="shop's own"):
        fresh_demo(replace(demo_settings, demo=False))


def test_seeding_twice_keeps_one_week(demo_db: Database) -> None:
    now = datetime(2026, 3, 6, 17, 0)
    with demo_db.write() as session:
        seed_demo(session, now)
    with demo_db.read() as session:
        assert load_week(session, now) == demo_week(now.date(), now.time())
