"""Field types without a unit of measure: names, counts, minutes, days and moments."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Any
from zoneinfo import ZoneInfo

from pydantic import AfterValidator, BeforeValidator, Field, PlainSerializer, WithJsonSchema

from webapp.exchange.fields import refuse

CLOCK_LIMIT = 5_256_000
"""Ten years in minutes: no plan is farther away, and calendar arithmetic stays in its range."""


def _can_be_kept(text: str) -> str:
    """One of the databases knows no text with a null in it."""
    if "\x00" in text:
        raise refuse("must not hold a null character")
    return text


def _not_blank(text: str) -> str:
    if not text.strip():
        raise refuse("must not be empty")
    return text


def _iso_day(text: str) -> str:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise refuse(f"“{text}” is not a day; write it as year-month-day, such as 2030-01-31") from None
    if day.isoformat() != text or not 1900 <= day.year <= 2200:
        raise refuse(f"“{text}” is not a day; write it as year-month-day, such as 2030-01-31")
    return text


def _no_bool(value: object) -> object:
    if isinstance(value, bool):
        raise refuse("must be a number, not true or false")
    return value


def _no_number(value: object) -> object:
    if not isinstance(value, bool | str):
        raise refuse("must be true or false")
    return value


def _local_moment(value: object) -> datetime:
    try:
        moment = value if isinstance(value, datetime) else datetime.fromisoformat(str(value))
    except ValueError:
        raise refuse(f"“{value}” is not a local time; write it like 2030-01-31T08:00") from None
    if moment.tzinfo is not None:
        raise refuse("is the shop's local time; leave the offset or zone out")
    if not 1900 <= moment.year <= 2200:
        raise refuse("the year must be between 1900 and 2200")
    return moment


def _timezone(name: str) -> str:
    try:
        ZoneInfo(name)
    except (ValueError, OSError, LookupError):
        raise refuse(f"“{name}” is not a time zone; use an IANA name such as Europe/Vienna") from None
    return name


Name = Annotated[str, Field(max_length=200), AfterValidator(_not_blank), AfterValidator(_can_be_kept)]
Text = Annotated[str, Field(max_length=10_000), AfterValidator(_can_be_kept)]
Day = Annotated[str, AfterValidator(_iso_day), Field(json_schema_extra={"format": "date"})]
DayOrNone = Annotated[str, AfterValidator(lambda text: _iso_day(text) if text else text)]
"""A day, or an empty text where it is not known."""
LocalMoment = Annotated[
    datetime,
    BeforeValidator(_local_moment),
    PlainSerializer(lambda moment: moment.isoformat()),
    WithJsonSchema({"type": "string", "examples": ["2030-01-31T08:00"]}),
]
Timezone = Annotated[str, AfterValidator(_timezone)]
Flag = Annotated[bool, BeforeValidator(_no_number)]
"""True or false; a form sends “on”."""
Integer = Annotated[int, BeforeValidator(_no_bool), Field(ge=-(10**15), le=10**15)]
Seconds = Annotated[float, BeforeValidator(_no_bool), Field(ge=0, allow_inf_nan=False)]
Whole = Annotated[int, BeforeValidator(_no_bool), Field(ge=0, le=1_000_000)]
Count = Annotated[int, BeforeValidator(_no_bool), Field(ge=1, le=1_000_000)]
Minutes = Annotated[int, BeforeValidator(_no_bool), Field(ge=0, le=CLOCK_LIMIT)]
MinuteOfDay = Annotated[int, BeforeValidator(_no_bool), Field(ge=0, le=1440)]
ClockMinute = Annotated[int, BeforeValidator(_no_bool), Field(ge=-CLOCK_LIMIT, le=CLOCK_LIMIT)]


def _sorted(values: Any) -> list[str]:
    return sorted(str(value) for value in values)


InOrder = PlainSerializer(_sorted)
"""Written in order, so that the same set is always the same text."""
