"""A reason names a change, and the change helps."""

from dataclasses import replace
from types import ModuleType

import pytest

from domain.planning.explain.changes import (
    AddFlask,
    AllowSplit,
    Both,
    Change,
    EarlierPatterns,
    KilnBack,
    LaterDate,
    MetalBy,
    MoreMetal,
    NightLoad,
    Overtime,
    PlanAhead,
    SecondKiln,
    SecondMachine,
    WorkOn,
)
from domain.planning.explain.mends import Mends
from domain.planning.explain.reasons import Reason, why_late, why_out
from domain.planning.manager import plan_by_hand
from domain.planning.measure import values
from domain.planning.problem import Problem, Window
from domain.stock.week_charges import WeekCharges
from domain.units import Mass, TemperatureRange
from domain.week import answer


@pytest.fixture(autouse=True)
def _no_metal(monkeypatch: pytest.MonkeyPatch) -> None:
    """These weeks have no lots to weigh from; the charges have tests of their own."""
    monkeypatch.setattr(answer, "week_charges", lambda *_: WeekCharges(composed={}))


@pytest.fixture
def week(studio: ModuleType) -> Problem:
    base = studio.studio(1, 0, days=6)
    jobs = [studio.job("J1", "silver", 2, temperatures=TemperatureRange.c(500, 600), due=2)]
    return studio.problem(base.shop, jobs, days=6)


def with_job(week: Problem, **changes: object) -> Problem:
    return replace(week, jobs=(replace(week.jobs[0], **changes),))  # type: ignore[arg-type]


def first_reason(week: Problem, job: str = "J1") -> Reason:
    plan = plan_by_hand(week)
    late = {entry.job: entry.reasons for entry in why_late(week, plan)}
    return (late | why_out(week, plan))[job][0]


def made(week: Problem, change: Change) -> tuple[int, ...]:
    return values(plan_by_hand(change.apply(week)).levels)[:2]


def test_every_change_that_is_named_reduces_the_lateness_and_is_of_a_kind_of_its_own(
    late_cases: ModuleType, long_slices: bool
) -> None:
    cases = list(late_cases.cases(8 if long_slices else 2, 0.05))
    for case in cases:
        assert 1 <= len(case.reasons) <= 3
        assert len({type(reason.change) for reason in case.reasons}) == len(case.reasons)
    wrong = [
        f"{reason.reason}. {reason.remedy}" for case in cases for reason in case.reasons if not late_cases.helped(case, reason, 0.1)
    ]
    assert wrong == []


def test_late_patterns_are_named_with_the_last_day_that_would_do(week: Problem) -> None:
    late = with_job(week, ready=3 * 1440)
    reason = first_reason(late)
    assert reason.change == EarlierPatterns("J1", "2026-03-04")
    assert reason.reason == "Job J1: its patterns are ready on Thu 5 Mar"
    assert reason.remedy == "Get its patterns by Wed 4 Mar."
    assert made(late, reason.change) == (0, 0)


def test_metal_that_comes_late_is_named_with_the_day_by_which_it_is_wanted(week: Problem) -> None:
    melts = tuple(replace(m, stock_castable=Mass.g(1), order_from=4 * 1440 + 540) for m in week.melts)
    reason = first_reason(replace(week, melts=melts))
    assert reason.rule == 9
    assert reason.change == MetalBy("silver", "2026-03-04")
    assert "cannot be here before Fri 6 Mar" in reason.reason
    assert reason.remedy == "Have metal for silver delivered by Wed 4 Mar."


def test_flasks_in_use_are_named_with_their_size_and_until_when(studio: ModuleType, week: Problem) -> None:
    hot, cold = TemperatureRange.c(580, 600), TemperatureRange.c(500, 520)
    jobs = [replace(week.jobs[0], id=f"J{n}", name=f"J{n}", temperatures=t) for n, t in ((1, hot), (2, cold))]
    sizes = tuple(replace(s, owned=int(s.id == "small")) for s in week.shop.sizes)
    one = studio.problem(replace(week.shop, sizes=sizes), jobs, days=6)
    one = replace(one, jobs=tuple(replace(j, due="2026-03-02") for j in one.jobs))
    reason = first_reason(one, "J2")
    assert reason.change == AddFlask("small", 1)
    assert reason.reason.startswith("Job J2: the only small flask is in use until Mon 2 Mar ")
    assert reason.remedy == "Buy or borrow one more small flask."
    assert made(one, reason.change) < values(plan_by_hand(one).levels)[:2]


def test_a_kiln_out_of_service_is_wanted_back(week: Problem) -> None:
    down = {k.id: (Window(0, 4 * 1440),) for k in week.shop.kilns}
    reason = first_reason(replace(week, kiln_outages=down))
    assert reason.change == KilnBack("kiln 1")
    assert "Have kiln 1 back in service for casts on" in reason.remedy


def test_what_is_in_the_way_of_a_job_left_out_is_tried_although_much_was_tried_before(week: Problem) -> None:
    attended = replace(week, shop=replace(week.shop, kilns=tuple(replace(k, unattended=False) for k in week.shop.kilns)))
    long = with_job(attended, burnout_minutes=600)
    none = replace(week, melts=tuple(replace(m, stock_castable=Mass.g(1), order_from=None) for m in week.melts))
    for tight, kind in ((long, NightLoad), (none, MetalBy)):
        plan = plan_by_hand(tight)
        assert [entry.job for entry in plan.left_out] == ["J1"]
        (reason,) = Mends(tight, plan, budget=-1).reasons(tight.jobs[0])
        assert isinstance(reason.change, kind)
        assert made(tight, reason.change) < values(plan.levels)[:2]


def test_a_job_due_before_the_week_needs_another_date(week: Problem) -> None:
    reason = first_reason(with_job(week, due="2026-02-27"))
    assert reason.change == LaterDate("J1", "2026-03-02")
    assert reason.remedy == "Agree with the customer on Mon 2 Mar."


def test_a_change_changes_what_it_names_and_nothing_else(week: Problem) -> None:
    clock, small = week.clock, week.size["small"]
    assert AddFlask("small", 2).apply(week).size["small"].owned == small.owned + 2
    assert EarlierPatterns("J1", "2026-03-04").apply(week).job["J1"].ready == 2 * 1440
    assert LaterDate("J1", "2026-03-09").apply(week).job["J1"].due == "2026-03-09"
    assert AllowSplit("J1").apply(with_job(week, may_split=False)) == week
    assert MoreMetal("silver", Mass.g(5)).apply(week).melt["silver"].stock_castable == Mass.g(1_000_005)
    metal = MetalBy("silver", "2026-03-04").apply(week).melt["silver"].order_from
    assert metal == week.days[2].opens
    longer = Overtime("2026-03-03", 60).apply(week)
    assert [b.closes - a.closes for a, b in zip(week.shifts, longer.shifts, strict=True) if a != b] == [60, 60]
    day = WorkOn("p0", "2026-03-07", 5 * 1440 + 540, 5 * 1440 + 900).apply(week).days[5]
    assert (day.opens, day.closes) == (5 * 1440 + 540, 5 * 1440 + 900)
    attended = replace(week, shop=replace(week.shop, kilns=tuple(replace(k, unattended=False) for k in week.shop.kilns)))
    assert [k.unattended for k in NightLoad("kiln 1").apply(attended).shop.kilns] == [True, False]
    second = SecondKiln("kiln 1", "2026-03-04").apply(week)
    assert second.kiln_outages["second kiln 1"] == (Window(0, 1440), Window(3 * 1440, week.end))
    assert SecondMachine("caster 1").apply(week).melt["silver"].machines == {"caster 1", "second caster 1"}
    ahead = PlanAhead(7).apply(week)
    assert (len(ahead.days), ahead.end, len(ahead.shifts)) == (13, 13 * 1440, 2 * len(week.shifts))
    both = Both(AddFlask("small", 1), SecondMachine("caster 1")).apply(week)
    assert (both.size["small"].owned, len(both.machine)) == (small.owned + 1, 2)
    assert clock == both.clock
