"""Units of each reader: what is shown, what is typed, and that one reader's never reach another."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import settings as tried
from hypothesis import strategies as st

from domain.errors import InvalidValue
from domain.safety.checklist import Point
from domain.safety.points import Reading
from domain.safety.read_off import read_off
from domain.shop.flask import FlaskSize
from domain.shop.lots import Powder
from domain.sources import Mark, Source
from domain.units import Area, Length, Mass, Money, Quantity, Temperature, TemperatureRange, Volume
from webapp import formats, reading
from webapp.exchange.documents import FlaskSizeDocument, PowderDocument
from webapp.forms import read_form, typed_from
from webapp.ways import CUSTOMARY, METRIC, Metal, Numbers, Ways, chosen, understood, within

UNITS = pint.UnitRegistry()
OUNCES = replace(CUSTOMARY, metal=Metal.OZT)
COMMA = replace(METRIC, numbers=Numbers.COMMA)
SPACED = replace(CUSTOMARY, numbers=Numbers.SPACED)
ALL = (METRIC, CUSTOMARY, OUNCES, COMMA, SPACED, replace(CUSTOMARY, numbers=Numbers.COMMA))
ways = st.sampled_from(ALL)


def plain(text: str) -> str:
    return text.replace(formats.SPACE, " ").replace(formats.NO_BREAK, " ")


def shown(text: str) -> tuple[Fraction, str]:
    number, _, unit = plain(text).replace("−", "-").replace(",", "").rpartition(" ")
    return Fraction(number), unit


NAMES = {
    "dwt": "pennyweight",
    "ozt": "troy_ounce",
    "lb": "pound",
    "in": "inch",
    "in³": "inch ** 3",
    "in²": "inch ** 2",
    "g": "gram",
}


@pytest.mark.outside("unit registry of pint")
@pytest.mark.parametrize(
    ("ways", "text", "base", "each", "step"),
    [
        (CUSTOMARY, lambda: formats.mass(Mass.g("1234.567")), "1234.567 gram", "dwt", "0.01"),
        (OUNCES, lambda: formats.mass(Mass.g("1234.567")), "1234.567 gram", "ozt", "0.001"),
        (CUSTOMARY, lambda: formats.to_weigh(Mass.g("12.34")), "12.34 gram", "dwt", "0.001"),
        (OUNCES, lambda: formats.exact_mass(Mass.g("12.34")), "12.34 gram", "ozt", "0.00001"),
        (CUSTOMARY, lambda: formats.bulk(Mass.g(2350)), "2350 gram", "lb", "0.001"),
        (CUSTOMARY, lambda: formats.length(Length.mm(101)), "101 millimeter", "in", "0.001"),
        (CUSTOMARY, lambda: formats.volume(Volume.cm3(38), "ml", 0), "38 milliliter", "in³", "0.1"),
        (CUSTOMARY, lambda: formats.volume(Volume.mm3(412), "mm³", 1), "412 millimeter ** 3", "in³", "0.00001"),
        (CUSTOMARY, lambda: formats.area(Area.of(31, "cm²")), "31 centimeter ** 2", "in²", "0.01"),
    ],
)
def test_what_is_shown_is_what_pint_makes_of_it(ways: Ways, text: object, base: str, each: str, step: str) -> None:
    with within(ways):
        number, unit = shown(text())  # type: ignore[operator]
    assert unit == each
    expected = UNITS(base).to(NAMES[each]).magnitude
    assert abs(float(number) - expected) <= float(Fraction(step)) * 0.5001


@pytest.mark.outside("temperatures as pint converts them")
@pytest.mark.parametrize("celsius", [-40, 0, 21, 150, 510, 732, 1010])
def test_temperatures_are_shown_as_pint_converts_them(celsius: int) -> None:
    expected = UNITS.Quantity(celsius, UNITS.degC).to(UNITS.degF).magnitude
    with within(CUSTOMARY):
        number, unit = shown(formats.temperature(Temperature.c(celsius)))
        assert unit == "°F"
        assert abs(float(number) - expected) <= 0.5001
        assert plain(formats.temperature_range(TemperatureRange.c(480, 510))) == "896–950 °F"


@pytest.mark.parametrize(
    ("numbers", "text"),
    [
        (Numbers.PLAIN, "−1 234.50 g"),
        (Numbers.POINT, "−1,234.50 g"),
        (Numbers.COMMA, "−1.234,50 g"),
        (Numbers.SPACED, "−1 234,50 g"),
    ],
)
def test_numbers_are_written_in_the_readers_style_and_read_back(numbers: Numbers, text: str) -> None:
    with within(replace(METRIC, numbers=numbers)):
        assert plain(formats.mass(Mass.g("-1234.5"))) == text
        assert reading.mass(formats.mass(Mass.g("1234.5"))) == Mass.g("1234.5")


def test_days_and_times_are_written_by_the_readers_choice() -> None:
    at = datetime(2026, 11, 26, 14, 5)
    assert (formats.long_day(date(2026, 11, 26)), formats.clock(at)) == ("Thu 26 Nov 2026", "14:05")
    with within(CUSTOMARY):
        assert formats.long_day("2026-11-26") == "Thu Nov 26, 2026"
        assert plain(formats.moment(at)) == "Thu Nov 26 2:05 pm"
        assert [plain(formats.time_of_day(m)) for m in (0, 510, 720, 1439, 1440)] == [
            "12:00 am",
            "8:30 am",
            "12:00 pm",
            "11:59 pm",
            "24:00",
        ]


@pytest.mark.parametrize(
    ("ways", "typed", "base"),
    [
        (CUSTOMARY, "1.2 dwt", 1866),
        (CUSTOMARY, "12", 18662),
        (METRIC, "1.2 dwt", 1866),
        (OUNCES, "1/2", 15552),
        (CUSTOMARY, "3.5 g", 3500),
        (COMMA, "1.234,5", 1_234_500),
        (COMMA, "1.234", 1_234_000),
        (replace(METRIC, numbers=Numbers.POINT), "1,234", 1_234_000),
    ],
)
def test_a_mass_may_be_typed_in_any_unit_and_is_else_in_the_readers(ways: Ways, typed: str, base: int) -> None:
    with within(ways):
        assert reading.mass(typed) == Mass(base)


def test_other_kinds_are_typed_in_any_unit_too() -> None:
    with within(CUSTOMARY):
        assert reading.length("3/8 in") == Length.mm("9.525") == reading.length("3/8")
        assert reading.length("24 mm") == Length.mm(24)
        assert reading.temperature("950F") == Temperature.c(510) == reading.temperature("950")
        assert reading.temperature("510 C") == Temperature.c(510)
        assert reading.bulk("5") == Mass.of(5, "lb")
        assert reading.volume("0.02 in3") == reading.volume("0.02")
        assert reading.money("1,234.50", "USD") == Money(123450)
    with pytest.raises(InvalidValue):
        reading.mass("1,234")


KINDS = (
    (Mass, ("g", "dwt", "ozt", "lb"), reading.mass),
    (Length, ("mm", "in"), reading.length),
    (Volume, ("cm³", "mm³", "in³"), reading.volume),
)


@tried(max_examples=300, deadline=None)
@given(which=st.sampled_from(KINDS), base=st.integers(0, 10**9), unit=st.integers(0, 3), ways=ways)
def test_a_field_that_nobody_touched_reads_back_to_the_very_same_whole_number(
    which: tuple[type[Quantity], tuple[str, ...], object], base: int, unit: int, ways: Ways
) -> None:
    kind, units, read = which
    own = units[unit % len(units)]
    with within(ways):
        text = f"{formats.as_typed(kind(base), own)} {own}"
        assert read(text) == kind(base)  # type: ignore[operator]


@tried(max_examples=200, deadline=None)
@given(millidegrees=st.integers(-50_000, 4_000_000), ways=ways)
def test_the_same_of_temperatures(millidegrees: int, ways: Ways) -> None:
    with within(ways):
        text = formats.as_typed(Temperature(millidegrees), ways.degrees)
        assert reading.temperature(text) == Temperature(millidegrees)


@tried(max_examples=100, deadline=None)
@given(lengths=st.lists(st.integers(1, 300_000), min_size=5, max_size=5), volume=st.integers(0, 10**8), ways=ways)
def test_a_form_sent_as_it_was_shown_changes_nothing(lengths: list[int], volume: int, ways: Ways) -> None:
    diameter, height, wall, base, trunk = (Length(n) for n in lengths)
    size = FlaskSize(
        id="F",
        name="F",
        inner_diameter=diameter,
        height=height,
        wall=wall,
        perforated=True,
        owned=2,
        burnout_minutes=600,
        cost=1,
        base_height=base,
        trunk_diameter=trunk,
        button_volume=Volume(volume),
    )
    with within(ways):
        try:
            found = read_form(FlaskSizeDocument, typed_from(FlaskSizeDocument, size), {"id": "F"})
        except InvalidValue:
            return
    assert found.value in (size, None)
    assert found.value == size or found.errors  # what the trade refuses is refused in any unit


def test_powder_is_shown_in_pounds_and_metal_in_pennyweights() -> None:
    powder = Powder(
        investment="i", mass=Mass.of(50, "lb"), lead_days=3, pack=Mass.of(5, "lb"), price=Money(100), price_mass=Mass.g(1000)
    )
    with within(CUSTOMARY):
        typed = typed_from(PowderDocument, powder)
        assert (typed["mass"], typed["pack"]) == ("50 lb", "5 lb")
        assert formats.mass_typed(Mass.of(12, "dwt")) == "12 dwt"


def test_a_sentence_of_ours_is_retold_in_the_readers_units() -> None:
    words = "flask at 510 °C (950 °F), charge 31.103 g, ring 25.4 mm; a kiln heats 200 °C an hour, 10.4 g/cm³"
    assert formats.retold(words) == words
    with within(CUSTOMARY):
        assert (
            plain(formats.retold(words))
            == "flask at 950 °F, charge 20.00 dwt, ring 1.000 in; a kiln heats 200 °C an hour, 10.4 g/cm³"
        )


def test_a_checklists_reading_is_kept_in_metric_whoever_read_it() -> None:
    point = Point(
        id="p", text="t", why="", source=Source(Mark.COMMON_PRACTICE), required=True, reading=Reading.TEMPERATURE, unit="°C"
    )
    with within(CUSTOMARY):
        assert read_off(point, "950", reading.usual_at(point)) == "510 °C"


def test_a_form_tells_in_which_ways_it_was_shown() -> None:
    assert all(understood(one.said) == one for one in ALL)
    assert understood("g;mm") is None
    assert understood(METRIC.said.replace("mm", "furlong")) is None
    assert chosen({"metal": "stone", "degrees": "°F"}) == replace(METRIC, degrees=CUSTOMARY.degrees)
