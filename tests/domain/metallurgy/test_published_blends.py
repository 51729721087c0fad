"""Worked examples of blending and alligation with their published answers."""

from dataclasses import replace
from fractions import Fraction

import pytest

from domain.errors import CannotCompose
from domain.metallurgy.alligation import alligate
from domain.metallurgy.charge import charge_of, compose
from domain.metallurgy.charge_lp import Program, Row, minimise
from domain.metallurgy.melt import Offer, Part
from domain.shop.alloy import Alloy, ElementRange
from domain.starting.alloys import starting_alloys
from domain.units import Mass, Share

LEAD = [10, 10, 40, 60, 30, 30, 30, 50, 20]
ZINC = [10, 30, 50, 30, 30, 40, 20, 40, 30]
TIN = [80, 60, 10, 10, 40, 30, 50, 10, 50]
PRICE = ["4.1", "4.3", "5.8", "6.0", "7.6", "7.5", "7.3", "6.9", "7.3"]


def karat(number: int) -> Share:
    return Share.of(Fraction(number, 24), "1")


def some_alloy(like: str, **percent: tuple[int, int]) -> Alloy:
    """A starting alloy with another composition, and without losses."""
    alloy = next(a for a in starting_alloys() if a.id == like)
    ranges = [ElementRange(element=e, low=Share.percent(low), high=Share.percent(high)) for e, (low, high) in percent.items()]
    return replace(alloy, composition=tuple(ranges), losses={})


def fine(element: str) -> Offer:
    return Offer(id=element, name=element, composition={element: Fraction(1)})


@pytest.mark.outside("G. B. Dantzig, Linear Programming and Extensions (1963), ch. 3.4, blend of nine alloys")
def test_dantzigs_blend_of_nine_alloys():
    """G. B. Dantzig, Linear Programming and Extensions (1963), ch. 3.4: 30 % lead, 30 % zinc and 40 %
    tin at the least cost, 4.98 a pound, from 0.6 of B and 0.4 of D."""
    rows = [Row({i: Fraction(1) for i in range(9)}, Fraction(1), Fraction(1))]
    for shares, wanted in ((LEAD, 30), (ZINC, 30), (TIN, 40)):
        rows.append(Row({i: Fraction(s, 100) for i, s in enumerate(shares)}, Fraction(wanted, 100), Fraction(wanted, 100)))
    cost = {i: Fraction(p) for i, p in enumerate(PRICE)}
    blend = minimise(Program(bounds=[(Fraction(0), None)] * 9, rows=rows, objectives=[cost]))
    assert blend is not None
    assert float(sum(cost[i] * x for i, x in enumerate(blend))) == pytest.approx(4.98, abs=1e-9)
    assert [round(float(x), 9) for x in blend] == [0, 0.6, 0, 0.4, 0, 0, 0, 0, 0]


@pytest.mark.outside("G. B. Dantzig, Linear Programming and Extensions (1963), ch. 3.4, as a charge to be weighed")
def test_dantzigs_blend_is_what_a_bench_would_weigh():
    """The same nine alloys on a shelf, each at its price a pound: a pound costs 4.98, six parts of B to four of D."""
    offers = []
    for i, name in enumerate("ABCDEFGHI"):
        shares = {"Pb": Fraction(LEAD[i], 100), "Zn": Fraction(ZINC[i], 100), "Sn": Fraction(TIN[i], 100)}
        a_gram = Fraction(PRICE[i]) * 100 / Mass.of(1, "lb").to("g")
        offers.append(Offer(id=name, name=name, composition=shares, cost=a_gram))
    charge = compose(some_alloy("tin-bronze", Pb=(30, 30), Zn=(30, 30), Sn=(40, 40)), Mass.of(1, "kg"), offers)
    assert {p.offer.id: p.mass for p in charge.parts} == {"B": Mass.g(600), "D": Mass.g(400)}
    pounds = Mass.of(1, "kg").to("lb")
    assert float(charge.cost.to("unit") / pounds) == pytest.approx(4.98, abs=0.005)


@pytest.mark.outside("G. W. Warren's dental manual, p. 206–207, 6 oz of fine gold to 16 carat")
def test_six_ounces_of_fine_gold_to_sixteen_karat_take_three_of_alloy():
    """G. W. Warren's dental manual, p. 206–207. Fineness is kept in parts per million, so to a hundredth of a gram."""
    answer = alligate(Mass.of(6, "ozt"), karat(24), karat(16), Share(0))
    assert float(answer.add.to("ozt")) == pytest.approx(3, abs=1e-4)
    assert answer.fineness >= karat(16)


@pytest.mark.outside("G. W. Warren's dental manual, p. 206–207, 16 carat to 18")
def test_a_pennyweight_of_sixteen_karat_to_eighteen_takes_a_third_of_fine():
    """G. W. Warren's dental manual, p. 206–207."""
    answer = alligate(Mass.of(1, "dwt"), karat(16), karat(18), karat(24))
    assert float(answer.add.to("dwt")) == pytest.approx(1 / 3, abs=1e-3)
    assert answer.fineness >= karat(18)


@pytest.mark.outside("G. W. Warren's dental manual, p. 206–207, 6 of gold, 2 of silver and 1 of copper")
def test_six_of_gold_two_of_silver_and_one_of_copper_are_sixteen_karat():
    parts = tuple(Part(offer=fine(e), mass=Mass.g(n)) for e, n in (("Au", 6), ("Ag", 2), ("Cu", 1)))
    charge = charge_of(some_alloy("18kt-yellow", Au=(60, 70), Ag=(20, 30), Cu=(5, 15)), parts)
    assert charge.fineness is not None
    assert float(charge.fineness.to("1")) == pytest.approx(16 / 24, abs=1e-6)


def test_raising_never_ends_below_and_one_step_less_would():
    for have, want in ((375, 585), (585, 750), (416, 417), (750, 916)):
        answer = alligate(Mass.g("17.38"), Share.permille(have), Share.permille(want), Share.permille(1000), Mass(10))
        assert answer.fineness >= Share.permille(want)
        less = answer.add.base - 10
        assert (17_380 * have + less * 1000) < want * (17_380 + less)


def test_lowering_never_ends_below_and_one_step_more_would():
    answer = alligate(Mass.g(20), Share.permille(750), Share.permille(585), Share(0), Mass(10))
    assert answer.add == Mass.g("5.64")
    assert answer.fineness >= Share.permille(585)


def test_an_addition_that_cannot_do_it_is_refused_with_what_would():
    with pytest.raises(CannotCompose, match="finer than 750"):
        alligate(Mass.g(10), Share.permille(585), Share.permille(750), Share.permille(585))


def test_an_infeasible_program_has_no_answer():
    rows = [Row({0: Fraction(1)}, low=Fraction(2)), Row({0: Fraction(1)}, high=Fraction(1))]
    assert minimise(Program(bounds=[(Fraction(0), None)], rows=rows, objectives=[{0: Fraction(1)}])) is None


def test_later_objectives_do_not_give_up_what_earlier_ones_reached():
    """x + y ≥ 1 at the least x + y, and among those the least x."""
    rows = [Row({0: Fraction(1), 1: Fraction(1)}, low=Fraction(1))]
    objectives = [{0: Fraction(1), 1: Fraction(1)}, {0: Fraction(1)}]
    found = minimise(Program(bounds=[(Fraction(0), None)] * 2, rows=rows, objectives=objectives))
    assert found is not None
    assert [round(float(x), 6) for x in found] == [0, 1]


def test_an_undecided_solver_is_an_error_of_the_trade():
    """An unbounded program stands in for a solver that loses its way."""
    with pytest.raises(CannotCompose, match="could not decide"):
        minimise(Program(bounds=[(Fraction(0), None)], rows=[], objectives=[{0: Fraction(-1)}]))


def test_the_solver_writes_nothing_to_standard_output(capfd):
    minimise(Program(bounds=[(Fraction(0), Fraction(1))], rows=[], objectives=[{0: Fraction(1)}], whole=True))
    assert capfd.readouterr().out == ""
