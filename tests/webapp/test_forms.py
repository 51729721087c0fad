"""Forms read what people type, in its unit, and say beside the field what they cannot read."""

from __future__ import annotations

import pytest

from domain.starting.alloys import starting_alloys
from domain.units import Share, Temperature
from webapp.exchange.documents import AlloyDocument, BurnoutProgramDocument, JobDocument
from webapp.forms import Group, Rows, form_of, read_form, typed_from
from webapp.forms.durations import minutes_text, read_minutes, read_time


@pytest.mark.parametrize(
    ("typed", "minutes"),
    [
        ("90", 90),
        ("90 min", 90),
        ("1.5 h", 90),
        ("1,5 h", 90),
        ("1 h 30 min", 90),
        ("1h30", 90),
        ("1:30", 90),
        ("2 hours", 120),
        ("0", 0),
    ],
)
def test_a_duration_is_read_as_it_is_said(typed: str, minutes: int) -> None:
    assert read_minutes(typed) == minutes


@pytest.mark.parametrize("typed", ["", "soon", "-5", "1:75", "h", "1.5", "99999999999999999999 h x"])
def test_what_is_no_duration_is_not_guessed(typed: str) -> None:
    assert read_minutes(typed) is None


@pytest.mark.parametrize(("minutes", "text"), [(0, "0 min"), (45, "45 min"), (60, "1 h"), (90, "1 h 30 min"), (1440, "24 h")])
def test_a_duration_is_shown_with_its_unit_and_read_back_the_same(minutes: int, text: str) -> None:
    assert minutes_text(minutes) == text
    assert read_minutes(text) == minutes


@pytest.mark.parametrize(
    ("typed", "minute"),
    [("8", 480), ("8:30", 510), ("08.30", 510), ("4:30 pm", 990), ("12 am", 0), ("12 pm", 720), ("24:00", 1440)],
)
def test_a_time_of_day_is_read_as_it_is_said(typed: str, minute: int) -> None:
    assert read_time(typed) == minute


@pytest.mark.parametrize("typed", ["", "25:00", "8:75", "noon", "13 pm", "24:01"])
def test_what_is_no_time_of_day_is_not_guessed(typed: str) -> None:
    assert read_time(typed) is None


@pytest.mark.parametrize("alloy", starting_alloys(), ids=lambda alloy: alloy.id)
def test_every_starting_alloy_survives_its_form_unchanged(alloy: object) -> None:
    read = read_form(AlloyDocument, typed_from(AlloyDocument, alloy), {"id": alloy.id, "sources": alloy.sources})  # type: ignore[attr-defined]
    assert read.errors == {}
    assert read.value == alloy


def test_an_optional_group_left_empty_is_none() -> None:
    alloy = starting_alloys()[0]
    typed = {name: text for name, text in typed_from(AlloyDocument, alloy).items() if not name.startswith("standard.")}
    assert read_form(AlloyDocument, typed, {"id": "x"}).value.standard is None


def test_an_emptied_row_is_a_removed_row_and_errors_still_find_theirs() -> None:
    typed = {
        "name": "x",
        "segments.0.target": "",
        "segments.0.purpose": "",
        "segments.3.target": "hot",
        "segments.3.ramp_minutes": "60",
        "segments.3.hold_minutes": "60",
        "segments.3.purpose": "burn",
    }
    assert set(read_form(BurnoutProgramDocument, typed, {"id": "x"}).errors) == {"segments.3.target"}


def test_shares_and_temperatures_may_be_typed_in_other_units() -> None:
    alloy = next(a for a in starting_alloys() if a.id == "silver-925")
    typed = {**typed_from(AlloyDocument, alloy), "composition.0.low": "925 ‰", "pour.low": "1750 F"}
    value = read_form(AlloyDocument, typed, {"id": "x"}).value
    assert value.composition[0].low == Share.permille(925)
    assert value.pour.low == Temperature.f(1750)


def test_a_range_that_ends_below_its_start_is_refused_at_the_range() -> None:
    alloy = starting_alloys()[0]
    typed = {**typed_from(AlloyDocument, alloy), "pour.low": "1200 °C", "pour.high": "900 °C"}
    assert "below its start" in read_form(AlloyDocument, typed, {"id": "x"}).errors["pour"]


def test_an_empty_form_says_of_every_needed_field_that_it_must_be_filled_in() -> None:
    errors = read_form(JobDocument, {}, {"id": "J"}).errors
    assert set(errors.values()) == {"must be filled in"}
    assert {"item", "alloy", "section", "material", "quantity", "size.width", "ready", "due"} <= set(errors)


def test_a_field_that_is_not_of_the_form_is_ignored_and_never_reaches_the_value() -> None:
    alloy = starting_alloys()[0]
    typed = {**typed_from(AlloyDocument, alloy), "id": "other", "sources.density.mark": "published", "__class__": "x"}
    read = read_form(AlloyDocument, typed, {"id": "kept"})
    assert read.value.id == "kept"
    assert read.value.sources == {}


def test_lists_have_spare_rows_and_sections_their_own_ranges() -> None:
    form = form_of(AlloyDocument, typed_from(AlloyDocument, starting_alloys()[0]))
    by_name = {item.name: item for item in form.items}
    composition, flask = by_name["composition"], by_name["flask_temperature"]
    assert isinstance(composition, Rows)
    assert isinstance(flask, Group)
    assert len(composition.rows) == len(starting_alloys()[0].composition) + 2
    assert [item.label for item in flask.items] == ["thin", "medium", "heavy"]
