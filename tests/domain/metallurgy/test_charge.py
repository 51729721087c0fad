"""Charges: the optimum against another solver, whole steps against exact fractions, and why not."""

import random
from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

import pytest
from ortools.linear_solver import pywraplp

from domain.errors import CannotCompose
from domain.metallurgy.blend import Asked, best_blend, obstacle
from domain.metallurgy.charge import compose
from domain.metallurgy.charge_why import missing
from domain.metallurgy.fineness import US_METAL
from domain.metallurgy.melt import Offer, Part, holds
from domain.starting.alloys import starting_alloys
from domain.starting.metals import starting_metals
from domain.stock.offers import supplier_offers
from domain.units import Mass, Share

ALLOYS = {a.id: a for a in starting_alloys()}


def offer(name: str, shares: dict[str, float], grams: float | None = None, **more: object) -> Offer:
    composition = {e: Fraction(str(s)) / 100 for e, s in shares.items()}
    available = None if grams is None else Mass.g(grams)
    return Offer(id=name, name=name, composition=composition, available=available, **more)  # type: ignore[arg-type]


GOLD_14 = {"Au": 58.5, "Ag": 8.5, "Cu": 28.2, "Zn": 4.8}


def bench_situation(rng: random.Random) -> tuple[Asked, list[Offer]]:
    """Some alloy, some mass, what suppliers and a random shelf offer."""
    alloy = rng.choice(starting_alloys())
    offers = [replace(o, to_order=False) for o in supplier_offers(alloy, starting_metals()) if rng.random() < 0.8]
    offers = [replace(o, available=Mass.g(round(rng.uniform(1, 80), 2))) if rng.random() < 0.5 else o for o in offers]
    for n in range(rng.randint(0, 2)):
        shares = {r.element: Fraction(r.low.base + rng.randint(0, max(0, r.high.base - r.low.base))) for r in alloy.composition}
        whole = sum(shares.values())
        recycled = {e: s / whole for e, s in shares.items()}
        cost, held, melts = Fraction(rng.randint(0, 5000)), Mass.g(rng.randint(1, 60)), rng.randint(0, 3)
        name = f"recycled {n}"
        offers.append(Offer(id=name, name=name, composition=recycled, available=held, cost=cost, recycled=True, melts=melts))
    return Asked(alloy=alloy, mass=Mass.g(round(rng.uniform(5, 250), 3))), [o for o in offers if obstacle(alloy, o) is None]


def by_glop(asked: Asked, offers: list[Offer]) -> float | None:
    """The least cost in cents by another solver, from the alloy's words in floats."""
    alloy = asked.alloy
    keeps = [{e: float(s) * (1 - alloy.losses.get(e, Share(0)).base / 1e6) for e, s in o.composition.items()} for o in offers]
    solver = pywraplp.Solver.CreateSolver("GLOP")
    grams = [solver.NumVar(0, solver.infinity() if o.available is None else o.available.base / 1000, o.id) for o in offers]

    def weighed(each: Iterable[float]) -> pywraplp.LinearExpr:
        return solver.Sum([share * gram for share, gram in zip(each, grams, strict=True)])

    whole = weighed(sum(k.values()) for k in keeps)
    for r in alloy.composition:
        low = r.low.base / 1e6
        if alloy.standard and alloy.standard.element == r.element:
            low = max(low, alloy.standard.minimum.base / 1e6)
        element = weighed(k.get(r.element, 0.0) for k in keeps)
        solver.Add(element >= low * whole)
        solver.Add(element <= r.high.base / 1e6 * whole)
    everything = asked.steps * asked.step.base / 1000
    solver.Add(weighed(float(o.recycled) for o in offers) <= alloy.recycled_limit.base / 1e6 * everything)
    solver.Add(solver.Sum(grams) == everything)
    solver.Minimize(weighed(float(o.cost) for o in offers))
    return solver.Objective().Value() if solver.Solve() == solver.OPTIMAL else None


@pytest.mark.outside("GLOP, the simplex solver of OR-Tools (charges are composed by HiGHS)")
@pytest.mark.parametrize("seed", range(300))
def test_the_least_cost_is_the_one_that_an_independent_solver_finds(seed):
    """To a millionth. The linear programs of ``scipy`` would be no other opinion: they are HiGHS too."""
    asked, offers = bench_situation(random.Random(seed))
    if not offers:
        assert best_blend(asked, offers) is None
        return
    ours, theirs = best_blend(asked, offers), by_glop(asked, offers)
    assert (ours is None) == (theirs is None)
    if ours is not None and theirs is not None:
        cost = sum(float(o.cost * x) for o, x in zip(offers, ours, strict=True)) * asked.step.base / 1000
        assert cost == pytest.approx(theirs, rel=1e-6, abs=1e-4)


@pytest.mark.parametrize("seed", range(300))
def test_a_rounded_charge_keeps_everything_exactly_and_is_at_most_a_few_steps_more(seed):
    asked, offers = bench_situation(random.Random(seed))
    if not offers or best_blend(asked, offers) is None:
        with pytest.raises(CannotCompose) as caught:
            compose(asked.alloy, asked.mass, offers, asked.step)
        assert caught.value.blocker
        assert caught.value.remedy
        return
    charge = compose(asked.alloy, asked.mass, offers, asked.step)
    assert holds(asked.alloy, charge.parts)
    assert all(p.mass.base % asked.step.base == 0 for p in charge.parts)
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
def test_adding_what_the_remedy_names_makes_the_charge(seed):
    asked, offers = bench_situation(random.Random(5000 + seed))
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
