"""The cheapest purchase that mends a charge which cannot be composed."""

import random
from dataclasses import replace
from datetime import date
from fractions import Fraction
from itertools import product

import pytest

from domain.errors import CannotCompose
from domain.metallurgy.blend import Asked
from domain.metallurgy.charge import compose
from domain.metallurgy.melt import Offer
from domain.shop.lots import MetalKind
from domain.stock.offers import metal_offer
from domain.stock.purchase import cheapest_purchase
from domain.stock.week_charges import week_charges
from domain.units import Mass, Money

MONDAY = date(2026, 3, 2)


def test_a_flask_that_no_supplier_reaches_in_time_names_day_purchase_and_cost(bench):
    """18 kt yellow on Tuesday, an empty shelf, gold two working days away: 30 g take 22.5 g of gold, five packs."""
    flask = bench.flask("F1", "18kt-yellow", 30, 1, pieces=2)
    (short,) = week_charges(bench.problem([], ["18kt-yellow"]), [flask]).short
    assert "more cannot be here by Tue 3 Mar" in short.blocker
    assert short.purchase is not None
    bought = {b.metal: b.mass for b in short.purchase.metals}
    assert bought == {"fine-gold": Mass.g(25), "master-18kt-yellow": Mass.g(50)}
    assert short.purchase.cost == Money.of(25 * 90 + 50 * 0.5, "unit")
    assert (short.purchase.needed, short.purchase.here, short.purchase.in_time) == ("2026-03-03", "2026-03-05", False)
    assert "Buying 25.00 g of Fine gold and 50.00 g of Master alloy for 18 kt yellow for 2\u202f275.00 EUR" in short.remedy
    assert "ordered today it comes on Thu 5 Mar" in short.remedy


def test_what_is_there_already_is_not_bought(bench):
    master = bench.lot("master", MetalKind.MASTER, {"Ag": 56, "Cu": 42, "Zn": 2}, 50, metal="master-18kt-yellow")
    flask = bench.flask("F1", "18kt-yellow", 30, 1, pieces=2)
    (short,) = week_charges(bench.problem([master], ["18kt-yellow"]), [flask]).short
    assert short.purchase is not None
    assert [(b.metal, b.mass) for b in short.purchase.metals] == [("fine-gold", Mass.g(25))]


def test_a_customers_own_metal_is_never_made_up_by_a_purchase(bench):
    own = bench.lot("own", MetalKind.GRAIN, {"Au": 75.2, "Ag": 14, "Cu": 10.8}, 20, owner_job="J")
    flask = bench.flask("F1", "18kt-yellow/own", 30, 1, pieces=2)
    (short,) = week_charges(bench.problem([own], ["18kt-yellow/own"]), [flask]).short
    assert short.purchase is None
    assert "ask what to do" in short.remedy


def some_bench(bench, seed: int) -> tuple[Asked, list[Offer]]:
    rng = random.Random(seed)
    alloy = bench.alloys[rng.choice(["9kt-yellow", "14kt-yellow", "18kt-yellow", "silver-925", "14kt-red"])]
    shelf = [metal_offer(m) for m in bench.metals if m.alloy in (None, alloy.id) and m.family in (None, alloy.family)]
    held = [replace(o, available=Mass.g(rng.randint(1, 30)), to_order=False) for o in rng.sample(shelf, min(3, len(shelf)))]
    return Asked(alloy=alloy, mass=Mass.g(rng.randint(10, 150))), held


@pytest.mark.parametrize("seed", range(25))
def test_what_is_to_be_bought_makes_the_charge(bench, seed):
    asked, held = some_bench(bench, seed)
    purchase = cheapest_purchase(bench.shop(), asked, held, MONDAY, date(2026, 3, 3))
    assert purchase is not None
    metals = {m.id: m for m in bench.metals}
    bought = [replace(metal_offer(metals[b.metal]), id=f"+{b.metal}", available=b.mass) for b in purchase.metals]
    assert all(b.mass.base % metals[b.metal].pack.base == 0 for b in purchase.metals)
    assert compose(asked.alloy, asked.mass, [*held, *bought], asked.step).mass >= asked.mass


def test_no_other_packs_of_gold_silver_and_copper_cost_less(bench, make_bench):
    """Every purchase of few packs is tried: none that makes the charge is cheaper."""
    sold = tuple(m for m in bench.metals if m.id in ("fine-gold", "fine-silver-grain", "fine-copper"))
    shop = make_bench(sold).shop()
    asked = Asked(alloy=bench.alloys["18kt-yellow"], mass=Mass.g(20))
    held = [replace(metal_offer(sold[0]), available=Mass.g(4), to_order=False)]
    purchase = cheapest_purchase(shop, asked, held, MONDAY, date(2026, 3, 3))
    assert purchase is not None
    for packs in product(range(5), range(3), range(2)):
        cost = sum(Fraction(m.price.base) * m.pack.base / m.price_mass.base * n for m, n in zip(sold, packs, strict=True))
        if cost < purchase.cost.base:
            bought = [replace(metal_offer(m), id=f"+{m.id}", available=m.pack.times(n)) for m, n in zip(sold, packs, strict=True)]
            with pytest.raises(CannotCompose):
                compose(asked.alloy, asked.mass, [*held, *bought], asked.step)
