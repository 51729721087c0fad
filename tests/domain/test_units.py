"""Units against reference libraries and published values."""

from decimal import Decimal
from fractions import Fraction

import pint
import pytest
import scipy.constants as constants

from domain.errors import InvalidValue
from domain.units import DOWN, UP, Density, Length, Mass, Money, Share, Temperature, TemperatureRange, Volume, exact, total

REGISTRY = pint.UnitRegistry()
PINT = {
    "mg": "milligram",
    "g": "gram",
    "kg": "kilogram",
    "ct": "carat",
    "gr": "grain",
    "dwt": "pennyweight",
    "ozt": "troy_ounce",
    "oz": "ounce",
    "lb": "pound",
    "µm": "micrometer",
    "mm": "millimeter",
    "cm": "centimeter",
    "m": "meter",
    "in": "inch",
    "ft": "foot",
    "mm³": "millimeter**3",
    "cm³": "centimeter**3",
    "ml": "milliliter",
    "l": "liter",
    "in³": "inch**3",
}


@pytest.mark.outside("unit registry of pint")
@pytest.mark.parametrize(("kind", "base"), [(Mass, "milligram"), (Length, "micrometer"), (Volume, "1e-3 millimeter**3")])
def test_every_unit_has_the_size_that_pint_gives_it(kind, base):
    """Against ``pint``, to 1e-9."""
    for unit, size in kind.UNITS.items():
        expected = (REGISTRY(PINT[unit]) / REGISTRY(base)).to("dimensionless").magnitude
        assert float(size) == pytest.approx(expected, rel=1e-9), unit


@pytest.mark.outside("scipy.constants")
@pytest.mark.parametrize(
    ("unit", "kilograms"),
    [
        ("ozt", constants.troy_ounce),
        ("gr", constants.grain),
        ("oz", constants.oz),
        ("lb", constants.lb),
        ("ct", constants.carat),
        ("dwt", constants.troy_ounce / 20),
    ],
)
def test_masses_are_those_of_scipy_constants(unit, kilograms):
    """Against ``scipy.constants``, to 1e-9."""
    assert float(Mass.UNITS[unit]) == pytest.approx(kilograms * 1e6, rel=1e-9)


@pytest.mark.outside("NIST Handbook 44, Appendix C (from memory; pint and scipy agree)")
@pytest.mark.parametrize(
    ("unit", "grams"),
    [
        ("ozt", "31.1034768"),
        ("dwt", "1.55517384"),
        ("gr", "0.06479891"),
        ("oz", "28.349523125"),
        ("lb", "453.59237"),
        ("ct", "0.2"),
    ],
)
def test_masses_are_those_of_handbook_44(unit, grams):
    """NIST Handbook 44, Appendix C."""
    assert Mass.UNITS[unit] == Fraction(grams) * 1000


@pytest.mark.outside("NIST Handbook 44, Appendix C (from memory; pint agrees)")
def test_inch_and_foot_are_exact():
    """NIST Handbook 44, Appendix C: the inch is 25.4 mm."""
    assert Length.of(1, "in") == Length.mm("25.4")
    assert Length.of(1, "ft") == Length.mm("304.8")
    assert Length.of("7/8", "in") == Length.mm("22.225")


@pytest.mark.outside("scipy.constants.convert_temperature")
@pytest.mark.parametrize(("fahrenheit", "celsius"), [(1350, 732.222), (451, 232.778), (-40, -40), (32, 0), (212, 100)])
def test_degrees_fahrenheit_become_celsius_and_back(fahrenheit, celsius):
    """°C = (°F − 32) × 5/9; also against ``scipy.constants``."""
    there = Temperature.f(fahrenheit)
    assert float(there.celsius(3)) == pytest.approx(celsius, abs=5e-4)
    assert float(there.celsius(3)) == pytest.approx(float(constants.convert_temperature(fahrenheit, "F", "C")), abs=1e-3)
    assert there.fahrenheit() == fahrenheit


def test_kinds_do_not_mix():
    with pytest.raises(TypeError, match="Mass and Length do not mix"):
        Mass.g(1) + Length.mm(1)  # type: ignore[operator]


def test_a_unit_of_another_kind_and_text_that_is_no_number_are_refused():
    with pytest.raises(InvalidValue, match="is not a unit of mass"):
        Mass.of(1, "mm")
    with pytest.raises(InvalidValue, match="is not a number"):
        Mass.of("heavy", "g")
    with pytest.raises(InvalidValue, match="is not a number"):
        Mass.of(float("nan"), "g")


def test_a_float_is_read_by_its_decimal_text():
    assert exact(0.1) == Fraction(1, 10)
    assert Mass.g(0.1) + Mass.g(0.2) == Mass.g("0.3")


def test_rounding_to_a_scale_goes_the_way_it_says():
    step = Mass.g("0.05")
    assert Mass.g("1.02").rounded_up(step) == Mass.g("1.05")
    assert Mass.g("1.02").rounded_down(step) == Mass.g("1.00")
    assert Mass.g("1.05").rounded_up(step) == Mass.g("1.05")
    assert Mass.g("1.0249").decimal("g", 2, UP) == Decimal("1.03")
    assert Mass.g("1.0249").decimal("g", 2, DOWN) == Decimal("1.02")


def test_density_turns_volume_into_mass_and_back():
    silver = Density.g_cm3("10.36")
    assert silver.mass_of(Volume.cm3(2)) == Mass.g("20.72")
    assert silver.volume_of(Mass.g("20.72")) == Volume.cm3(2)


def test_fineness_is_a_share_in_parts_per_thousand():
    assert Share.permille(925) == Share.percent("92.5")
    assert Share.permille(925).of_mass(Mass.g(100)) == Mass.g("92.5")


def test_sums_of_nothing_are_nothing():
    assert total(Money, []) == Money(0)
    assert total(Mass, [Mass.g(1), Mass.g(2)]) == Mass.g(3)


def test_temperature_ranges_meet_or_do_not():
    assert TemperatureRange.c(500, 600).intersection(TemperatureRange.c(600, 700)) == TemperatureRange.c(600, 600)
    assert TemperatureRange.c(500, 599).intersection(TemperatureRange.c(600, 700)) is None
    with pytest.raises(InvalidValue, match="ends"):
        TemperatureRange.c(600, 500)
