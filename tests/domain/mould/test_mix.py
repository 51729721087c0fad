"""Investment by mass. The table of powder and water at 40:100 with 10 % spare, nothing deducted, is
computed (π/4·d²·h·1.1 / 0.792); the least water is stoichiometry with atomic weights of
periodictable; 33 to 40 parts are mixed in practice (Dent. Mater. J. 22(3) 2003, 412–420)."""

from dataclasses import replace

import periodictable
import pytest

from domain.mould.mix import investment_mix
from domain.shop.alloy import Bond
from domain.starting.mould import starting_investments, starting_sizes
from domain.units import Length, Mass, Share, Volume

GYPSUM = next(i for i in starting_investments() if i.bond is Bond.GYPSUM)
SIZE = starting_sizes()[0]


@pytest.mark.parametrize(
    ("across", "tall", "powder", "water"),
    [
        (2, 2.5, 178, 71),
        (2.5, 2.5, 279, 112),
        (2.5, 4, 447, 179),
        (3, 3, 483, 193),
        (3, 4, 644, 257),
        (3.5, 4, 876, 350),
        (4, 6, 1716, 686),
        (4, 8, 2288, 915),
    ],
)
def test_powder_and_water_for_a_whole_flask(across: float, tall: float, powder: int, water: int) -> None:
    size = replace(SIZE, inner_diameter=Length.of(across, "in"), height=Length.of(tall, "in"))
    mix = investment_mix(size, GYPSUM, Volume(0))
    assert float(mix.powder.to("g")) == pytest.approx(powder, abs=1)
    assert float(mix.liquid.to("g")) == pytest.approx(water, abs=1)


def test_the_tree_takes_the_place_of_investment() -> None:
    full, treed = investment_mix(SIZE, GYPSUM, Volume(0)), investment_mix(SIZE, GYPSUM, Volume.cm3(10))
    assert full.slurry - treed.slurry == Volume.cm3(11)
    # 11 cm³ of slurry at 79.2 ml to 100 g
    assert float((full.powder - treed.powder).to("g")) == pytest.approx(11 / 0.792, abs=0.002)


def test_a_tree_larger_than_the_flask_needs_no_investment() -> None:
    assert investment_mix(SIZE, GYPSUM, Volume.of(5, "l")).powder == Mass(0)


@pytest.mark.outside("water of CaSO₄·½H₂O by atomic weights of periodictable; Dent. Mater. J. 22(3) 2003, 412–420")
def test_our_ratios_are_above_the_chemical_minimum_and_near_practice() -> None:
    hemihydrate = periodictable.formula("CaSO4").mass + periodictable.formula("H2O").mass / 2
    minimum = 100 * 1.5 * periodictable.formula("H2O").mass / hemihydrate
    assert minimum == pytest.approx(18.62, abs=0.01)
    assert GYPSUM.water.to("%") > minimum
    assert Share.percent(33) <= GYPSUM.water <= Share.percent(42)


def test_slurry_yield_follows_from_the_volumes_of_powder_and_water() -> None:
    # 100 g of powder of 2.55 g/cm³ and 40 ml of water
    assert float(GYPSUM.slurry_yield.to("ml")) == pytest.approx(100 / 2.55 + 40, abs=0.05)
