"""Ideal-mixture densities against measured ones, and where the rule may not be used."""

from fractions import Fraction

import periodictable
import pytest

from domain.errors import InvalidValue
from domain.metallurgy.density import mixture_density, nominal
from domain.metallurgy.elements import elements, named
from domain.starting.alloys import starting_alloys

APART = {"platinum-950-co": 0.045, "yellow-brass": 0.03}
ROSE_GOLD_SILVER = [(917, 18.08), (879, 17.54), (750, 16.03), (500, 13.60), (250, 11.78)]


def estimate(shares: dict[str, float]) -> float:
    return float(mixture_density({e: Fraction(str(s)) / 100 for e, s in shares.items()}).to("g/cm³"))


@pytest.mark.outside("element densities of periodictable (CRC Handbook), from which the table was taken")
@pytest.mark.parametrize("symbol", sorted(elements()))
def test_element_densities_are_those_of_a_periodic_table_library(symbol):
    """Against ``periodictable`` (public domain), to a thousandth."""
    assert float(elements()[symbol].density.to("g/cm³")) == pytest.approx(getattr(periodictable, symbol).density, abs=1e-3)


@pytest.mark.outside("T. K. Rose, The Metallurgy of Gold, densities of gold–silver alloys")
@pytest.mark.parametrize(("gold", "measured"), ROSE_GOLD_SILVER)
def test_gold_silver_alloys_are_a_mixture_to_one_percent(gold, measured):
    """T. K. Rose, The Metallurgy of Gold, table of densities of gold-silver alloys; its 333 row is left
    out as a probable misprint."""
    assert estimate({"Au": gold / 10, "Ag": 100 - gold / 10}) == pytest.approx(measured, rel=0.01)


@pytest.mark.outside("T. K. Rose, The Metallurgy of Gold, density of gold–copper 900")
def test_gold_copper_nine_hundred_is_a_mixture_to_one_and_a_half_percent():
    """T. K. Rose, The Metallurgy of Gold: 17.16."""
    assert estimate({"Au": 90, "Cu": 10}) == pytest.approx(17.16, rel=0.015)


@pytest.mark.outside("Copper Development Association data sheets, UNS C90500 and C90700")
@pytest.mark.parametrize(("shares", "measured"), [({"Cu": 88, "Sn": 10, "Zn": 2}, 8.72), ({"Cu": 89, "Sn": 11}, 8.77)])
def test_tin_bronzes_are_a_mixture_to_one_and_a_half_percent(shares, measured):
    """Copper Development Association data sheets, UNS C90500 and C90700."""
    assert estimate(shares) == pytest.approx(measured, rel=0.015)


SILICON_BRONZES = [({"Cu": 95, "Si": 4, "Mn": 1}, 8.36), ({"Cu": 82, "Si": 4, "Zn": 14}, 8.28)]


@pytest.mark.outside("Copper Development Association data sheets, UNS C87300 and C87500: no mixture")
@pytest.mark.parametrize(("shares", "measured"), SILICON_BRONZES)
def test_silicon_bronze_is_refused_because_the_rule_fails_for_it(shares, measured):
    """The rule, here with the densities of ``periodictable``, would say 8.03 for C87300 and 7.79 for C87500."""
    rule = 100 / sum(share / getattr(periodictable, symbol).density for symbol, share in shares.items())
    assert rule < measured * 0.965
    with pytest.raises(InvalidValue, match="give the measured density"):
        estimate(shares)


@pytest.mark.outside("Copper Development Association data sheets, UNS C87200 and C87300: 0.302 lb/in³")
def test_the_silicon_bronze_that_a_shop_starts_with_has_its_measured_density():
    bronze = next(a for a in starting_alloys() if a.id == "silicon-bronze")
    assert float(bronze.density.to("g/cm³")) == 8.36
    assert not bronze.density_estimated


def test_starting_densities_agree_with_their_nominal_compositions():
    """Given densities against the mixture rule: 2 %; brass contracts by 3 % (UNS C26000 is 8.53), and the
    traded figure of platinum-cobalt lies 4 % above the rule."""
    for alloy in starting_alloys():
        if alloy.id == "silicon-bronze":
            continue
        given = float(alloy.density.to("g/cm³"))
        mixed = float(mixture_density(nominal(alloy.composition)).to("g/cm³"))
        assert given == pytest.approx(mixed, rel=APART.get(alloy.id, 0.02)), alloy.id


@pytest.mark.parametrize("alloy", starting_alloys(), ids=lambda a: a.id)
def test_a_nominal_composition_lies_inside_the_ranges_and_is_a_whole(alloy):
    middle = nominal(alloy.composition)
    assert sum(middle.values()) == 1
    assert all(Fraction(r.low.base, 10**6) <= middle[r.element] <= Fraction(r.high.base, 10**6) for r in alloy.composition)


def test_an_unknown_element_and_a_part_of_a_whole_are_refused():
    with pytest.raises(InvalidValue, match="density of Xx is not known"):
        estimate({"Ag": 90, "Xx": 10})
    with pytest.raises(InvalidValue, match="do not add up"):
        estimate({"Ag": 90})


def test_elements_are_named_and_strangers_keep_their_symbol():
    assert (named("Pd"), named("Xx")) == ("palladium", "Xx")
