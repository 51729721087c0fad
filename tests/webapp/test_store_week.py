"""The week comes back from the store as it was put in, and the record moves with the days."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from domain.mould.ring import Ring
from domain.planning.plan import KilnLoad, Plan, PlannedFlask
from domain.shop.alloy import Section
from domain.shop.burnout import Outage
from domain.shop.casting import Person, Shift, Weekday
from domain.shop.consumables import Amount, Consumable, CountedIn, UsedPer
from domain.shop.jobs import Job
from domain.shop.lots import Lot, MetalKind, Powder
from domain.shop.pattern import PieceSize
from domain.shop.shop import Shop, ShopRules
from domain.starting.alloys import starting_alloys
from domain.starting.machines import starting_kilns, starting_machines
from domain.starting.metals import starting_metals
from domain.starting.mould import starting_investments, starting_materials, starting_programs, starting_sizes
from domain.units import Length, Mass, Money, Share, Temperature
from domain.week.week import Week
from webapp.store import flasks, floor, week
from webapp.store.engine import Database
from webapp.store.flasks import Stage

MONDAY = datetime(2026, 3, 2, 8, 0)


def _shop() -> Shop:
    return Shop(
        rules=ShopRules(timezone="Europe/Vienna", clean_minutes=2000),
        alloys=starting_alloys(),
        materials=starting_materials(),
        sizes=starting_sizes(),
        investments=starting_investments(),
        programs=starting_programs(),
        kilns=starting_kilns(),
        machines=starting_machines(),
        people=(Person(id="p1", name="Ada", casts=True, shifts=(Shift(day=Weekday.MONDAY, opens=480, closes=990),)),),
        closures=(Outage(first="2026-03-04", last="2026-03-05", reason="fair"),),
        metals=starting_metals(),
    )


def _job(job_id: str, shop: Shop, quantity: int = 6) -> Job:
    return Job(
        id=job_id,
        item="band ring",
        alloy=shop.alloys[0].id,
        section=Section.THIN,
        material=shop.materials[0].id,
        quantity=quantity,
        pattern_mass=Mass.g("0.41"),
        size=PieceSize(width=Length.mm(22), height=Length.mm(24), reach=Length.mm(6)),
        ready="2026-03-02",
        due="2026-03-06",
        per_tree={shop.sizes[0].id: 12},
    )


def _flask(flask_id: str, jobs: tuple[tuple[str, int], ...], shop: Shop, start: int) -> PlannedFlask:
    return PlannedFlask(
        id=flask_id,
        melt=shop.alloys[0].id,
        size=shop.sizes[0].id,
        investment=shop.investments[0].id,
        rings=(Ring(pieces=jobs, height=Length.mm(24)),),
        temperature=Temperature.c(600),
        charge=Mass.g(40),
        invest_start=start,
        invest_end=start + 15,
        load="K1",
        machine=shop.machines[0].id,
        people=("p1",),
        cast_start=start + 1000,
        cast_end=start + 1015,
        knockout_start=start + 1030,
        knockout_end=start + 1040,
    )


def _plan(shop: Shop) -> Plan:
    return Plan(
        flasks=(_flask("F1", (("J1", 4),), shop, 500), _flask("F2", (("J1", 2), ("J2", 6)), shop, 520)),
        loads=(KilnLoad(id="K1", kiln="k", program="p", rows=(("F1", "F2"),), load_at=600, start=600, program_end=1000),),
    )


@pytest.fixture
def whole() -> Week:
    shop = _shop()
    return Week(
        shop=shop,
        jobs=(_job("J1", shop), _job("J2", shop)),
        lots=(
            Lot(
                id="L1",
                name="grain",
                kind=MetalKind.GRAIN,
                composition={"Ag": Share.permille(925), "Cu": Share.permille(75)},
                mass=Mass.g(500),
                since="2026-01-05",
                cost=Money(95),
            ),
            Lot(
                id="L2",
                name="on its way",
                kind=MetalKind.FINE,
                composition={"Ag": Share(1_000_000)},
                mass=Mass.g(9),
                arrives="2026-03-03",
            ),
        ),
        powders=(
            Powder(
                investment=shop.investments[0].id,
                mass=Mass.g(22_000),
                lead_days=3,
                pack=Mass.g(5000),
                price=Money(4200),
                price_mass=Mass.g(5000),
            ),
        ),
        consumables=(
            Consumable(
                id="flux",
                name="Flux",
                unit=CountedIn.GRAM,
                per=UsedPer.CAST,
                use=Amount(2_000),
                amount=Amount(250_000),
                pack=Amount(500_000),
                price=Money(1800),
                lead_days=2,
            ),
        ),
        now=MONDAY,
        previous=_plan(shop),
        pinned=frozenset({"F2"}),
    )


@pytest.fixture
def saved(empty_db: Database, whole: Week) -> Week:
    with empty_db.write() as session:
        week.save_week(session, whole)
    return whole


def test_a_whole_week_comes_back_as_it_was_put_in(empty_db: Database, saved: Week) -> None:
    with empty_db.read() as session:
        assert week.load_week(session, MONDAY) == saved


def test_bringing_in_another_week_archives_what_it_does_not_name(empty_db: Database, saved: Week) -> None:
    smaller = replace(saved, jobs=saved.jobs[1:], lots=saved.lots[:1], previous=None, pinned=frozenset())
    with empty_db.write() as session:
        week.save_week(session, smaller)
    with empty_db.read() as session:
        loaded = week.load_week(session, MONDAY)
    assert loaded.jobs == smaller.jobs
    assert loaded.lots == smaller.lots


def test_the_plan_that_people_have_read_keeps_its_moments_on_another_day(empty_db: Database, saved: Week) -> None:
    with empty_db.read() as session:
        later = week.load_week(session, MONDAY + timedelta(days=1)).previous
    assert saved.previous is not None
    assert later is not None
    assert later.flasks[0].cast_start == saved.previous.flasks[0].cast_start - 1440
    assert later.loads[0].start == 600 - 1440


def test_moments_stay_right_over_the_change_to_summer_time(empty_db: Database, saved: Week) -> None:
    before, after = datetime(2026, 3, 28, 8), datetime(2026, 3, 29, 8)
    with empty_db.write() as session:
        week.save_plan(session, _plan(saved.shop), before)
    with empty_db.read() as session:
        loaded = week.load_week(session, after + timedelta(days=1)).previous
    assert loaded is not None
    assert loaded.flasks[0].invest_start == 500 - 1440 - 1380


@pytest.mark.usefixtures("saved")
def test_a_flask_with_an_event_is_pinned_until_the_event_is_undone(empty_db: Database) -> None:
    with empty_db.write() as session:
        flasks.unpin(session, "F2")
        flasks.record(session, "F1", Stage.INVESTED, plan_version=1)
    with empty_db.read() as session:
        assert week.load_week(session, MONDAY).pinned == {"F1"}
    with empty_db.write() as session:
        floor.take_back(session, floor.happened_to(session, "F1")[-1])
    with empty_db.read() as session:
        assert week.load_week(session, MONDAY).pinned == frozenset()


@pytest.mark.usefixtures("saved")
def test_pieces_knocked_out_before_today_are_no_longer_to_be_cast(empty_db: Database) -> None:
    with empty_db.write() as session:
        for stage in (Stage.INVESTED, Stage.CAST, Stage.KNOCKED_OUT):
            flasks.record(session, "F2", stage, plan_version=1, at=datetime(2026, 3, 2, 15, tzinfo=UTC))
    with empty_db.read() as session:
        same_day = week.load_week(session, MONDAY)
        next_day = week.load_week(session, MONDAY + timedelta(days=1))
    assert {job.id: job.quantity for job in same_day.jobs} == {"J1": 6, "J2": 6}
    assert {job.id: job.quantity for job in next_day.jobs} == {"J1": 4}
    assert next_day.previous is not None
    assert [f.id for f in next_day.previous.flasks] == ["F1"]
    assert next_day.previous.loads[0].flasks == ("F1",)


def test_a_new_flask_never_takes_the_id_of_one_in_the_record(empty_db: Database, saved: Week) -> None:
    tuesday = MONDAY + timedelta(days=1)
    with empty_db.write() as session:
        flasks.record(session, "F2", Stage.KNOCKED_OUT, plan_version=1, at=datetime(2026, 3, 2, 15, tzinfo=UTC))
        week.save_plan(session, _plan(saved.shop), tuesday)
    with empty_db.read() as session:
        plan = week.load_week(session, tuesday).previous
    assert plan is not None
    assert [f.id for f in plan.flasks] == ["F1", "F2-2"]
    assert plan.loads[0].rows == (("F1", "F2-2"),)


def test_a_repeated_event_counts_once(empty_db: Database) -> None:
    with empty_db.write() as session:
        assert flasks.record(session, "F1", Stage.INVESTED, key="k")
        assert not flasks.record(session, "F1", Stage.INVESTED, key="k")
        assert len(flasks.happened(session)["F1"]) == 1


def test_a_week_brought_in_does_not_inherit_the_record_of_another(empty_db: Database, saved: Week) -> None:
    """Its flask F1 holds something else than the F1 that was invested here."""
    with empty_db.write() as session:
        flasks.record(session, "F1", Stage.INVESTED, plan_version=1)
        other = replace(_plan(saved.shop), flasks=(_flask("F1", (("J2", 3),), saved.shop, 500),))
        week.save_week(session, replace(saved, previous=other, pinned=frozenset()))
    with empty_db.read() as session:
        loaded = week.load_week(session, MONDAY)
    assert loaded.previous is not None
    assert [f.id for f in loaded.previous.flasks] == ["F1-2"]
    assert loaded.pinned == frozenset()


def test_a_week_taken_out_and_brought_in_again_keeps_its_record(empty_db: Database, saved: Week) -> None:
    with empty_db.write() as session:
        flasks.record(session, "F1", Stage.INVESTED, plan_version=1)
        taken_out = week.load_week(session, MONDAY)
        week.save_week(session, taken_out)
    with empty_db.read() as session:
        assert week.load_week(session, MONDAY) == replace(saved, pinned=frozenset({"F1", "F2"}))


def test_a_week_without_a_plan_leaves_none_behind(empty_db: Database, saved: Week) -> None:
    with empty_db.write() as session:
        week.save_week(session, replace(saved, previous=None, pinned=frozenset()))
    with empty_db.read() as session:
        assert week.load_week(session, MONDAY).previous is None


@pytest.mark.usefixtures("saved")
def test_pieces_that_came_out_are_not_taken_off_twice_by_a_week_taken_out_and_brought_in(empty_db: Database) -> None:
    tuesday = MONDAY + timedelta(days=1)
    with empty_db.write() as session:
        flasks.record(session, "F2", Stage.KNOCKED_OUT, plan_version=1, at=datetime(2026, 3, 2, 15, tzinfo=UTC))
        taken_out = week.load_week(session, tuesday)
        assert {job.id: job.quantity for job in taken_out.jobs} == {"J1": 4}
        week.save_week(session, taken_out)
    with empty_db.read() as session:
        assert week.load_week(session, tuesday).jobs == taken_out.jobs


def test_a_week_that_says_nothing_of_consumables_leaves_them(empty_db: Database, whole: Week) -> None:
    for brought in (whole, replace(whole, consumables=None), replace(whole, consumables=())):
        with empty_db.write() as session:
            week.save_week(session, brought)
        with empty_db.read() as session:
            kept = week.load_week(session, MONDAY).consumables
        assert kept == (() if brought.consumables == () else whole.consumables)
