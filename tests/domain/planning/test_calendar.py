"""Working days, closures and shifts as the planner sees them."""

from dataclasses import replace
from datetime import date

from domain.planning.calendar import arrival, plan_day, shifts_on, works
from domain.planning.clock import Clock
from domain.shop.burnout import Outage
from domain.shop.casting import Person, Shift, Weekday
from domain.shop.shop import Shop, ShopRules

MONDAY = date(2026, 11, 30)
WEEK = tuple(Shift(day=d, opens=480, closes=1020) for d in list(Weekday)[:5])
CASTER = Person(id="c1", name="Caster", casts=True, shifts=WEEK)
SHOP = Shop(
    rules=ShopRules(timezone="Europe/Vienna"), alloys=(), materials=(), sizes=(), investments=(), programs=(), kilns=(),
    machines=(), people=(CASTER,), closures=(), metals=(),
)  # fmt: skip
CLOCK = Clock(MONDAY, "Europe/Vienna")


def test_a_shop_works_on_days_with_a_shift_that_are_not_closed() -> None:
    closed = replace(SHOP, closures=(Outage(first="2026-12-08", last="2026-12-08", reason="holiday"),))
    assert works(closed, date(2026, 12, 7))
    assert not works(closed, date(2026, 12, 8))
    assert not works(closed, date(2026, 12, 6))


def test_metal_ordered_on_friday_with_two_days_lead_arrives_on_tuesday() -> None:
    assert arrival(SHOP, date(2026, 12, 4), 2) == date(2026, 12, 8)


def test_a_closure_puts_the_arrival_off() -> None:
    closed = replace(SHOP, closures=(Outage(first="2026-12-07", last="2026-12-08"),))
    assert arrival(closed, date(2026, 12, 4), 2) == date(2026, 12, 10)


def test_metal_with_no_lead_time_is_here_at_once() -> None:
    assert arrival(SHOP, MONDAY, 0) == MONDAY


def test_a_shop_that_never_works_still_gets_an_answer() -> None:
    assert arrival(replace(SHOP, people=()), MONDAY, 3) == date(2026, 12, 3)


def test_an_absent_person_has_no_shift_and_the_day_opens_with_the_others() -> None:
    late = Person(id="c2", name="Late", casts=True, shifts=(Shift(day=Weekday.MONDAY, opens=600, closes=1140),))
    ill = replace(CASTER, away=(Outage(first="2026-11-30", last="2026-11-30", reason="ill"),))
    shop = replace(SHOP, people=(ill, late))
    assert [s.person for s in shifts_on(shop, CLOCK, MONDAY)] == ["c2"]
    day = plan_day(shop, CLOCK, MONDAY)
    assert (day.opens, day.closes) == (600, 1140)


def test_a_closed_day_has_no_opening_hours() -> None:
    sunday = plan_day(SHOP, CLOCK, date(2026, 12, 6))
    assert (sunday.opens, sunday.closes) == (None, None)
    assert sunday.end - sunday.midnight == 1440
