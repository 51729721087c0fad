"""Fineness standards and what the law of a place lets an article fall short by."""

import pytest

from domain.metallurgy.fineness import NO_MINUS, STANDARDS, US_METAL, US_WITH_SOLDER, markable
from domain.starting.alloys import starting_alloys
from domain.units import Share

GOLD = [Share.permille(n) for n in STANDARDS["Au"]]


@pytest.mark.outside("Tukes (Finland), fineness requirements, worked example of 588 and 584 ‰")
@pytest.mark.parametrize(("actual", "marked"), [(588, 585), (584, 375), (585, 585), (374, None), (1000, 999)])
def test_metal_is_marked_with_the_highest_standard_that_it_reaches(actual, marked):
    """Worked example of the Finnish Safety and Chemicals Agency (Tukes), fineness requirements: 588 is
    marked 585, 584 is marked 375."""
    assert markable("Au", Share.permille(actual), GOLD) == (None if marked is None else Share.permille(marked))


@pytest.mark.outside("ISO 9202 and UK Hallmarking Act 1973, section 1(4): no minus tolerance")
def test_one_part_in_a_million_short_is_short():
    """ISO 9202: minimum values, no minus tolerance; UK Hallmarking Act 1973, section 1(4)."""
    assert markable("Au", Share.permille(585) - Share(1), GOLD, NO_MINUS) == Share.permille(375)


US = [("Au", US_METAL, 582), ("Au", US_WITH_SOLDER, 578), ("Ag", US_METAL, 921), ("Ag", US_WITH_SOLDER, 915)]


@pytest.mark.outside("15 U.S.C. 295 (gold) and 296 (silver, from memory), tolerances")
@pytest.mark.parametrize(("element", "policy", "least"), US)
def test_united_states_tolerances_are_their_own_policies(element, policy, least):
    """15 U.S.C. 295 (gold: 3, with solder 7 parts per thousand), 15 U.S.C. 296 (silver: 4 and 10, from memory)."""
    standard = Share.permille(585 if element == "Au" else 925)
    assert policy.least(element, standard) == Share.permille(least)
    assert markable(element, Share.permille(least), [standard], policy) == standard
    assert markable(element, Share.permille(least) - Share(1), [standard], policy) is None
    assert markable(element, Share.permille(least), [standard]) is None


@pytest.mark.outside("UK Hallmarking Act 1973 as amended, standards of fineness")
def test_the_standards_are_those_of_the_hallmarking_act():
    """UK Hallmarking Act 1973 as amended."""
    assert STANDARDS["Au"] == (375, 585, 750, 916, 990, 999)
    assert STANDARDS["Ag"] == (800, 925, 958, 999)
    assert STANDARDS["Pt"] == (850, 900, 950, 999)
    assert STANDARDS["Pd"] == (500, 950, 999)


@pytest.mark.outside("ISO 9202 fineness values (list from memory)")
def test_starting_alloys_have_the_fineness_that_their_name_stands_for():
    """ISO 9202 values; 10 kt is 417: ten parts in 24, rounded up to a whole part per thousand."""
    karats = {"9kt": 375, "10kt": 417, "14kt": 585, "18kt": 750, "22kt": 916}
    for alloy in starting_alloys():
        karat = alloy.id.split("-")[0]
        if karat in karats:
            assert alloy.standard is not None
            assert alloy.standard.minimum == Share.permille(karats[karat])
            assert alloy.standard.minimum >= Share.permille(int(1000 * int(karat[:-2]) / 24))


@pytest.mark.outside("UK Hallmarking Act 1973 as amended, standards of fineness")
def test_starting_alloys_reach_a_standard_of_the_hallmarking_act():
    """All but 10 kt, which the Act does not know."""
    for alloy in starting_alloys():
        if alloy.standard is not None and alloy.id != "10kt-yellow":
            element, minimum = alloy.standard.element, alloy.standard.minimum
            assert minimum in [Share.permille(n) for n in STANDARDS[element]], alloy.id
