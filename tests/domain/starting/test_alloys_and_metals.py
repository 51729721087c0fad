"""What a new shop starts with: complete, marked with sources, and enough to cast from."""

from dataclasses import fields

import pint
import pytest

from domain.metallurgy.charge import compose
from domain.metallurgy.melt import holds
from domain.shop.alloy import Alloy, Bond, Heat, Section, Suitability
from domain.shop.lots import MetalKind
from domain.sources import Mark
from domain.starting.alloys import starting_alloys
from domain.starting.metals import starting_metals
from domain.stock.offers import supplier_offers
from domain.units import Mass, Share, TemperatureRange

ALLOYS = {a.id: a for a in starting_alloys()}
NOT_NUMBERS = {"id", "name", "family", "colour", "cautions", "sources", "density_estimated"}


@pytest.mark.parametrize("alloy", starting_alloys(), ids=lambda a: a.id)
def test_every_number_of_an_alloy_carries_a_mark(alloy):
    assert set(alloy.sources) == {f.name for f in fields(Alloy)} - NOT_NUMBERS
    assert all(s.note for s in alloy.sources.values() if s.mark is Mark.PUBLISHED)


@pytest.mark.parametrize("alloy", starting_alloys(), ids=lambda a: a.id)
def test_every_alloy_can_be_composed_from_metals_that_can_be_bought(alloy):
    charge = compose(alloy, Mass.g("47.123"), supplier_offers(alloy, starting_metals()))
    assert holds(alloy, charge.parts)
    assert len(charge.parts) <= 3


@pytest.mark.parametrize("metal", starting_metals(), ids=lambda m: m.id)
def test_every_metal_adds_up_to_one_and_has_a_price_a_pack_and_a_lead_time(metal):
    assert sum(s.base for s in metal.composition.values()) == 1_000_000
    assert metal.price.base > 0
    assert metal.pack.base > 0
    assert metal.lead_days is not None
    assert set(metal.sources) == {"composition", "price", "lead_days", "pack"}


def test_grain_already_is_the_alloy_that_it_names():
    for metal in starting_metals():
        assert (metal.alloy in ALLOYS) == (metal.kind is MetalKind.GRAIN)


def test_ids_are_unique():
    assert len({a.id for a in starting_alloys()}) == len(starting_alloys())
    assert len({m.id for m in starting_metals()}) == len(starting_metals())


def test_gypsum_never_takes_platinum_or_palladium_and_warns_for_palladium_white():
    never = {a.id for a in starting_alloys() if a.investment[Bond.GYPSUM] is Suitability.NEVER}
    assert never == {"platinum-950-ru", "platinum-950-co", "palladium-950"}
    assert ALLOYS["18kt-white-palladium"].investment[Bond.GYPSUM] is Suitability.WARN


SHEETS = {
    "silicon-bronze": ("0.302", 1510, 1780),
    "tin-bronze": ("0.315", 1570, 1830),
    "yellow-brass": ("0.308", 1680, 1750),
}
"""UNS C87300, C90500, C26000: lb/in³, solidus and liquidus in °F."""


@pytest.mark.outside("Copper Development Association data sheets, UNS C87300, C90500 and C26000, converted by pint")
@pytest.mark.parametrize("alloy", SHEETS)
def test_copper_alloys_are_as_dense_and_melt_as_their_data_sheets_say(alloy):
    """The sheets give three figures of lb/in³, which leave 0.014 g/cm³ open."""
    units = pint.UnitRegistry()
    density, *melting = SHEETS[alloy]
    expected = (float(density) * units.pound / units.inch**3).to("gram/centimeter**3").magnitude
    assert float(ALLOYS[alloy].density.to("g/cm³")) == pytest.approx(expected, abs=0.014)
    low, high = (round(units.Quantity(f, units.degF).to("degC").magnitude) for f in melting)
    assert ALLOYS[alloy].melting == TemperatureRange.c(low, high)


@pytest.mark.outside("AZoM article 2372, gold–palladium alloys: 5–20 % Pd at 14 kt, 6–20 % at 18 kt")
@pytest.mark.parametrize(("alloy", "least"), [("14kt-white-palladium", 5), ("18kt-white-palladium", 6)])
def test_palladium_white_golds_hold_as_much_palladium_as_published_ones(alloy, least):
    palladium = next(r for r in ALLOYS[alloy].composition if r.element == "Pd")
    assert Share.percent(least) <= palladium.low < palladium.high <= Share.percent(20)


def test_palladium_is_melted_by_induction_only():
    assert ALLOYS["palladium-950"].heat == {Heat.INDUCTION}
    assert ALLOYS["platinum-950-ru"].heat == {Heat.INDUCTION, Heat.TORCH}


def test_thin_sections_are_cast_into_hotter_moulds():
    for alloy in starting_alloys():
        ranges = alloy.flask_temperature
        assert ranges[Section.THIN].high > ranges[Section.MEDIUM].high > ranges[Section.HEAVY].high, alloy.id


def test_alloys_of_zinc_nickel_copper_and_platinum_carry_their_cautions():
    for alloy in starting_alloys():
        high = {r.element: r.high for r in alloy.composition}
        assert ("nickel" in alloy.cautions) == ("Ni" in high)
        if high.get("Zn", Share(0)) >= Share.percent(5):
            assert "zinc fume" in alloy.cautions
        if high.get("Cu", Share(0)) >= Share.percent(60):
            assert "copper-rich" in alloy.cautions
        assert ("platinum glare" in alloy.cautions) == (alloy.investment[Bond.GYPSUM] is Suitability.NEVER)


def test_no_starting_metal_holds_cadmium_beryllium_or_lead():
    banned = {"Cd", "Be", "Pb"}
    assert not any(banned & set(m.composition) for m in starting_metals())
    assert not any(banned & {r.element for r in a.composition} for a in starting_alloys())
