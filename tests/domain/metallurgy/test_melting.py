"""Melting ranges of the starting alloys against thermodynamics and published melting points."""

import warnings

import pytest

from domain.starting.alloys import starting_alloys

ALLOYS = {a.id: a for a in starting_alloys()}

AG_CU = """
ELEMENT VA VACUUM 0 0 0 !
ELEMENT AG FCC_A1 107.868 0 0 !
ELEMENT CU FCC_A1 63.546 0 0 !
FUNCTION GHSERAG 298.15 -7209.512+118.202013*T-23.8463314*T*LN(T)-.001790585*T**2-3.98587E-07*T**3-12011*T**(-1);
 1234.93 Y -15095.252+190.266404*T-33.472*T*LN(T)+1.412E+29*T**(-9); 3000 N !
FUNCTION GHSERCU 298.15 -7770.458+130.485235*T-24.112392*T*LN(T)-.00265684*T**2+1.29223E-07*T**3+52478*T**(-1);
 1357.77 Y -13542.026+183.803828*T-31.38*T*LN(T)+3.642E+29*T**(-9); 3200 N !
TYPE_DEFINITION % SEQ * !
PHASE LIQUID % 1 1 !
CONSTITUENT LIQUID :AG,CU: !
PARAMETER G(LIQUID,AG;0) 298.15 +11025.076-8.891021*T-1.034E-20*T**7+GHSERAG;
 1234.93 Y +11508.141-9.301747*T-1.412E+29*T**(-9)+GHSERAG; 3000 N !
PARAMETER G(LIQUID,CU;0) 298.15 +12964.736-9.511904*T-5.849E-21*T**7+GHSERCU;
 1357.77 Y +13495.481-9.922344*T-3.642E+29*T**(-9)+GHSERCU; 3200 N !
PARAMETER L(LIQUID,AG,CU;0) 298.15 +17323.40-4.46819*T; 3000 N !
PARAMETER L(LIQUID,AG,CU;1) 298.15 +1654.38-2.35285*T; 3000 N !
PHASE FCC_A1 % 2 1 1 !
CONSTITUENT FCC_A1 :AG,CU:VA: !
PARAMETER G(FCC_A1,AG:VA;0) 298.15 +GHSERAG; 3000 N !
PARAMETER G(FCC_A1,CU:VA;0) 298.15 +GHSERCU; 3000 N !
PARAMETER L(FCC_A1,AG,CU:VA;0) 298.15 +36061.88-10.44288*T; 3000 N !
PARAMETER L(FCC_A1,AG,CU:VA;1) 298.15 -4310.12; 3000 N !
"""
"""Ag–Cu: interaction parameters of F. H. Hayes, H. L. Lukas, G. Effenberg and G. Petzow 1986, pure
elements of A. T. Dinsdale 1991, as in the NIST solder database."""


@pytest.fixture(scope="module")
def liquid_share():
    """The share of liquid at a silver content in % by mass and a temperature in °C."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from pycalphad import Database, equilibrium, variables

        database = Database(AG_CU)

        def share(silver: float, celsius: float) -> float:
            moles = {"AG": silver / 107.868, "CU": (100 - silver) / 63.546}
            copper = moles["CU"] / sum(moles.values())
            at = {variables.X("CU"): copper, variables.T: celsius + 273.15, variables.P: 101325, variables.N: 1}
            found = equilibrium(database, ["AG", "CU", "VA"], ["LIQUID", "FCC_A1"], at)
            names, amounts = found.Phase.values.squeeze(), found.NP.values.squeeze()
            return float(sum(n for name, n in zip(names, amounts, strict=True) if name == "LIQUID"))

        yield share


def first_above(share, silver: float, least: float, low: float, high: float) -> float:
    """The temperature, to a tenth of a degree, at which the liquid share passes ``least``."""
    while high - low > 0.1:
        middle = (low + high) / 2
        low, high = (low, middle) if share(silver, middle) > least else (middle, high)
    return (low + high) / 2


@pytest.mark.outside("NIST phase diagram of Ag–Cu: eutectic at 28.41 % Cu by mass, 779.1 °C")
def test_the_silver_copper_eutectic_is_where_nist_says(liquid_share):
    """NIST phase-diagram page: 779.1 °C at 28.41 % copper by mass: there the alloy melts at one temperature,
    and no alloy of silver and copper alone begins to melt below it."""
    solidus = first_above(liquid_share, 71.59, 0.001, 760, 800)
    liquidus = first_above(liquid_share, 71.59, 0.999, 760, 800)
    assert solidus == pytest.approx(779.1, abs=0.3)
    assert liquidus - solidus < 1
    binary = [a for a in ALLOYS.values() if {r.element for r in a.composition} == {"Ag", "Cu"}]
    assert len(binary) == 2
    assert all(a.melting.low.celsius() >= 779 for a in binary)


@pytest.mark.outside("pycalphad with the Ag–Cu assessment of Hayes et al. 1986")
def test_silver_925_melts_where_thermodynamics_says(liquid_share):
    """Solidus and liquidus by ``pycalphad``, to 5 °C."""
    melting = ALLOYS["silver-925"].melting
    assert float(melting.low.celsius()) == pytest.approx(first_above(liquid_share, 92.5, 0.001, 760, 960), abs=5)
    assert float(melting.high.celsius()) == pytest.approx(first_above(liquid_share, 92.5, 0.999, 760, 960), abs=5)


@pytest.mark.outside("melting point of silver in chemicals")
def test_fine_silver_melts_at_the_melting_point_of_silver():
    """Against ``chemicals``."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import chemicals
    silver = chemicals.Tm("7440-22-4") - 273.15
    assert float(ALLOYS["fine-silver"].melting.low.celsius(1)) <= silver <= float(ALLOYS["fine-silver"].melting.high.celsius(1))


PRECIOUS = {
    "platinum-950-ru": "7440-06-4",
    "platinum-950-co": "7440-06-4",
    "22kt-yellow": "7440-57-5",
    "palladium-950": "7440-05-3",
}


@pytest.mark.outside("melting points of Pt, Au and Pd in chemicals")
@pytest.mark.parametrize(("alloy", "cas"), PRECIOUS.items())
def test_dilute_alloys_melt_near_their_precious_metal(alloy, cas):
    """Melting points of the elements by ``chemicals``; 5 % of another metal moves them by less than 150 °C."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import chemicals
    assert float(ALLOYS[alloy].melting.high.celsius()) == pytest.approx(chemicals.Tm(cas) - 273.15, abs=150)


def test_every_alloy_is_poured_above_its_melting_range():
    for alloy in ALLOYS.values():
        assert alloy.pour.low > alloy.melting.high, alloy.id


@pytest.mark.outside("Copper Development Association data sheets, UNS C87300 and C65500")
def test_wrought_silicon_bronze_is_not_taken_for_the_casting_alloy():
    """UNS C87300 melts at 821–971 °C, wrought C65500 at 970–1025 °C (Copper Development Association)."""
    melting = ALLOYS["silicon-bronze"].melting
    assert (melting.low.celsius(), melting.high.celsius()) == (821, 971)
