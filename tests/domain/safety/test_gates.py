"""Checklists that hold: what is open, what does not count any more, what may be read."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from domain.errors import InvalidValue
from domain.floor.stages import OFTEN, Stage
from domain.safety.checklist import MOST_POINTS, Pause, Point, Reading, checklist, checklist_together
from domain.safety.context import FlaskContext
from domain.safety.gates import GATES, LAST_STAGE, UNKNOWN, HeldBack, Override, Standing, Ticked, standing
from domain.safety.own_points import PointChange
from domain.safety.read_off import read_off
from domain.shop.alloy import Bond, CoolingMethod, CoolingRule, Heat
from domain.shop.casting import MachineKind
from domain.sources import Mark, Source
from domain.units import Mass, Temperature, TemperatureRange

QUENCH = CoolingRule(method=CoolingMethod.QUENCH, wait_minutes=12)
WINDOW = replace(QUENCH, not_above=Temperature.c(480), not_below=Temperature.c(300))
SILVER = FlaskContext(
    alloy="Silver 925",
    alloy_cautions=frozenset(),
    heat=Heat.TORCH,
    machine=MachineKind.CENTRIFUGE,
    fume=False,
    bond=Bond.GYPSUM,
    advised_against=False,
    liquid="water",
    size="3 × 4 in",
    large=False,
    people=1,
    pour=TemperatureRange.c(950, 980),
    flask_temperature=Temperature.c(540),
    charge=Mass.g(120),
    powder=Mass.g(644),
    cooling=QUENCH,
)
AT = datetime(2026, 3, 3, 9, tzinfo=UTC)
NOW = {"the alloy": "Silver 925", "the machine": "Arm 1"}
POINTS = checklist(Pause.MELT, SILVER)


def ticked(point: Point, **changed: object) -> Ticked:
    start = Ticked(point=point.id, text=point.text, reading="", who="Mara", account=1, at=AT, made_of=NOW)
    return replace(start, **changed)  # type: ignore[arg-type]


def stands(*ticks: Ticked, points: tuple[Point, ...] | None = POINTS, overrides: tuple[Override, ...] = ()) -> Standing:
    return standing(Pause.MELT, points, ticks, overrides, NOW)


def passed(points: dict[str, str], **changed: object) -> Override:
    start = Override(pause=Pause.MELT, reason="the gauge is broken", who="Ann", at=AT, points=points, made_of=NOW)
    return replace(start, **changed)  # type: ignore[arg-type]


def asks(reading: Reading, **changed: object) -> Point:
    units = {Reading.TEMPERATURE: "°C", Reading.MASS: "g", Reading.PRESSURE: "kPa"}
    start = Point(id="p", text="Read it", why="", source=Source(Mark.SHOP), required=True, reading=reading, unit=units.get(reading))
    return replace(start, **changed)  # type: ignore[arg-type]


def test_every_pause_stands_before_a_stage_and_no_stage_after_the_kiln_is_without_one() -> None:
    assert sorted({pause for pauses in GATES.values() for pause in pauses}) == sorted(Pause)
    assert set(GATES) == {str(s) for s in Stage if s not in {*OFTEN, Stage.LOADED}}
    assert LAST_STAGE[Pause.QUENCH] == Stage.KNOCKED_OUT


def test_a_required_point_that_is_open_holds_back_and_work_goes_on_at_the_first_open_one() -> None:
    first, second, *rest = POINTS
    half = stands(ticked(first), *(ticked(p) for p in rest))
    assert half.holds_back
    assert half.next is not None
    assert (half.next.point, half.next.number, half.done) == (second, 2, len(POINTS) - 1)
    assert second.text in str(HeldBack("F1", "cast", half))
    assert "point 2 is open" in str(HeldBack("F1", "cast", half))
    whole = stands(*(ticked(p) for p in POINTS))
    assert not whole.holds_back
    assert whole.next is None


def test_a_point_that_is_not_required_holds_nothing_back() -> None:
    pour = checklist(Pause.POUR, SILVER)
    optional = [p for p in pour if not p.required]
    found = standing(Pause.POUR, pour, [ticked(p) for p in pour if p.required], (), NOW)
    assert optional
    assert not found.holds_back
    assert found.next is not None
    assert found.next.point == optional[0]


def test_ticks_do_not_count_for_a_flask_that_became_another_and_it_is_said_why() -> None:
    before = {**NOW, "the alloy": "Gold 14 kt"}
    found = stands(*(ticked(p, made_of=before) for p in POINTS))
    assert len(found.open) == len([p for p in POINTS if p.required])
    assert found.states[0].void == "the alloy was Gold 14 kt and is Silver 925 now"
    assert found.states[0].tick is None
    more = stands(ticked(POINTS[0], made_of={"the alloy": "Silver 925"}))
    assert more.states[0].void == "the machine was nothing and is Arm 1 now"


def test_a_tick_counts_for_the_words_that_were_read() -> None:
    found = stands(ticked(POINTS[0], text="Put the kettle on."))
    assert found.states[0].void == "it read “Put the kettle on.”"
    assert not found.states[0].done


def test_a_point_that_asks_for_two_waits_for_the_second() -> None:
    points = (replace(POINTS[0], second=True),)
    once = stands(ticked(points[0]), points=points)
    assert once.states[0].waits
    assert once.holds_back
    assert "waits for a second person" in str(HeldBack("F1", "cast", once))
    assert not stands(ticked(points[0], second="Jo"), points=points).holds_back


def test_what_a_manager_let_pass_are_the_points_that_were_open_then_of_the_flask_as_it_was() -> None:
    first, second, *rest = POINTS
    done = [ticked(p) for p in rest]
    only_first = (passed({first.id: first.text}),)
    assert [s.point for s in stands(*done, overrides=only_first).open] == [second]
    both = {p.id: p.text for p in (first, second)}
    assert not stands(*done, overrides=(passed(both),)).holds_back
    assert stands(*done, overrides=(passed(both, made_of={}),)).holds_back
    assert stands(*done, overrides=(passed(both, pause=Pause.POUR),)).holds_back


def test_a_flask_whose_points_are_not_known_is_held_back_unless_a_manager_lets_it_pass() -> None:
    assert stands(points=None).holds_back
    assert "not known" in str(HeldBack("F1", "cast", stands(points=None)))
    assert not stands(points=None, overrides=(passed({UNKNOWN: ""}),)).holds_back


def test_a_load_is_asked_what_any_of_its_flasks_is_asked_and_no_more_than_is_read() -> None:
    resin = replace(SILVER, alloy="Gold 14 kt", fume=True, size="4 × 5 in")
    together = checklist_together(Pause.KILN, (SILVER, resin))
    single = {p.id for c in (SILVER, resin) for p in checklist(Pause.KILN, c)}
    assert {p.id for p in together} == single
    assert len(together) <= MOST_POINTS
    assert checklist_together(Pause.KILN, (SILVER,)) == checklist(Pause.KILN, SILVER)
    named = PointChange(id="own-a", pause=Pause.KILN, position=900, text="Say {alloy} aloud.", required=True, reading=Reading.NONE)
    assert checklist_together(Pause.KILN, (SILVER, resin), (named,))[-1].text == "Say Silver 925, Gold 14 kt aloud."


def test_a_shop_may_ask_for_a_second_person() -> None:
    change = PointChange(id="melt-crucible", pause=Pause.MELT, position=0, second=True)
    asked = {p.id: p.second for p in checklist(Pause.MELT, SILVER, (change,))}
    assert asked.pop("melt-crucible")
    assert not any(asked.values())
    assert change.edited


def test_the_flask_temperature_that_is_read_must_suit_all_pieces() -> None:
    context = replace(SILVER, flask_range=TemperatureRange.c(500, 580))
    point = next(p for p in checklist(Pause.POUR, context) if p.id == "pour-flask-temperature")
    assert read_off(point, "536.5") == "536.5 °C"
    assert read_off(point, "1000 °F") == "537.8 °C"
    for wrong, words in (("499", "too cold: not below 500 °C"), ("581", "too hot: not above 580 °C"), ("", "write down")):
        with pytest.raises(InvalidValue, match=words):
            read_off(point, wrong)


def test_a_quench_window_bounds_its_reading() -> None:
    point = next(p for p in checklist(Pause.QUENCH, replace(SILVER, cooling=WINDOW)) if p.id == "quench-window")
    assert read_off(point, "480") == "480 °C"
    with pytest.raises(InvalidValue, match="too hot"):
        read_off(point, "481")
    with pytest.raises(InvalidValue, match="too cold"):
        read_off(point, "299")


@pytest.mark.parametrize(
    ("point", "typed", "kept"),
    [
        (asks(Reading.NONE), "whatever", ""),
        (asks(Reading.TEMPERATURE, required=False), " ", ""),
        (asks(Reading.TEMPERATURE), "21,5", "21.5 °C"),
        (asks(Reading.TEMPERATURE), "100", "100 °C"),
        (asks(Reading.MASS, expected=Mass.g(120)), "118.4", "118.40 g"),
        (asks(Reading.MASS, expected=Mass.g(120)), "4 ozt", "124.41 g"),
        (asks(Reading.PRESSURE), "-85", "-85 kPa"),
        (asks(Reading.PRESSURE), "−0.9 bar", "-90 kPa"),
        (asks(Reading.PRESSURE), "15 psi", "103.4 kPa"),
    ],
)
def test_a_reading_is_kept_with_its_unit(point: Point, typed: str, kept: str) -> None:
    assert read_off(point, typed) == kept


@pytest.mark.parametrize(
    ("point", "typed"),
    [
        (asks(Reading.TEMPERATURE), "5360"),
        (asks(Reading.TEMPERATURE), "hot"),
        (asks(Reading.TEMPERATURE, expected=TemperatureRange.c(950, 980)), "990"),
        (asks(Reading.MASS), "0"),
        (asks(Reading.MASS, expected=Mass.g(120)), "12"),
        (asks(Reading.MASS, expected=Mass.g(120)), "-120"),
        (asks(Reading.PRESSURE), "-102"),
        (asks(Reading.PRESSURE), ""),
        (asks(Reading.TEMPERATURE, not_above=Temperature.c(500)), "501"),
    ],
)
def test_a_reading_that_cannot_be_or_must_not_be_is_refused_beside_its_field(point: Point, typed: str) -> None:
    with pytest.raises(InvalidValue) as refused:
        read_off(point, typed)
    assert refused.value.field == "reading"
