"""Fineness, compositions and marks of scrap as people type them."""

from fractions import Fraction

import pytest

from domain.errors import InvalidValue
from domain.intake.fineness import read_composition, read_fineness, read_scrap
from domain.units import Share


@pytest.mark.parametrize(
    ("text", "ppm"),
    [
        ("750", 750_000),
        ("92.5 %", 925_000),
        ("18 k", 750_000),
        ("925/1000", 925_000),
        ("999,9 ‰", 999_900),
        ("0", 0),
        ("24kt", 1_000_000),
    ],
)
def test_a_fineness_is_read_in_any_unit(text: str, ppm: int) -> None:
    assert read_fineness(text) == Share(ppm)


@pytest.mark.outside("a karat is a twenty-fourth part by mass: 15 U.S.C. 295 and 16 CFR 23.3 (from memory)")
@pytest.mark.parametrize("karats", range(1, 25))
def test_karats_are_twenty_fourths_and_rounded_to_the_safe_side(karats: int) -> None:
    exact = Fraction(karats * 1_000_000, 24)
    down, up = read_fineness(f"{karats} k").base, read_fineness(f"{karats} k", up=True).base
    assert down <= exact <= up
    assert up - down <= 1


@pytest.mark.parametrize("text", ["18", "92.5", "1200", "25 k", "abc", "75 g", "-5 %"])
def test_what_has_two_readings_or_none_is_asked_back(text: str) -> None:
    with pytest.raises(InvalidValue):
        read_fineness(text)


@pytest.mark.parametrize(
    "text", ["Ag 92.5 Cu 7.5", "Ag 925, Cu rest", "92.5 % Ag 7.5 % Cu", "silver 925 ‰ copper 75 ‰", "cu balance ag 92.5"]
)
def test_a_composition_is_read_in_any_order(text: str) -> None:
    assert read_composition(text) == {"Ag": Fraction(925, 1000), "Cu": Fraction(75, 1000)}


@pytest.mark.parametrize("text", ["Ag 92.5", "Ag 92.5 Cu 8.5", "Ag 50 Ag 50", "Xx 50 Cu 50", "Ag rest Cu rest", "Ag", ""])
def test_a_composition_that_is_no_whole_is_refused(text: str) -> None:
    with pytest.raises(InvalidValue):
        read_composition(text)


@pytest.mark.parametrize(
    ("text", "holds"),
    [
        ("18k yellow", {"Au": Fraction(3, 4)}),
        ("14k yellow", {"Au": Fraction(14, 24)}),
        ("585 gold", {"Au": Fraction(585, 1000)}),
        ("sterling", {"Ag": Fraction(925, 1000)}),
        ("Au 75 Ag 12.5 Cu 12.5", {"Au": Fraction(3, 4), "Ag": Fraction(1, 8), "Cu": Fraction(1, 8)}),
    ],
)
def test_scrap_counts_for_no_more_than_its_mark_makes_certain(text: str, holds: dict[str, Fraction]) -> None:
    assert read_scrap(text) == holds


@pytest.mark.parametrize("text", ["brass", "something shiny", "gold"])
def test_scrap_of_unknown_fineness_is_refused(text: str) -> None:
    with pytest.raises(InvalidValue, match="mark such as"):
        read_scrap(text)
