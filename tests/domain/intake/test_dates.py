"""Dates with one reading are read; the others are asked by form, on a fixed Wednesday."""

from datetime import date

import pytest

from domain.errors import InvalidValue
from domain.intake.dates import DateReader, forms_of, hoped
from domain.intake.questions import Asked

TODAY = date(2026, 11, 25)


def reader(texts: tuple[str, ...] = (), **answers: str) -> DateReader:
    said = {key.replace("_", ":", 1).replace("_", "-"): answer for key, answer in answers.items()}
    return DateReader(TODAY, forms_of(texts), said)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-12-15", date(2026, 12, 15)),
        ("2026-12-15 00:00:00", date(2026, 12, 15)),
        ("15.12.2026", date(2026, 12, 15)),
        ("05.12.26", date(2026, 12, 5)),
        ("12/14/2026", date(2026, 12, 14)),
        ("19/12/26", date(2026, 12, 19)),
        ("12/12/2026", date(2026, 12, 12)),
        ("5 Dec 2026", date(2026, 12, 5)),
        ("5. Dezember 2026", date(2026, 12, 5)),
        ("Dec 5, 2026", date(2026, 12, 5)),
        ("5th of December 2026", date(2026, 12, 5)),
        ("5-Dec-26", date(2026, 12, 5)),
        ("Fri 4 Dec 2026", date(2026, 12, 4)),
        ("by Friday, December 4, 2026", date(2026, 12, 4)),
        ("20261204", date(2026, 12, 4)),
        ("tomorrow", date(2026, 11, 26)),
        ("heute", TODAY),
    ],
)
def test_dates_with_one_reading(text: str, day: date) -> None:
    assert reader().read(text, "due") == day


def test_slash_dates_are_asked_by_form_and_the_others_of_the_form_are_told() -> None:
    column = ("12/05/2026", "12/14/2026", "6/12/26", "19/12/26")
    with pytest.raises(Asked) as four:
        reader(column).read("12/05/2026", "due")
    with pytest.raises(Asked) as two:
        reader(column).read("6/12/26", "due")
    assert (four.value.question.kind, two.value.question.kind) == ("date:/4", "date:/2")
    assert "12/14/2026 can only be month first" in four.value.question.hint
    assert "19/12/26 can only be day first" in two.value.question.hint
    answers = {"date:/4": "month", "date:/2": "day"}
    answered = DateReader(TODAY, forms_of(column), answers)
    assert answered.read("12/05/2026", "due") == date(2026, 12, 5)
    assert answered.read("6/12/26", "due") == date(2026, 12, 6)


def test_a_form_that_proves_both_orders_is_asked_date_by_date() -> None:
    column = ("12/05/2026", "12/14/2026", "14/12/2026")
    with pytest.raises(Asked) as caught:
        reader(column).read("12/05/2026", "due")
    assert caught.value.question.kind == "date:/4:12/05/2026"


def test_a_day_without_a_year_is_asked_once() -> None:
    with pytest.raises(Asked) as caught:
        reader().read("12 Dec", "due")
    assert caught.value.question.kind == "date:year"
    assert reader(date_year="next").read("12 Dec", "due") == date(2026, 12, 12)
    assert reader(date_year="next").read("3 Jan", "due") == date(2027, 1, 3)
    assert reader(date_year="2026").read("3 Jan", "due") == date(2026, 1, 3)
    assert reader(date_year="next").read("29 Feb", "due") == date(2028, 2, 29)


def test_weekdays_are_asked_and_next_is_another_question() -> None:
    with pytest.raises(Asked) as bare:
        reader().read("Wednesday", "due")
    with pytest.raises(Asked) as following:
        reader().read("next Tues", "due")
    assert [r.key for r in bare.value.question.readings] == ["today", "coming", "week"]
    assert [r.key for r in following.value.question.readings] == ["coming", "week", "calendar"]
    assert reader(date_weekday="coming").read("Wednesday", "due") == date(2026, 12, 2)
    assert reader(date_weekday="coming").read("Freitag", "due") == date(2026, 11, 27)
    assert reader(date_weekday="today").read("Wednesday", "due") == TODAY
    assert reader(date_next_weekday="calendar").read("next Fri", "due") == date(2026, 12, 4)


@pytest.mark.parametrize(
    "text",
    [
        "2026-02-30",
        "31/11/2026",
        "46000",
        "12/05/2026 5pm",
        "soonish",
        "30 Feb",
        "KW 50",
        "32.1.2026",
        "13/13/2026",
        "Mon 4 Dec 2026",
        "20261304",
    ],
)
def test_what_is_no_date_says_what_to_type(text: str) -> None:
    with pytest.raises(InvalidValue, match="type") as caught:
        reader().read(text, "due")
    assert not isinstance(caught.value, Asked)


@pytest.mark.parametrize(
    ("text", "hope"),
    [
        ("", "blank"),
        ("TBD", "blank"),
        ("-", "blank"),
        ("ASAP!!", "asap"),
        ("asap - RUSH", "asap"),
        ("so bald wie möglich", "asap"),
        ("5 Dec", ""),
        ("rush 5 Dec", ""),
    ],
)
def test_hopes_are_told_from_dates(text: str, hope: str) -> None:
    assert hoped(text) == hope


def test_this_friday_is_a_bare_weekday() -> None:
    assert reader(date_weekday="coming").read("this Friday", "due") == date(2026, 11, 27)
