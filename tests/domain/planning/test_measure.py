"""What a plan is worth, level by level, on numbers worked out by hand."""

from dataclasses import replace
from types import ModuleType

import pytest

from domain.mould.ring import Ring
from domain.planning.measure import compare, days_late, measure, planned_pieces
from domain.planning.plan import KilnLoad, Plan, PlannedFlask
from domain.planning.problem import Problem
from domain.units import Length, Mass, Temperature, TemperatureRange

DAY = 1440


@pytest.fixture
def week(studio: ModuleType) -> Problem:
    """Two silver jobs and a bronze one; casters until 17:00; flasks at 8 and 11, a load at 25."""
    base = studio.studio(1, 0)
    wide = TemperatureRange.c(500, 600)
    jobs = [
        studio.job("A", "silver", 3, temperatures=wide, due=1, weight=2),
        studio.job("B", "silver", 2, temperatures=wide, due=3),
        studio.job("C", "bronze", 1, temperatures=wide, due=0, weight=3),
    ]
    people = [studio.person("p", 480, 1020)]
    shop = replace(base.shop, people=tuple(people))
    return studio.problem(shop, jobs, days=5)


def flask(
    name: str, melt: str, pieces: dict[str, int], cast: int, *, size: str = "small", machine: str = "caster 1"
) -> PlannedFlask:
    return PlannedFlask(
        id=name,
        melt=melt,
        size=size,
        investment="gypsum",
        rings=(Ring(pieces=tuple(pieces.items()), height=Length.mm(12)),),
        temperature=Temperature.c(550),
        charge=Mass.g(50),
        invest_start=480,
        invest_end=495,
        load="L1",
        machine=machine,
        people=("p",),
        cast_start=cast,
        cast_end=cast + 12,
        knockout_start=cast + 30,
        knockout_end=cast + 35,
    )


LOAD = KilnLoad(id="L1", kiln="kiln 1", program="short", rows=(("F1", "F2", "F3"),), load_at=700, start=1500, program_end=1830)
PLAN = Plan(
    flasks=(
        flask("F1", "silver", {"A": 2, "B": 2}, 2 * DAY + 600),
        flask("F2", "bronze", {"C": 1}, 2 * DAY + 640, size="middle"),
        flask("F3", "silver", {"A": 1}, 2 * DAY + 1030),
    ),
    loads=(LOAD,),
)


def test_every_level_is_what_its_definition_says(week: Problem) -> None:
    names = {level.name: level.value for level in measure(week, replace(PLAN, flasks=PLAN.flasks[:2]))}
    assert names["left out"] == 2 * 1  # one piece of A, which counts 2
    assert names["weighted days late"] == 2 * 1 + 3 * 2  # A due on day 1, C on day 0; both knocked out on day 2
    assert names["flasks and loads"] == 8 + 11 + 25
    assert names["overtime"] == 0
    assert names["crucible changes"] == 1
    assert names["idle minutes"] == 640 - 612 - 10  # the gap less the crucible change
    assert names["changed flasks"] == 0


def test_overtime_counts_from_the_latest_shift_of_a_caster(week: Problem) -> None:
    names = {level.name: level.value for level in measure(week, PLAN)}
    assert names["overtime"] == 1030 + 12 - 1020
    assert names["crucible changes"] == 2
    assert names["left out"] == 0


def test_casts_of_other_machines_and_days_are_no_neighbours(week: Problem) -> None:
    apart = (PLAN.flasks[0], replace(PLAN.flasks[1], machine="caster 2"), replace(PLAN.flasks[2], cast_start=3 * DAY + 600))
    names = {level.name: level.value for level in measure(week, replace(PLAN, flasks=apart))}
    assert (names["crucible changes"], names["idle minutes"]) == (0, 0)


def test_a_job_is_late_by_its_last_knock_out(week: Problem) -> None:
    assert days_late(week, PLAN) == {"A": 1, "C": 2}


def test_a_flask_is_changed_when_anything_that_people_read_of_it_is_another(week: Problem) -> None:
    again = replace(week, previous=PLAN)

    def changed(plan: Plan) -> int:
        return measure(again, plan)[6].value

    first, second, third = PLAN.flasks
    assert changed(PLAN) == 0
    assert changed(replace(PLAN, flasks=(first, second))) == 1
    assert changed(replace(PLAN, flasks=(first, second, replace(third, cast_start=third.cast_start + 1)))) == 1
    assert changed(replace(PLAN, flasks=(first, second, replace(third, temperature=Temperature.c(560))))) == 0
    assert changed(replace(PLAN, loads=(replace(LOAD, start=LOAD.start + 5),))) == 3
    assert measure(replace(again, fixed_flasks=(first,)), replace(PLAN, flasks=(second, third)))[6].value == 0


def test_the_first_level_that_differs_decides(week: Problem) -> None:
    complete, lacking = measure(week, PLAN), measure(week, replace(PLAN, flasks=PLAN.flasks[:2]))
    assert compare(complete, lacking) == -1
    assert compare(lacking, complete) == 1
    assert compare(complete, complete) == 0


def test_pieces_are_counted_over_all_flasks() -> None:
    assert planned_pieces(PLAN) == {"A": 3, "B": 2, "C": 1}
