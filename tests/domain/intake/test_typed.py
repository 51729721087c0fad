"""What people type becomes a value, a question, or a message that says what to type."""

from contextlib import suppress
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from domain.errors import InvalidValue
from domain.intake.typed import (
    Ambiguous,
    read_count,
    read_density,
    read_length,
    read_mass,
    read_money,
    read_number,
    read_share,
    read_temperature,
    read_volume,
)
from domain.units import Density, Length, Mass, Money, Share, Temperature, Volume


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("12", "12"),
        ("12.5", "12.5"),
        ("12,5", "12.5"),
        ("1,234.5", "1234.5"),
        ("1.234,5", "1234.5"),
        ("1 234,5", "1234.5"),
        ("1'234.50", "1234.5"),
        ("1,234,567", "1234567"),
        ("0,234", "0.234"),
        ("1.234", "1.234"),
        ("7/8", "7/8"),
        ("1 1/8", "9/8"),
        ("1-1/8", "9/8"),
        ("1½", "3/2"),
        ("−3", "-3"),
        (".5", "0.5"),
        ("5.", "5"),
    ],
)
def test_numbers_read_as_written(text: str, value: str) -> None:
    assert read_number(text) == Fraction(value)


def test_a_comma_before_three_digits_is_a_question_until_it_is_answered() -> None:
    with pytest.raises(Ambiguous) as caught:
        read_number("1,234")
    assert caught.value.kind == "decimal"
    assert read_number("1,234", choices={"decimal": "comma"}) == Fraction("1.234")
    assert read_number("1,234", choices={"decimal": "point"}) == 1234
    assert read_number("1.234", choices={"decimal": "comma"}) == 1234
    with pytest.raises(Ambiguous):
        read_number("1.234", choices={"decimal": "ask"})


@pytest.mark.parametrize(
    "text", ["", " ", "1.2.3", "1,23,4", "12 34", "1/0", "abc", "1e5", "nan", "1.234.5", "1234567890", "9" * 5000, "--3"]
)
def test_what_is_no_number_says_so(text: str) -> None:
    with pytest.raises(InvalidValue, match="type"):
        read_number(text)


@pytest.mark.parametrize(
    ("text", "mass"),
    [
        ("3.97", Mass.g("3.97")),
        ("3,97 g", Mass.g("3.97")),
        ("3.97g", Mass.g("3.97")),
        ("5 Gramm", Mass.g(5)),
        ("1.2 dwt", Mass.of("1.2", "dwt")),
        ("71 grains", Mass.of(71, "gr")),
        ("2 ozt", Mass.of(2, "ozt")),
        ("2 oz troy", Mass.of(2, "ozt")),
        ("5 ct", Mass.g(1)),
        ("½ ozt", Mass.of("1/2", "ozt")),
    ],
)
def test_masses(text: str, mass: Mass) -> None:
    assert read_mass(text, "g") == mass


READINGS = [
    (
        read_mass,
        ["3.97 g", "412 mg", "0.25 kg", "71 grains", "3.5 pennyweights", "0.5 troy_ounces", "5 carats", "1.5 pounds"],
        "milligram",
    ),
    (read_length, ["24 mm", "2.5 cm", "0.875 inches", "1.5 feet", "800 microns"], "micrometer"),
    (read_volume, ["1.2 ml", "0.3 cubic inches", "2 liters"], "1e-3 millimeter**3"),
]


@pytest.mark.outside("texts with units as pint reads them")
@pytest.mark.parametrize(("read", "texts", "base"), READINGS, ids=["mass", "length", "volume"])
def test_quantities_with_plain_units_read_as_pint_reads_them(read, texts, base) -> None:
    registry = pint.UnitRegistry()
    for text in texts:
        expected = (registry(text) / registry(base)).to("dimensionless").magnitude
        assert read(text.replace("_", " "), None).base == pytest.approx(expected, abs=0.5), text


@pytest.mark.outside("temperatures as pint converts them")
@pytest.mark.parametrize(("text", "value", "unit"), [("1350 °F", 1350, "degF"), ("950F", 950, "degF"), ("1005 K", 1005, "kelvin")])
def test_temperatures_read_as_pint_converts_them(text: str, value: int, unit: str) -> None:
    expected = pint.UnitRegistry().Quantity(value, unit).to("degC").magnitude
    assert read_temperature(text, None).millidegrees == pytest.approx(expected * 1000, abs=0.5)


def test_gr_may_be_grains_or_grams() -> None:
    with pytest.raises(Ambiguous) as caught:
        read_mass("71 gr", "g")
    assert [r.key for r in caught.value.readings] == ["gr", "g"]
    assert read_mass("71 gr", "g", choices={"gr": "gr"}) == Mass.mg(4601)
    assert read_mass("71 gr", "g", choices={"gr": "g"}) == Mass.g(71)


def test_oz_may_be_troy_or_avoirdupois() -> None:
    with pytest.raises(Ambiguous) as caught:
        read_mass("2 oz", "g")
    assert caught.value.kind == "oz"
    assert read_mass("2 oz", "g", choices={"oz": "ozt"}) == Mass.mg(62_207)


def test_a_bare_number_without_a_default_unit_is_a_question() -> None:
    with pytest.raises(Ambiguous) as caught:
        read_mass("3.97", None)
    assert caught.value.kind == "unit"


@pytest.mark.parametrize("text", ["-3 g", "3 mm", "3 g wax", "g", "1.2.3 g", ""])
def test_what_is_no_mass_says_what_to_type(text: str) -> None:
    with pytest.raises(InvalidValue, match="type"):
        read_mass(text, "g", field="pattern_mass")


@pytest.mark.parametrize(
    ("text", "length"),
    [
        ('7/8"', Length(22_225)),
        ('1 1/8"', Length(28_575)),
        ("1 1/8 in", Length(28_575)),
        ("7/8″", Length(22_225)),
        ("7/8''", Length(22_225)),
        ("0.6 mm", Length(600)),
        ("2,5 cm", Length(25_000)),
        ("24", Length(24_000)),
        ("2'", Length(609_600)),
        ("250 µm", Length(250)),
    ],
)
def test_lengths(text: str, length: Length) -> None:
    assert read_length(text, "mm") == length


def test_volumes_densities_and_temperatures() -> None:
    assert read_volume("cad 4894 mm3", None) == Volume.mm3(4894)
    assert read_volume("1,5 ml", None) == Volume.cm3("1.5")
    assert read_density("10,36") == Density.g_cm3("10.36")
    assert read_density("8360 kg/m³") == Density.g_cm3("8.36")
    assert read_temperature("950F", "°C") == Temperature.c(510)
    assert read_temperature("950 °F", "°C") == Temperature.c(510)
    assert read_temperature("620", "°C") == Temperature.c(620)
    assert read_temperature("-40", "°F") == Temperature.c(-40)
    assert read_temperature("300 K", "°C") == Temperature.c("26.85")
    with pytest.raises(InvalidValue, match="absolute zero"):
        read_temperature("-300 C", "°C")


def test_shares_and_money() -> None:
    assert read_share("92,5 %") == Share.permille(925)
    assert read_share("925 ‰") == Share.permille(925)
    assert read_share("3/4") == Share.percent(75)
    assert read_share("40") == Share.percent(40)
    with pytest.raises(InvalidValue, match="100 %"):
        read_share("101")
    assert read_money("€ 1.234,50", "EUR") == Money(123_450)
    assert read_money("1,234.50 eur", "EUR") == Money(123_450)
    assert read_money("$12", "CAD") == Money(1200)
    with pytest.raises(InvalidValue, match="EUR"):
        read_money("£12", "EUR")


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("3", 3),
        ("x3", 3),
        ("3x", 3),
        ("10 ", 10),
        ("6 pcs", 6),
        ("6 pcs.", 6),
        ("1 doz", 12),
        ("1/2 dz", 6),
        ("5 Stück", 5),
        ("1½ doz", 18),
    ],
)
def test_counts(text: str, count: int) -> None:
    assert read_count(text) == count


@pytest.mark.parametrize("text", ["0", "-2", "a few", "", "1.5", "1/2", "3 kg", "2-3", "999999999"])
def test_what_is_no_count_says_what_to_type(text: str) -> None:
    with pytest.raises(InvalidValue, match="type"):
        read_count(text)


def test_a_pair_is_asked_once() -> None:
    with pytest.raises(Ambiguous) as caught:
        read_count("2 pr")
    assert caught.value.kind == "pair"
    assert read_count("2 pr", choices={"pair": "2"}) == 4
    assert read_count("1 pr", choices={"pair": "1"}) == 1


@given(st.text(max_size=80) | st.from_regex(r"[0-9.,/ '-]{1,12} ?(g|gr|mm|\"|cm|F|%|pr)?", fullmatch=True))
def test_readers_only_ever_raise_invalid_value(text: str) -> None:
    readers = [
        lambda: read_mass(text, "g"),
        lambda: read_length(text, None),
        lambda: read_volume(text, "mm³"),
        lambda: read_density(text),
        lambda: read_share(text),
        lambda: read_temperature(text, "°F"),
        lambda: read_money(text, "EUR"),
        lambda: read_count(text),
    ]
    for reader in readers:
        with suppress(InvalidValue):
            reader()
