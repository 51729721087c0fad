"""Fields of documents and forms: exact round trips, units in texts, refusals in words."""

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from domain.units import Density, Length, Mass, Money, Share, Temperature, Volume
from webapp.exchange import fields, plain
from webapp.exchange.fields import Measure

TYPES: list[tuple[Any, Any, int, int]] = [
    (fields.Grams, Mass, 0, 10**14),
    (fields.PositiveGrams, Mass, 1, 10**14),
    (fields.Millimetres, Length, 0, 10**14),
    (fields.PositiveMm3, Volume, 1, 10**14),
    (fields.PositiveCm3, Volume, 1, 10**14),
    (fields.Percent, Share, 0, 1_000_000),
    (fields.Permille, Share, 0, 1_000_000),
    (fields.GramsPerCm3, Density, 1, 10**14),
    (fields.CurrencyUnits, Money, 0, 10**14),
    (fields.Celsius, Temperature, -50_000, 4_000_000),
]


@pytest.mark.parametrize(("annotated", "kind", "low", "high"), TYPES)
def test_every_value_reads_back_exactly_as_it_was_written(annotated: Any, kind: Any, low: int, high: int) -> None:
    adapter = TypeAdapter[Any](annotated)

    @given(st.integers(low, high))
    def round_trip(base: int) -> None:
        text = adapter.dump_json(kind(base)).decode()
        assert isinstance(json.loads(text), int | float)
        assert adapter.validate_python(json.loads(text)) == kind(base)

    round_trip()


@pytest.mark.parametrize(
    ("annotated", "given_value", "expected"),
    [
        (fields.Grams, 1.866, Mass(1866)),
        (fields.Grams, "1.866", Mass(1866)),
        (fields.Grams, "1.2 dwt", Mass(1866)),  # NIST Handbook 44 App. C: 1 dwt = 1.55517384 g
        (fields.Millimetres, "2.5 in", Length(63_500)),  # ibid.: 25.4 mm exactly
        (fields.Celsius, "1350 F", Temperature(732_222)),
        (fields.Celsius, 732, Temperature(732_000)),
        (fields.Permille, 925, Share(925_000)),
        (fields.Permille, "92.5 %", Share(925_000)),
        (fields.Percent, 92.5, Share(925_000)),
        (fields.PositiveMm3, "0.4 cm3", Volume(400_000)),
        (fields.GramsPerCm3, "10360 kg/m3", Density(10_360)),
        (fields.CurrencyUnits, "12.5", Money(1250)),
    ],
)
def test_a_number_is_in_the_fields_unit_and_a_text_may_name_another(annotated: Any, given_value: object, expected: object) -> None:
    assert TypeAdapter[Any](annotated).validate_python(given_value) == expected


@pytest.mark.parametrize(
    "bad", [True, False, float("nan"), float("inf"), -float("inf"), None, [], {}, "nan", "", "two g", "3 mm", 1e300]
)
def test_what_is_no_mass_is_refused(bad: object) -> None:
    with pytest.raises(ValidationError):
        TypeAdapter[Any](fields.Grams).validate_python(bad)


@pytest.mark.parametrize(
    ("annotated", "bad", "message"),
    [
        (fields.PositiveGrams, 0, "the mass must be more than 0 g"),
        (fields.PositiveGrams, 0.0001, "the mass must be more than 0 g"),
        (fields.Grams, -1, "the mass must not be less than 0 g"),
        (fields.Percent, 101, "the share must not be more than 100 %"),
        (fields.Permille, 1001, "the fineness must not be more than 1000 ‰"),
        (fields.Celsius, 5000, "the temperature must not be more than 4000 °C"),
        (fields.Grams, True, "must be a number of g, or a text with a unit"),
        (fields.Grams, "2 gr", "two readings"),
    ],
)
def test_a_refusal_says_what_is_wrong_in_the_fields_unit(annotated: Any, bad: object, message: str) -> None:
    with pytest.raises(ValidationError, match=message):
        TypeAdapter[Any](annotated).validate_python(bad)


def test_a_schema_names_unit_and_limits() -> None:
    schema = TypeAdapter[Any](fields.PositiveGrams).json_schema()
    assert schema == {"anyOf": [{"exclusiveMinimum": 0, "type": "number"}, {"type": "string"}], "unit": "g"}


@pytest.mark.parametrize("bad", ["20300131", "2030-1-31", "2030-02-30", "31.1.2030", "", "1066-10-14", 20300131, None])
def test_a_day_is_an_iso_date(bad: object) -> None:
    with pytest.raises(ValidationError):
        TypeAdapter[Any](plain.Day).validate_python(bad)


@pytest.mark.parametrize("bad", [True, 1.5, "1.5", "many", -1, None])
def test_minutes_are_whole_and_not_negative(bad: object) -> None:
    with pytest.raises(ValidationError):
        TypeAdapter[Any](plain.Minutes).validate_python(bad)


@pytest.mark.parametrize("bad", ["2030-01-31T08:00+01:00", "soon", 1893456000, True, "9999-01-01T00:00"])
def test_now_is_a_local_time_without_offset(bad: object) -> None:
    with pytest.raises(ValidationError):
        TypeAdapter[Any](plain.LocalMoment).validate_python(bad)


@pytest.mark.parametrize("bad", ["Middle/Earth", "", "../etc", "CEST+1\x00"])
def test_a_time_zone_is_one_that_exists(bad: str) -> None:
    with pytest.raises(ValidationError):
        TypeAdapter[Any](plain.Timezone).validate_python(bad)


def test_nothing_longer_than_fifteen_digits_is_let_in_because_a_float_could_not_keep_it() -> None:
    measure = next(m for m in fields.Grams.__metadata__ if isinstance(m, Measure))
    assert measure.read(999_999_999_999.999) == Mass(10**15 - 1)
    with pytest.raises(Exception, match="too large"):
        measure.read(1_000_000_000_000)
