"""A replan is steady: what people have read stays, what is fixed never moves, and what is new fits in beside it."""

import statistics
from dataclasses import replace
from types import ModuleType

import pytest

from domain.planning.check import check
from domain.planning.manager import plan_by_hand
from domain.planning.measure import values
from domain.stock.week_charges import WeekCharges
from domain.week import answer
from domain.week.answer import plan_week


@pytest.fixture(autouse=True)
def _no_metal(monkeypatch: pytest.MonkeyPatch) -> None:
    """These weeks have no lots to weigh from; the charges have tests of their own."""
    monkeypatch.setattr(answer, "week_charges", lambda *_: WeekCharges(composed={}))


def test_no_replan_moves_what_is_fixed_and_a_rush_job_moves_little(replans: ModuleType, long_slices: bool) -> None:
    rows = [replans.moved(case, 0.1)[0] for case in replans.replans(60 if long_slices else 12)]
    assert {row.kind for row in rows} == set(replans.KINDS)
    assert [row for row in rows if row.pinned or row.broken] == []
    assert [row for row in rows if row.kind == "same data" and (row.flasks or row.jobs)] == []
    assert statistics.median(row.jobs for row in rows if row.kind == "rush job") <= 0.1


def test_a_late_delivery_is_mended_although_flasks_stand_in_a_load_that_is_fixed(replans: ModuleType) -> None:
    for seed in (37, 48):
        case = next(c for c in replans.replans_of(seed) if c.kind == "delivery late")
        plan = plan_week(case.week, seconds=0.1, deterministic=True)
        assert check(case.week, plan, metal=False) == ()
        assert [note for note in plan.notes if "Planned anew" in note] == []


def test_the_same_data_give_exactly_the_plan_that_was_read_however_long_the_search(replans: ModuleType) -> None:
    week, plan = replans.read(3, 0.1)
    again = plan_week(replace(week, previous=plan), seconds=2, deterministic=True)
    assert (again.flasks, again.loads, again.left_out) == (plan.flasks, plan.loads, plan.left_out)


def test_a_cheaper_plan_is_no_reason_to_move_unless_one_asks_for_a_plan_anew(studio: ModuleType) -> None:
    week = studio.studio(1, 40)
    read = plan_by_hand(week)
    steady = plan_week(replace(week, previous=read), seconds=1, deterministic=True)
    anew = plan_week(replace(week, previous=read), seconds=1, deterministic=True, anew=True)
    assert set(steady.flasks) == set(read.flasks)
    assert values(anew.levels)[2] < values(steady.levels)[2]
    assert anew.levels[6].value > 0


def test_flasks_that_share_a_kiln_load_with_a_pinned_one_stay_in_it(studio: ModuleType) -> None:
    week = studio.studio(2, 30)
    read = plan_by_hand(week)
    load = max(read.loads, key=lambda x: len(x.flasks))
    one = read.flask(load.flasks[0])
    assert one is not None
    assert len(load.flasks) > 1
    pinned = replace(week, previous=read, fixed_flasks=(one,), fixed_loads=(load,))
    plan = plan_week(pinned, seconds=0.2, deterministic=True)
    assert check(pinned, plan, metal=False) == ()
    assert set(plan.flasks) == set(read.flasks)


def test_what_was_left_out_is_planned_as_soon_as_it_can_be(studio: ModuleType) -> None:
    week = studio.studio(2, 20)
    melt = week.jobs[0].melt
    bare = replace(week, melts=tuple(replace(m, machines=frozenset()) if m.key == melt else m for m in week.melts))
    read = plan_week(bare, seconds=0.1, deterministic=True)
    assert read.left_out
    plan = plan_week(replace(week, previous=read), seconds=0.5, deterministic=True)
    assert plan.left_out == ()
    assert plan.levels[6].value == 0


def test_of_two_flasks_that_cannot_both_stay_one_stays(studio: ModuleType) -> None:
    week = studio.studio(2, 30)
    read = plan_by_hand(week)
    used = {s.id: sum(f.size == s.id for f in read.flasks) for s in week.shop.sizes}
    scarce = max(used, key=lambda s: used[s])
    sizes = tuple(replace(s, owned=max(1, used[s.id] - 1)) if s.id == scarce else s for s in week.shop.sizes)
    fewer = replace(week, shop=replace(week.shop, sizes=sizes), previous=read)
    plan = plan_week(fewer, seconds=0.2, deterministic=True)
    assert check(fewer, plan, metal=False) == ()
    assert plan.levels[6].value <= 2
