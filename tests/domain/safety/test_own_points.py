"""A shop edits its checklists: within limits, with reasons where a caution is weakened."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import product

import pytest

from domain.errors import InvalidValue
from domain.safety.catalogue import catalogue
from domain.safety.checklist import MOST_POINTS, Pause, Point, Reading, checklist
from domain.safety.condition_words import condition, known_cautions
from domain.safety.context import FlaskContext
from domain.safety.own_points import PointChange, change_of, last_position, moved, restored
from domain.safety.point_limits import fullest, overfull
from domain.safety.point_rules import LONGEST_TEXT, needs_reason, normal, problems
from domain.safety.points import rows
from domain.shop.alloy import Bond, CoolingMethod, CoolingRule, Heat
from domain.shop.casting import MachineKind
from domain.sources import Mark
from domain.units import Mass, Temperature, TemperatureRange

CAUTIONS = known_cautions()
AIR = CoolingRule(method=CoolingMethod.AIR, wait_minutes=30)
QUENCH = CoolingRule(method=CoolingMethod.QUENCH, wait_minutes=12)
WINDOW = replace(QUENCH, not_above=Temperature.c(480))
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


def own(pause: Pause, name: str = "own-a", **conditions: str | bool) -> PointChange:
    position = last_position(pause) + 10 * len(name)
    return PointChange(
        id=name,
        pause=pause,
        position=position,
        text="Close the window.",
        required=True,
        reading=Reading.NONE,
        conditions=conditions,
    )


def standing(point: str, *changes: PointChange) -> PointChange:
    found = change_of(point, changes)
    assert found is not None
    return found


def asked(pause: Pause, context: FlaskContext, *changes: PointChange) -> dict[str, Point]:
    return {point.id: point for point in checklist(pause, context, changes)}


def every_flask() -> Iterator[FlaskContext]:
    yes_no = (False, True)
    alloys = [
        frozenset(c for c, on in zip(sorted(CAUTIONS), bits, strict=True) if on) for bits in product(yes_no, repeat=len(CAUTIONS))
    ]
    for h, m, b, f, g, p, c, a in product(Heat, MachineKind, Bond, yes_no, yes_no, (1, 2), (QUENCH, WINDOW, AIR), alloys):
        yield replace(SILVER, heat=h, machine=m, bond=b, fume=f, large=g, people=p, cooling=c, alloy_cautions=a)


def test_without_changes_the_list_is_the_starting_list() -> None:
    assert all(fullest(pause) <= MOST_POINTS and not overfull(pause) for pause in Pause)
    assert [point.id for point in catalogue()] == [row["id"] for row in rows("checklist.toml")]
    assert not any(point.change or point.dropped or point.starting_text for point in catalogue())


@pytest.mark.parametrize("pause", Pause)
def test_the_fullest_flask_is_the_fullest_of_all_that_there_are(pause: Pause) -> None:
    first = next(row["id"] for row in rows("checklist.toml") if row["pause"] == pause)
    changes = (
        own(pause, "own-a", heat="torch", caution="nickel"),
        own(pause, "own-bb", alone=False, cooling="air cool"),
        own(pause, "own-ccc", bond="phosphate", large=True),
        replace(standing(first), dropped=True, reason="it is on the door"),
    )
    assert fullest(pause, changes) == max(len(checklist(pause, context, changes)) for context in every_flask())


@pytest.mark.parametrize(
    ("pause", "conditions", "who"),
    [
        (Pause.KILN, {}, "resin patterns"),
        (Pause.MELT, {}, "torch"),
        (Pause.MELT, {"fume": True}, "resin patterns and torch"),
        (Pause.POUR, {"machine": "spring centrifuge"}, "large flasks and spring centrifuge"),
    ],
)
def test_a_tenth_point_is_refused_and_the_flasks_are_named(pause: Pause, conditions: dict[str, str | bool], who: str) -> None:
    (message,) = problems(own(pause, **conditions), None, (), CAUTIONS).values()
    assert f"{who} (10 points)" in message
    assert "Leave out another point" in message


def test_a_point_for_flasks_that_have_room_is_taken() -> None:
    assert problems(own(Pause.MELT, heat="induction"), None, (), CAUTIONS) == {}
    assert problems(own(Pause.KILN, fume=False), None, (), CAUTIONS) == {}
    assert problems(own(Pause.INVEST), None, (), CAUTIONS) == {}


def test_room_made_by_leaving_one_out_is_not_given_twice() -> None:
    left_out = replace(standing("melt-fire"), dropped=True, reason="a fire watch stands by")
    added = own(Pause.MELT, heat="torch")
    assert problems(added, None, (left_out,), CAUTIONS) == {}
    back = normal(replace(left_out, dropped=False))
    assert "torch (10 points)" in problems(back, left_out, (left_out, added), CAUTIONS)[""]


def test_rewording_a_full_list_is_not_refused() -> None:
    before = standing("melt-fire")
    after = normal(replace(before, text="Clear the bench."))
    assert problems(after, before, (), CAUTIONS) == {}


def test_the_shops_words_reading_and_tick_reach_the_flask() -> None:
    change = normal(replace(standing("invest-liquid"), text="Warm {liquid} to the wall mark.", required=True, reading=Reading.NONE))
    point = asked(Pause.INVEST, SILVER, change)["invest-liquid"]
    assert point.text == "Warm water to the wall mark."
    assert point.required
    assert point.unit is None
    assert point.source.mark is Mark.SHOP
    assert "common practice" in point.source.note


def test_another_kind_of_reading_expects_nothing_of_the_old_kind() -> None:
    assert asked(Pause.MELT, SILVER)["melt-charge"].expected == Mass.g(120)
    change = normal(replace(standing("melt-charge"), reading=Reading.TEMPERATURE))
    assert asked(Pause.MELT, SILVER, change)["melt-charge"].expected is None


def test_what_is_typed_as_it_starts_is_no_change() -> None:
    start = next(row for row in rows("checklist.toml") if row["id"] == "melt-charge")
    before = standing("melt-charge")
    typed = replace(before, text=f"  {start['text']} ", why=start["why"], required=True, reading=Reading.MASS)
    assert normal(typed) == before
    assert not normal(typed).edited


def test_an_own_point_is_asked_where_it_applies_and_nowhere_else() -> None:
    change = own(Pause.QUENCH, caution="nickel", alone=True)
    nickel = replace(SILVER, alloy_cautions=frozenset({"nickel"}))
    assert "own-a" in asked(Pause.QUENCH, nickel, change)
    assert "own-a" not in asked(Pause.QUENCH, SILVER, change)
    assert "own-a" not in asked(Pause.QUENCH, replace(nickel, people=2), change)
    assert "own-a" not in asked(Pause.POUR, nickel, change)


@pytest.mark.parametrize("weaker", [{"dropped": True}, {"required": False}])
def test_weakening_a_point_with_a_caution_needs_a_reason(weaker: dict[str, bool]) -> None:
    before = standing("melt-exhaust")
    after = normal(replace(before, **weaker))  # type: ignore[arg-type]
    assert set(problems(after, before, (), CAUTIONS)) == {"reason"}
    told = normal(replace(after, reason=" the hood runs\nall day "))
    assert problems(told, before, (), CAUTIONS) == {}
    assert told.reason == "the hood runs all day"


def test_a_reason_stands_only_while_the_point_is_weaker() -> None:
    weaker = replace(standing("melt-exhaust"), required=False, reason="the hood runs all day")
    assert normal(weaker).reason
    assert normal(replace(weaker, required=True)).reason == ""


def test_an_optional_point_of_common_practice_is_left_out_without_a_reason() -> None:
    before = standing("kiln-reading")
    assert not needs_reason(before, replace(before, dropped=True))
    own_optional = replace(own(Pause.INVEST), required=False)
    assert not needs_reason(own_optional, replace(own_optional, dropped=True))
    assert needs_reason(own(Pause.INVEST), replace(own_optional, dropped=True))
    assert needs_reason(own(Pause.INVEST), own_optional)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "say what"),
        ("x" * (LONGEST_TEXT + 1), "90 characters"),
        ("Read {colour}.", "braces"),
        ("Read {alloy.__class__}.", "braces"),
        ("Read {alloy!r:>99}.", "braces"),
        ("Read {alloy", "braces"),
        ("Read {}.", "braces"),
    ],
)
def test_words_that_cannot_be_read_or_filled_in_are_refused(text: str, said: str) -> None:
    before = standing("invest-tree")
    assert said in problems(normal(replace(before, text=text)), before, (), CAUTIONS)["text"]
    assert said in problems(normal(replace(own(Pause.INVEST), text=text)), None, (), CAUTIONS)["text"]


@pytest.mark.parametrize(
    ("name", "text"),
    [("heat", "microwave"), ("caution", "glitter"), ("fume", "perhaps"), ("weather", "hot"), ("without", "nickel")],
)
def test_an_unknown_condition_is_refused(name: str, text: str) -> None:
    with pytest.raises(InvalidValue):
        condition(name, text, CAUTIONS)
    assert problems(own(Pause.INVEST, **{name: text}), None, (), CAUTIONS)


def test_conditions_are_read_as_they_are_chosen() -> None:
    assert condition("fume", "yes", CAUTIONS) is True
    assert condition("alone", "no", CAUTIONS) is False
    assert condition("bond", "phosphate", CAUTIONS) == "phosphate"
    assert condition("caution", "lead", CAUTIONS | {"lead"}) == "lead"


def test_what_calls_for_a_starting_point_stays() -> None:
    before = standing("melt-gas")
    assert "stays as it is" in problems(replace(before, conditions={"heat": "induction"}), before, (), CAUTIONS)[""]


def test_moving_changes_places_with_the_neighbour_and_back() -> None:
    down = moved("invest-number", 1, ())
    assert [p.id for p in checklist(Pause.INVEST, SILVER, down)][:2] == ["invest-tree", "invest-number"]
    assert {change.id for change in down} == {"invest-number", "invest-tree"}
    assert not any(change.edited for change in down)
    up = moved("invest-number", -1, down)
    assert [p.id for p in checklist(Pause.INVEST, SILVER, up)] == [p.id for p in checklist(Pause.INVEST, SILVER)]


def test_moving_steps_over_what_is_left_out_and_stops_at_the_ends() -> None:
    left_out = replace(standing("invest-tree"), dropped=True, reason="weighed at the desk")
    changes = {change.id: change for change in (left_out, *moved("invest-number", 1, (left_out,)))}
    assert [p.id for p in catalogue(changes.values()) if not p.dropped][:2] == ["invest-resin", "invest-number"]
    assert moved("invest-number", -1, ()) == ()
    assert moved("invest-liquid", 1, ()) == ()
    assert moved("invest-tree", 1, (left_out,)) == ()
    assert moved("nothing", 1, ()) == ()


def test_restoring_gives_the_start_back_but_for_the_place() -> None:
    changed = replace(standing("melt-charge"), position=5, text="Weigh it.", required=False, reason="so", dropped=True)
    back = restored(changed)
    assert not back.edited
    assert back.position == 5
    (point,) = (p for p in checklist(Pause.MELT, SILVER, (back,)) if p.id == "melt-charge")
    assert point == asked(Pause.MELT, SILVER)["melt-charge"]


def test_a_change_of_a_point_that_is_no_longer_in_the_start_does_nothing() -> None:
    gone = PointChange(id="melt-gone", pause=Pause.MELT, position=0, text="Gone")
    assert checklist(Pause.MELT, SILVER, (gone,)) == checklist(Pause.MELT, SILVER)
    assert change_of("melt-nothing") is None
