"""Every number is written with its unit, in one place."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from domain.units import Length, Mass, Money, Share, Temperature, TemperatureRange
from webapp import formats
from webapp.pages import ENVIRONMENT
from webapp.ways import METRIC, Degrees, Lengths, Metal, within


def plain(text: str) -> str:
    return text.replace(formats.SPACE, " ")


def test_a_mass_is_written_in_the_readers_unit() -> None:
    mass = Mass.of(1, "ozt")
    assert plain(formats.mass(mass)) == "31.10 g"
    assert plain(formats.mass(mass, "ozt")) == "1.000 ozt"
    assert plain(formats.mass(mass, "dwt")) == "20.00 dwt"
    assert plain(formats.mass(Mass.of(12, "kg"))) == "12 000.00 g"
    assert plain(formats.mass(Mass.g("-0.6"))) == "−0.60 g"


def test_temperatures_are_written_in_the_readers_unit() -> None:
    assert plain(formats.temperature(Temperature.f(1350))) == "732 °C"
    assert plain(formats.temperature(Temperature.c(-40), "°F")) == "−40 °F"
    assert plain(formats.temperature_range(TemperatureRange.c(510, 565))) == "510–565 °C"
    assert plain(formats.temperature_range(TemperatureRange.c(510, 510))) == "510 °C"


def test_fineness_shows_a_decimal_only_where_there_is_one() -> None:
    assert plain(formats.fineness(Share.permille(925))) == "925 ‰"
    assert plain(formats.fineness(Share.permille("958.4"))) == "958.4 ‰"


@pytest.mark.parametrize(("minutes", "text"), [(0, "0 min"), (45, "45 min"), (120, "2 h"), (150, "2 h 30 min"), (1440, "24 h")])
def test_a_duration_is_written_in_hours_and_minutes(minutes: int, text: str) -> None:
    assert plain(formats.minutes(minutes)) == text


def test_money_names_its_currency() -> None:
    assert plain(formats.money(Money(123456), "EUR")) == "1 234.56 EUR"


def test_days_are_named() -> None:
    assert formats.day("2026-03-02") == "Mon 2 Mar"
    assert formats.long_day("2026-03-02") == "Mon 2 Mar 2026"


def test_filters_follow_the_readers_units_unless_a_template_names_one() -> None:
    template = ENVIRONMENT.from_string("{{ m|mass }} {{ m|mass('g') }} {{ l|length }} {{ t|temperature }} {{ [1, 2]|length }}")
    values = {"m": Mass.of(1, "ozt"), "l": Length.of("2.5", "in"), "t": Temperature.f(1350)}
    with within(replace(METRIC, metal=Metal.OZT, lengths=Lengths.INCH, degrees=Degrees.FAHRENHEIT)):
        assert plain(template.render(**values)) == "1.000 ozt 31.10 g 2.500 in 1,350 °F 2".replace(",", " ")
    assert plain(template.render(**values)) == "31.10 g 31.10 g 63.5 mm 732 °C 2"


def test_a_moment_of_the_record_is_told_on_the_shops_own_clock() -> None:
    assert formats.local(datetime(2026, 3, 2, 7, 15, tzinfo=UTC), "Europe/Vienna") == datetime(2026, 3, 2, 8, 15)
    assert formats.local(datetime(2026, 7, 1, 23, 30, tzinfo=UTC), "Europe/Vienna") == datetime(2026, 7, 2, 1, 30)
