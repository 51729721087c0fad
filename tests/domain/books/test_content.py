"""Contents are parted and melted without losing a nanogram."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from domain.books.content import Content, composition_of, content_of, melted, shared, together
from domain.errors import InvalidValue
from domain.units import Mass, Share

amounts = st.dictionaries(st.sampled_from(["Ag", "Au", "Cu", "Zn", "Pd"]), st.integers(1, 10**12), min_size=1)
compositions = st.dictionaries(st.sampled_from(["Ag", "Au", "Cu", "Zn"]), st.integers(1, 10**6).map(Share), min_size=1)
masses = st.integers(1, 10**9).map(Mass)


@given(amounts, st.fractions(0, 1))
def test_shares_sum_to_the_whole_and_none_is_more_than_its_amount(parts: dict[str, int], share: Fraction) -> None:
    total = int(sum(parts.values()) * share)
    found = shared(parts, total)
    assert sum(found.values()) == total
    assert all(0 < found[name] <= parts[name] for name in found)
    assert all(abs(found.get(name, 0) - Fraction(parts[name] * total, sum(parts.values()))) < 1 for name in parts)


def test_sterling_holds_its_silver_to_the_nanogram() -> None:
    content = content_of(Mass.g("10.001"), {"Ag": Share.permille(925), "Cu": Share.permille(75)})
    assert content.elements == {"Ag": 9_250_925_000, "Cu": 750_075_000}


def test_shares_that_miss_a_whole_a_little_are_made_whole() -> None:
    third = Share.percent("33.33")
    content = content_of(Mass(3), {"Ag": third, "Cu": third, "Zn": third})
    assert sum(content.elements.values()) == 3_000_000


def test_metal_of_which_nothing_is_known_is_booked_as_unknown() -> None:
    assert content_of(Mass(2), {}).elements == {"unknown": 2_000_000}


@given(compositions, masses, st.integers(0, 10**9))
def test_a_content_is_the_sum_of_its_parts(composition: dict[str, Share], mass: Mass, some: int) -> None:
    whole = content_of(mass, composition)
    part = whole.part(Mass(some % (mass.base + 1)))
    rest = whole - part
    assert part.sound
    assert rest.sound
    assert together([part, rest]) == whole
    assert sum(share.base for share in composition_of(whole).values()) == 1_000_000


@given(compositions, masses, st.integers(0, 10**9), st.integers(0, 300_000))
def test_what_a_melt_gave_back_and_what_it_lost_are_what_went_in(
    composition: dict[str, Share], mass: Mass, out: int, zinc: int
) -> None:
    charged = content_of(mass, composition)
    left, lost = melted(charged, Mass(out % (mass.base + 1)), {"Zn": Share(zinc)})
    assert left.sound
    assert lost.sound
    assert left + lost == charged


def test_zinc_fumes_off_before_anything_else_is_lost() -> None:
    brass = content_of(Mass.g(100), {"Cu": Share.percent(70), "Zn": Share.percent(30)})
    losses = {"Zn": Share.percent(2)}
    _, little = melted(brass, Mass.g("99.5"), losses)
    assert little.elements == {"Zn": 500_000_000}
    _, more = melted(brass, Mass.g(99), losses)
    assert more.elements["Zn"] > 600_000_000
    assert more.elements["Cu"] == pytest.approx(400_000_000 * 70 / 99.4, abs=1)


def test_no_more_comes_out_than_went_in() -> None:
    with pytest.raises(InvalidValue, match="more came out"):
        melted(content_of(Mass(10), {"Ag": Share.percent(100)}), Mass(11), {})


def test_a_content_whose_elements_do_not_add_up_is_no_content() -> None:
    with pytest.raises(InvalidValue):
        Content(Mass(1), {"Ag": 999_999})
