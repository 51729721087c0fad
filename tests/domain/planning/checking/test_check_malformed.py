"""A plan that makes no sense is answered, not refused: the checker reports and never raises."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from domain.planning.check import check
from domain.planning.plan import (
    LEVELS,
    ChargePart,
    FlaskCharge,
    From,
    KilnLoad,
    LeftOut,
    Level,
    MetalOrder,
    Plan,
    PlannedFlask,
    Ring,
)
from domain.planning.problem import Problem
from domain.units import Length, Mass, Temperature

FLASKS, LOADS = ("F0", "A", "B", "C", "D", "E", "H"), ("L0", "L1", "L2", "L3")


def name(*known: str) -> st.SearchStrategy[str]:
    return st.sampled_from((*known, "", "unknown"))


numbers = st.one_of(st.integers(-3, 3), st.integers(-20_000, 20_000), st.integers(-(10**18), 10**18))
flask_names, load_names = name(*FLASKS), name(*LOADS)
jobs = name("J0", "J1", "J2", "J3", "J4", "J5", "J6", "J9")
rings = st.builds(
    Ring, pieces=st.lists(st.tuples(jobs, numbers), max_size=3).map(tuple), height=numbers.map(Length), by_count=st.booleans()
)
flasks = st.builds(
    PlannedFlask,
    id=flask_names,
    melt=name("silver", "gold", "gold/OWN", "bronze"),
    size=name("S", "M"),
    investment=name("gypsum", "phosphate"),
    rings=st.lists(rings, max_size=3).map(tuple),
    temperature=numbers.map(Temperature),
    charge=numbers.map(Mass),
    invest_start=numbers,
    invest_end=numbers,
    load=load_names,
    machine=name("V1", "C1"),
    people=st.lists(name("ana", "ben", "cy"), max_size=3).map(tuple),
    cast_start=numbers,
    cast_end=numbers,
    knockout_start=numbers,
    knockout_end=numbers,
)
loads = st.builds(
    KilnLoad,
    id=load_names,
    kiln=name("K1", "K2"),
    program=name("P5", "P8"),
    rows=st.lists(st.lists(flask_names, max_size=4).map(tuple), max_size=3).map(tuple),
    load_at=numbers,
    start=numbers,
    program_end=numbers,
)
sources = name("AG1", "AG2", "AG4", "AU1", "OWN", "BZ1", "master", "fine-gold", *FLASKS)
parts = st.builds(ChargePart, origin=st.sampled_from(From), ref=sources, mass=numbers.map(Mass))
charges = st.builds(FlaskCharge, flask=flask_names, parts=st.lists(parts, max_size=3).map(tuple))
days = st.sampled_from(("2025-03-10", "2025-03-12", "9999-12-31", "0001-01-01", "", "12.3.2025"))
orders = st.builds(
    MetalOrder,
    metal=name("master", "fine-gold", "unsold"),
    needed=numbers.map(Mass),
    mass=numbers.map(Mass),
    order_by=days,
    arrives=days,
    flasks=st.lists(flask_names, max_size=3).map(tuple),
)
left_out = st.builds(
    LeftOut, job=jobs, pieces=numbers, rule=numbers, reason=st.sampled_from(("", "too wide")), remedy=st.just("a larger flask")
)
levels = st.builds(Level, name=name(*LEVELS), value=numbers, bound=st.none() | numbers)


def some(of: st.SearchStrategy[object]) -> st.SearchStrategy[tuple[object, ...]]:
    return st.lists(of, max_size=5).map(tuple)


nonsense = st.builds(
    Plan,
    flasks=some(flasks),
    loads=some(loads),
    charges=some(charges),
    orders=some(orders),
    left_out=some(left_out),
    levels=some(levels),
)
slow_is_fine = settings(
    max_examples=200,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)


@slow_is_fine
@given(answer=nonsense, metal=st.booleans())
def test_nonsense_is_reported_in_words(answer: Plan, metal: bool, problem: Problem) -> None:
    found = check(problem, answer, metal=metal)
    assert found, "a plan that leaves F0 out or J9 unmentioned cannot be sound"
    assert all(0 <= v.rule <= 11 and v.where and v.message for v in found)


@slow_is_fine
@given(data=st.data())
def test_a_sound_plan_with_one_field_of_nonsense_is_answered(data: st.DataObject, problem: Problem, plan: Plan) -> None:
    kind = data.draw(st.sampled_from(("flasks", "loads", "charges", "orders", "left_out", "levels")))
    strange = {"flasks": flasks, "loads": loads, "charges": charges, "orders": orders, "left_out": left_out, "levels": levels}
    things = list(getattr(plan, kind))
    at = data.draw(st.integers(0, len(things) - 1))
    other = data.draw(strange[kind])
    field = data.draw(st.sampled_from(list(type(other).__dataclass_fields__)))
    things[at] = replace(things[at], **{field: getattr(other, field)})
    found = check(problem, replace(plan, **{kind: tuple(things)}))
    assert all(0 <= v.rule <= 11 and v.where and v.message for v in found)


def test_a_plan_of_nothing_leaves_every_job_unanswered(problem: Problem) -> None:
    found = check(problem, Plan())
    assert {v.where for v in found if v.rule == 11} == {f"job {job.id}" for job in problem.jobs}
    assert {v.where for v in found if v.rule == 10} == {"flask F0", "kiln load L0"}
