"""Charges: the optimum against another solver, whole steps against exact fractions, and why not."""

import importlib.util
import random
import sys
from dataclasses import replace
from fractions import Fraction
from functools import cache
from pathlib import Path
from types import ModuleType

import pytest

from domain.errors import CannotCompose
from domain.metallurgy.blend import Asked, best_blend
from domain.metallurgy.charge import compose
from domain.metallurgy.charge_why import missing
from domain.metallurgy.fineness import US_METAL
from domain.metallurgy.melt import Offer, Part, holds
from domain.starting.alloys import starting_alloys
from domain.starting.metals import starting_metals
from domain.stock.offers import supplier_offers
from domain.units import Mass, Share

SITUATIONS = 100
ALLOYS = {a.id: a for a in starting_alloys()}


@pytest.fixture(scope="session")
def charges() -> ModuleType:
    """The campaign of random bench situations, each judged once."""
    path = Path(__file__).resolve().parents[2] / "benchmarks" / "charges.py"
    spec = importlib.util.spec_from_file_location("benchmark_charges", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    module.judged = cache(module.judged)
    return module


def offer(name: str, shares: dict[str, float], grams: float | None = None, **more: object) -> Offer:
    composition = {e: Fraction(str(s)) / 100 for e, s in shares.items()}
    available = None if grams is None else Mass.g(grams)
    return Offer(id=name, name=name, composition=composition, available=available, **more)  # type: ignore[arg-type]


GOLD_14 = {"Au": 58.5, "Ag": 8.5, "Cu": 28.2, "Zn": 4.8}


@pytest.mark.outside("GLOP, the simplex solver of OR-Tools (charges are composed by HiGHS)")
@pytest.mark.parametrize("seed", range(SITUATIONS))
def test_the_least_cost_is_the_one_that_an_independent_solver_finds(seed, charges):
    """To a millionth, and no charge as weighed is under its standard. The linear programs of ``scipy`` would
    be no other opinion: they are HiGHS too. The campaign of 10,000 is a benchmark."""
    assert charges.judged(seed).wrong == ()


@pytest.mark.parametrize("seed", range(SITUATIONS))
def test_a_rounded_charge_keeps_everything_exactly_and_is_at_most_a_few_steps_more(seed, charges):
    charge, (asked, _) = charges.judged(seed).composed, charges.situation(random.Random(seed))
    if charge is None:
        return
    assert holds(asked.alloy, charge.parts)
    assert asked.mass <= charge.mass <= asked.mass + asked.step.times(len(charge.parts) + 1)
    standard = asked.alloy.standard
    if standard is not None:
        assert charge.melt[standard.element] >= Fraction(standard.minimum.base, 1_000_000)
        assert charge.fineness >= standard.minimum


@pytest.mark.parametrize("step", ["0.001", "0.01", "0.1"])
def test_the_charge_is_in_whole_steps_of_any_scale(step):
    gold = ALLOYS["18kt-yellow"]
    charge = compose(gold, Mass.g("31.234"), supplier_offers(gold, starting_metals()), Mass.g(step))
    assert all(p.mass.base % Mass.g(step).base == 0 for p in charge.parts)
    assert charge.fineness >= Share.permille(750)


def test_grain_of_exactly_the_standard_makes_the_charge_alone():
    charge = compose(ALLOYS["silver-925"], Mass.g("33.333"), [offer("grain", {"Ag": 92.5, "Cu": 7.5})])
    assert [(p.offer.id, p.mass) for p in charge.parts] == [("grain", Mass.g("33.34"))]


def test_zinc_that_burns_off_is_made_up_for():
    """Brass of 68.6 % copper at the edge: after 3 % of the zinc is lost it is inside, before it is too."""
    brass = ALLOYS["yellow-brass"]
    charge = compose(brass, Mass.g(100), [offer("grain", {"Cu": 71.4, "Zn": 28.6}), offer("zinc", {"Zn": 100}, cost=Fraction(9))])
    assert charge.melt["Zn"] >= Fraction("0.285")
    assert {p.offer.id for p in charge.parts} == {"grain", "zinc"}


def test_the_oldest_recycled_metal_is_used_first():
    old, new = (offer(n, {"Ag": 92.5, "Cu": 7.5}, 30, recycled=True, melts=1, age=a) for n, a in (("old", 0), ("new", 1)))
    charge = compose(ALLOYS["silver-925"], Mass.g(80), [new, old, offer("grain", {"Ag": 92.5, "Cu": 7.5})])
    assert {p.offer.id: p.mass for p in charge.parts} == {"old": Mass.g(30), "new": Mass.g(10), "grain": Mass.g(40)}
    assert charge.recycled == Share.percent(50)
    assert charge.melts == 2


def test_metal_on_the_shelf_goes_before_metal_to_order_even_if_it_cost_more():
    shelf = offer("shelf", {"Ag": 92.5, "Cu": 7.5}, 20, cost=Fraction(200))
    order = offer("order", {"Ag": 92.5, "Cu": 7.5}, cost=Fraction(100), to_order=True)
    charge = compose(ALLOYS["silver-925"], Mass.g(30), [shelf, order])
    assert {p.offer.id: p.mass for p in charge.parts} == {"shelf": Mass.g(20), "order": Mass.g(10)}


def test_a_metal_that_saves_next_to_nothing_is_not_weighed():
    silver = ALLOYS["silver-925"]
    grain, copper = offer("grain", {"Ag": 92.6, "Cu": 7.4}, cost=Fraction(90)), offer("copper", {"Cu": 100}, cost=Fraction(5))
    charge = compose(silver, Mass.g(50), [grain, copper])
    assert [p.offer.id for p in charge.parts] == ["grain"]


def test_two_metals_are_weighed_in_place_of_five_where_the_cost_hardly_differs():
    gold = ALLOYS["14kt-yellow"]
    charge = compose(gold, Mass.g(50), supplier_offers(gold, starting_metals()))
    cheapest = best_blend(Asked(alloy=gold, mass=Mass.g(50)), supplier_offers(gold, starting_metals()))
    assert cheapest is not None
    assert sum(x > 0 for x in cheapest) > 2
    assert len(charge.parts) == 2


def test_what_is_missing_is_named_with_the_least_mass_that_mends_it():
    """30 g of 14 kt yellow, of which 12.46 g are a master with 11.5 % zinc that loses 1 % of it: 0.0143 g.
    Gold wanted: 585 ‰ of 29.9857 g = 17.5416 g, ten are there, rounded up to the scale's step."""
    rest = offer("master", {"Ag": 20.5, "Cu": 68, "Zn": 11.5}, 100)
    with pytest.raises(CannotCompose) as caught:
        compose(ALLOYS["14kt-yellow"], Mass.g(30), [offer("gold", {"Au": 100}, 10), rest])
    assert caught.value.blocker == "30.00 g of 14 kt yellow cannot be made: too little gold"
    assert caught.value.remedy == "At least 7.55 g of gold more would mend it"


@pytest.mark.parametrize("seed", range(40))
def test_adding_what_the_remedy_names_makes_the_charge(seed, charges):
    asked, offers = charges.situation(random.Random(5000 + seed))
    if best_blend(asked, offers) is not None:
        return
    more = [offer(f"+{e}", {e: 100}, float(m.to("g")) + 0.01) for e, m in missing(asked, offers).items()]
    assert best_blend(asked, [*offers, *more]) is not None


def test_the_recycled_limit_is_named_when_it_is_in_the_way():
    with pytest.raises(CannotCompose, match="more recycled metal than the 40 % that 14 kt yellow allows"):
        compose(ALLOYS["14kt-yellow"], Mass.g(30), [offer("old", GOLD_14, 100, recycled=True, melts=1)])


def test_a_lot_that_reached_its_melt_count_is_named():
    tired = offer("tired", GOLD_14, 100, recycled=True, melts=3)
    fresh = offer("grain", GOLD_14, 20)
    with pytest.raises(CannotCompose, match="would need tired, which has been melted 3 times"):
        compose(ALLOYS["14kt-yellow"], Mass.g(30), [tired, fresh])


def test_a_lot_with_an_element_that_the_alloy_does_not_allow_is_never_used():
    with pytest.raises(CannotCompose, match="there is no metal that may go into it"):
        compose(ALLOYS["14kt-yellow"], Mass.g(30), [offer("nickel white", {"Au": 58.5, "Ni": 41.5}, 100)])


def test_a_tolerance_lets_fineness_fall_short_only_where_the_shop_chose_it():
    grain = [offer("grain", {"Ag": 92.2, "Cu": 7.8})]
    silver = ALLOYS["silver-925"]
    alloy = replace(silver, composition=tuple(replace(r, high=r.high + Share.percent(1)) for r in silver.composition))
    with pytest.raises(CannotCompose):
        compose(alloy, Mass.g(30), grain)
    assert compose(alloy, Mass.g(30), grain, tolerance=US_METAL).fineness == Share.permille(922)


def test_the_verifier_sees_one_part_in_a_million_under_the_standard():
    silver = ALLOYS["silver-925"]
    at = Part(offer=offer("at", {"Ag": "92.5", "Cu": "7.5"}), mass=Mass.g(50))
    under = Part(offer=offer("under", {"Ag": "92.4999", "Cu": "7.5001"}), mass=Mass.g(50))
    assert holds(silver, [at])
    assert not holds(silver, [under])
