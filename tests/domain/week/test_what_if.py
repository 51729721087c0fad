"""A change that is tried makes another week, and the two weeks are told apart by their own numbers."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from domain.errors import DomainError
from domain.planning.calendar import arrival
from domain.planning.check import check
from domain.planning.manager import plan_by_hand
from domain.stock.week_charges import week_charges
from domain.units import Mass, Money, total
from domain.week.build import problem_of
from domain.week.side_by_side import Side, side_by_side
from domain.week.week import Week
from domain.week.what_if import (
    Away,
    Change,
    KilnBack,
    KilnDown,
    MetalBy,
    MoreFlasks,
    NightLoads,
    Overtime,
    PutOff,
    TakeJob,
    changed,
    words,
)
from domain.week.what_if_more import LongerDay, WorksOn
from webapp.demo import demo_week

MONDAY = date(2026, 3, 2)


@pytest.fixture(scope="module")
def week() -> Week:
    return demo_week(MONDAY)


def planned(week: Week) -> Side:
    problem = problem_of(week)
    plan = plan_by_hand(problem)
    metal = week_charges(problem, plan.flasks)
    return Side(problem=problem, plan=replace(plan, charges=metal.charges, orders=metal.orders))


@pytest.fixture(scope="module")
def before(week: Week) -> Side:
    return planned(week)


def test_a_bought_flask_is_one_more_of_its_size_alone(week: Week) -> None:
    size = week.shop.sizes[1]
    after = changed(week, (MoreFlasks(size=size.id, count=2),))
    assert [s.owned for s in after.shop.sizes] == [s.owned + 2 * (s.id == size.id) for s in week.shop.sizes]
    assert week.shop.sizes[1] is size


def test_a_kiln_that_is_back_knows_no_outage(week: Week) -> None:
    kiln = week.shop.kilns[0].id
    down = changed(week, (KilnDown(kiln=kiln, first="2026-03-03", last="2026-03-04"),))
    assert [o.first for o in down.shop.kilns[0].outages] == ["2026-03-03"]
    assert problem_of(down).kiln_outages[kiln][0].start == 24 * 60
    back = changed(down, (KilnBack(kiln=kiln),))
    assert back.shop.kilns[0].outages == ()
    assert back.shop.kilns[0].in_service


def test_night_loads_concern_one_kiln(week: Week) -> None:
    after = changed(week, (NightLoads(kiln=week.shop.kilns[-1].id),))
    assert after.shop.kilns[-1].unattended
    assert after.shop.kilns[:-1] == week.shop.kilns[:-1]


def test_one_night_is_allowed_and_no_other(week: Week) -> None:
    kilns = tuple(replace(k, unattended=False) for k in week.shop.kilns)
    dark = replace(week, shop=replace(week.shop, kilns=kilns))
    kiln = week.shop.kilns[-1]
    change = NightLoads(kiln=kiln.id, day="2026-03-04")
    problem = problem_of(changed(dark, (change,)))
    plan = plan_by_hand(problem)
    hours = [(d.opens, d.closes) for d in problem.days if d.opens is not None and d.closes is not None]
    nights = [load for load in plan.loads if not any(a <= load.load_at and load.program_end <= b for a, b in hours)]
    assert [(load.kiln, problem.clock.day_of(load.load_at).isoformat()) for load in nights] == [(kiln.id, "2026-03-04")]
    assert check(problem, plan, metal=False) == ()
    assert [v.rule for v in check(problem_of(dark), plan, metal=False)] == [7]
    assert "on the night of Wed 4 Mar" in change.words(week)


def test_a_longer_day_is_one_day_alone(week: Week) -> None:
    before, after = problem_of(week), problem_of(changed(week, (LongerDay(day="2026-03-04", minutes=60),)))
    longer = [(a.date, b.closes - a.closes) for a, b in zip(before.days, after.days, strict=True) if a.closes and b.closes]
    assert {day: more for day, more in longer if more} == {"2026-03-04": 60}


def test_who_works_on_a_day_off_has_hours_that_day_alone(week: Week) -> None:
    after = problem_of(changed(week, (WorksOn(person="ilko", day="2026-03-07"),)))
    saturday = 5 * 24 * 60
    assert [s.person for s in after.shifts if saturday <= s.opens < saturday + 1440] == ["ilko"]
    with pytest.raises(DomainError, match="works on Fri 6 Mar already"):
        changed(week, (WorksOn(person="ilko", day="2026-03-06"),))


def test_who_is_away_has_no_shift_that_day(week: Week) -> None:
    after = problem_of(changed(week, (Away(person="ilko", first="2026-03-06", last="2026-03-06"),)))
    friday = 4 * 24 * 60
    assert {s.person for s in after.shifts if friday <= s.opens < friday + 1440} == {"runa"}


def test_metal_that_can_be_here_sooner_is_here_on_that_day_and_not_before(week: Week) -> None:
    metal = next(m for m in week.shop.metals if m.lead_days is not None and m.lead_days > 3)
    after = changed(week, (MetalBy(metal=metal.id, day="2026-03-05"),))
    lead = next(m.lead_days for m in after.shop.metals if m.id == metal.id)
    assert lead == 3
    assert arrival(after.shop, MONDAY, lead) == date(2026, 3, 5)


def test_metal_for_a_day_off_is_there_on_the_last_working_day_before(week: Week) -> None:
    metal = next(m for m in week.shop.metals if m.lead_days is not None)
    after = changed(week, (MetalBy(metal=metal.id, day="2026-03-08"),))
    assert next(m.lead_days for m in after.shop.metals if m.id == metal.id) == 4


def test_changes_add_up_and_each_is_told_in_words(week: Week) -> None:
    job = week.jobs[0]
    changes: tuple[Change, ...] = (PutOff(job=job.id), Overtime(minutes=180))
    after = changed(week, changes)
    assert [j.id for j in after.jobs] == [j.id for j in week.jobs[1:]]
    assert after.shop.rules.overtime_minutes == 180
    assert words(week, changes) == (f"job {job.id} {job.item} is put off", "overtime up to 3 h a day instead of 2 h")


def test_a_job_is_taken_once(week: Week) -> None:
    with pytest.raises(DomainError, match="is on the list already"):
        changed(week, (TakeJob(job=week.jobs[3]),))


def test_a_job_in_a_flask_that_does_not_move_cannot_be_put_off(week: Week, before: Side) -> None:
    flask = before.plan.flasks[0]
    job = next(iter(flask.contents))
    pinned = replace(week, previous=before.plan, pinned=frozenset({flask.id}))
    with pytest.raises(DomainError, match=f"{flask.id} holds it and does not move"):
        changed(pinned, (PutOff(job=job),))


@pytest.mark.parametrize(
    "change",
    [
        KilnBack(kiln="none"),
        MoreFlasks(size="none", count=1),
        PutOff(job="none"),
        Away(person="none", first="2026-03-03", last="2026-03-03"),
        MetalBy(metal="none", day="2026-03-05"),
        Overtime(minutes=-5),
        Away(person="ilko", first="2026-03-06", last="2026-03-05"),
    ],
)
def test_a_change_of_what_is_not_there_is_refused_in_words(week: Week, change: Change) -> None:
    with pytest.raises(DomainError):
        change.apply(week)


def test_a_plan_beside_itself_has_moved_nothing(before: Side) -> None:
    same = side_by_side(before, before)
    assert same.moved == ()
    assert same.steady == len(before.plan.flasks)
    assert all(a == b for a, b in same.levels)
    assert all(j.done[0] == j.done[1] for j in same.jobs)


def test_jobs_orders_and_flasks_of_both_sides_are_told_by_name(week: Week, before: Side) -> None:
    out = before.plan.left_out[0].job
    put_off = next(iter(before.plan.flasks[0].contents))
    after = planned(changed(week, (PutOff(job=put_off), PutOff(job=out))))
    assert check(after.problem, after.plan) == ()
    told = side_by_side(before, after)
    pairs = {pair.job: pair for pair in told.jobs}
    assert pairs[put_off].there == (True, False)
    assert pairs[put_off].done[1] is None
    assert pairs[out].out == (before.plan.left_out[0].pieces, 0)
    assert told.flasks == (len(before.plan.flasks), len(after.plan.flasks))
    assert len(told.moved) + told.steady == len({f.id for s in (before, after) for f in s.plan.flasks})
    ordered = [total(Mass, (o.mass for o in side.plan.orders)) for side in (before, after)]
    assert [total(Mass, (o.mass[n] for o in told.orders)) for n in (0, 1)] == ordered
    assert told.cost[0] > Money(0)


def test_hours_count_bench_casters_and_knock_out(before: Side) -> None:
    rules = before.problem.rules
    minutes = sum(rules.invest_minutes + rules.knockout_minutes for _ in before.plan.flasks)
    minutes += sum(len(f.people) * before.problem.machine[f.machine].minutes_per_cast for f in before.plan.flasks)
    assert side_by_side(before, before).hands == (minutes, minutes)
