"""Flasks and loads have short numbers in the order of the clock, and keep them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from domain.planning.check import check
from domain.planning.manager import plan_by_hand
from domain.planning.names import numbered, renamed
from domain.week.build import problem_of
from webapp.demo import demo_week

PROBLEM = problem_of(demo_week(date(2026, 3, 2)))
PLAN = plan_by_hand(PROBLEM)
ODD = renamed(PLAN, lambda name: f"F{900 - int(name[1:])}", lambda name: f"L{400 + int(name[1:])}")


def test_a_first_plans_flasks_and_loads_are_numbered_in_the_order_of_the_clock() -> None:
    plan = numbered(PROBLEM, ODD)
    by_cast = sorted(plan.flasks, key=lambda f: (f.cast_start, f.machine))
    by_start = sorted(plan.loads, key=lambda k: (k.start, k.kiln))
    assert [f.id for f in by_cast] == [f"F{n}" for n in range(1, len(PLAN.flasks) + 1)]
    assert [k.id for k in by_start] == [f"L{n}" for n in range(1, len(PLAN.loads) + 1)]


def test_other_numbers_make_no_other_plan() -> None:
    assert check(PROBLEM, numbered(PROBLEM, ODD), metal=False) == ()


def test_what_people_have_read_keeps_its_number_and_new_numbers_come_after() -> None:
    read = replace(PLAN, flasks=PLAN.flasks[:10], loads=PLAN.loads[:3])
    again = numbered(replace(PROBLEM, previous=read), PLAN)
    before = {f.id for f in read.flasks}
    highest = max(int(name[1:]) for name in before)
    new = {f.id for f in again.flasks} - before
    assert before <= {f.id for f in again.flasks}
    assert {int(name[1:]) for name in new} == set(range(highest + 1, highest + 1 + len(new)))
