"""Charges, orders and positions of small weeks that can be reckoned by hand."""

from dataclasses import replace
from datetime import date

from domain.planning.check import check
from domain.planning.checking.case import Case
from domain.planning.checking.metal import lots_suffice
from domain.planning.plan import From, Plan
from domain.shop.lots import MetalKind
from domain.stock.orders import last_order_day
from domain.stock.position import metal_week
from domain.stock.week_charges import returns_mass, week_charges
from domain.units import Mass
from domain.week.recharging import recharged, stale

STERLING = {"Ag": 92.5, "Cu": 7.5}


def parts(metal, flask):
    charge = next(c for c in metal.charges if c.flask == flask)
    return {(p.origin, p.ref): p.mass for p in charge.parts}


def grain(bench, grams, **more):
    return bench.lot("grain", MetalKind.GRAIN, STERLING, grams, alloy="silver-925", metal="grain-silver-925", **more)


def test_a_lot_is_never_promised_twice(bench):
    flasks = [bench.flask("A", "silver-925", 60, 0), bench.flask("B", "silver-925", 60, 0, at=700)]
    metal = week_charges(bench.problem([grain(bench, 100)], ["silver-925"]), flasks)
    assert parts(metal, "A") == {(From.LOT, "grain"): Mass.g(60)}
    assert [s.flask for s in metal.short] == ["B"]
    assert "60.00 g of Silver 925" in metal.short[0].blocker
    assert metal.orders == ()


def test_what_is_short_is_ordered_when_it_can_arrive(bench):
    """Grain takes two working days: ordered by Monday the 9th it is here on Wednesday the 11th. 100 g packs."""
    flasks = [bench.flask("A", "silver-925", 60, 0), bench.flask("B", "silver-925", 150, 9)]
    metal = week_charges(bench.problem([grain(bench, 60)], ["silver-925"]), flasks)
    assert metal.short == ()
    (order,) = metal.orders
    assert (order.metal, order.flasks, order.mass) == ("grain-silver-925", ("B",), Mass.g(100))
    assert (order.order_by, order.arrives) == ("2026-03-09", "2026-03-11")
    assert order.needed == parts(metal, "B")[From.ORDER, "grain-silver-925"]


def test_returns_are_used_once_clean_and_save_ordered_metal(bench):
    """A's charge of 100 g gives back 99.6 − 2 × (5 − feed 0.586) = 90.77 g a day after its cast; half of
    B may be recycled."""
    early = bench.flask("A", "silver-925", 100, 0, pieces=2)
    problem = bench.problem([grain(bench, 100)], ["silver-925"])
    metal = week_charges(problem, [early, bench.flask("B", "silver-925", 80, 4)])
    assert returns_mass(problem, early, Mass.g(100)) == Mass.g("90.772")
    assert parts(metal, "B")[From.RETURNS, "A"] == Mass.g(40)
    next_day = week_charges(problem, [early, bench.flask("B", "silver-925", 80, 1, at=600)])
    assert [s.flask for s in next_day.short] == ["B"]


def test_a_customers_own_metal_is_never_blended(bench):
    own = bench.lot("own", MetalKind.GRAIN, {"Au": 75.2, "Ag": 14, "Cu": 10.8}, 20, owner_job="J")
    keys = ["18kt-yellow/own", "18kt-yellow"]
    flasks = [bench.flask("A", keys[0], 25, 9), bench.flask("B", keys[1], 10, 0)]
    metal = week_charges(bench.problem([own], keys), flasks)
    assert [s.flask for s in metal.short] == ["B", "A"]
    assert "customer's own" in metal.short[1].remedy
    enough = week_charges(bench.problem([replace(own, mass=Mass.g(26))], keys), flasks[:1])
    assert parts(enough, "A") == {(From.LOT, "own"): Mass.g(25)}


def test_a_customers_own_old_metal_is_cast_from_itself_alone(bench):
    """The limit on recycled metal does not bar it, its melt count does."""
    shares = {"Au": 75.2, "Ag": 14, "Cu": 10.8}
    own = bench.lot("own", MetalKind.RECYCLED, shares, 26, owner_job="J", melts=1, alloy="18kt-yellow")
    flasks = [bench.flask("A", "18kt-yellow/own", 25, 0)]
    problem = bench.problem([own], ["18kt-yellow/own"])
    metal = week_charges(problem, flasks)
    assert parts(metal, "A") == {(From.LOT, "own"): Mass.g(25)}
    assert not [v for v in check(problem, Plan(flasks=tuple(flasks), charges=metal.charges)) if v.rule == 9]
    assert week_charges(replace(problem, lots=(replace(own, melts=3),)), flasks).charges == ()


def test_a_delivery_is_used_from_the_day_it_arrives(bench):
    coming = grain(bench, 100, arrives="2026-03-03")
    problem = bench.problem([coming], ["silver-925"])
    metal = week_charges(problem, [bench.flask("A", "silver-925", 50, 0), bench.flask("B", "silver-925", 50, 1)])
    assert [s.flask for s in metal.short] == ["A"]
    assert parts(metal, "B") == {(From.LOT, "grain"): Mass.g(50)}


def test_a_flask_already_cast_keeps_its_charge_and_takes_nothing_more(bench):
    cast = bench.flask("A", "silver-925", 60, 0, at=300)
    problem = bench.problem([grain(bench, 60)], ["silver-925"])
    first = week_charges(bench.problem([grain(bench, 120)], ["silver-925"]), [replace(cast, cast_start=600)])
    again = replace(problem, previous=Plan(flasks=(cast,), charges=first.charges))
    metal = week_charges(again, [cast, bench.flask("B", "silver-925", 60, 1)])
    assert metal.short == ()
    assert parts(metal, "A") == parts(metal, "B") == {(From.LOT, "grain"): Mass.g(60)}


def test_supply_promises_shared_gold_once_and_in_order(bench):
    """60 g of gold: 80 g of 14 kt take 46.8 g, the 13.2 g left make 17.6 g of 18 kt, less what is held
    back for rounding: 9 steps for each 20 g of both."""
    lots = [
        bench.lot("gold", MetalKind.FINE, {"Au": 100}, 60),
        bench.lot("m14", MetalKind.MASTER, {"Ag": 19, "Cu": 69, "Zn": 12}, 100),
        bench.lot("m18", MetalKind.MASTER, {"Ag": 56, "Cu": 42, "Zn": 2}, 100),
    ]
    supply = bench.supply(lots, [bench.want("14kt-yellow", 80), bench.want("18kt-yellow", 60)])
    assert supply["14kt-yellow"].stock_castable == Mass.g(80)
    assert Mass.g("16.5") < supply["18kt-yellow"].stock_castable < Mass.g("17.6")


def test_an_order_can_be_here_only_after_its_lead_time(bench):
    """Grain takes two working days, platinum grain seven, from Monday the 2nd."""
    supply = bench.supply([], [bench.want("silver-925", 50), bench.want("platinum-950-ru", 50)])
    assert supply["silver-925"].order_from == "2026-03-04"
    assert supply["platinum-950-ru"].order_from == "2026-03-11"
    assert supply["silver-925"].stock_castable == Mass(0)


def test_nothing_is_ordered_for_a_customers_own_metal(bench):
    own = bench.lot("own", MetalKind.GRAIN, {"Au": 75.2, "Ag": 14, "Cu": 10.8}, 20, owner_job="J")
    supply = bench.supply([own], [bench.want("18kt-yellow/own", 30)])
    assert supply["18kt-yellow/own"].order_from is None
    assert Mass.g("19.8") < supply["18kt-yellow/own"].stock_castable <= Mass.g(20)


def test_nobody_delivers_where_no_metal_is_sold(make_bench):
    supply = make_bench(()).supply([], [make_bench(()).want("silver-925", 50)])
    assert supply["silver-925"].order_from is None


def test_the_last_day_to_order_passes_over_the_weekend(bench):
    """For Monday the 9th with one working day's lead: order by Friday the 6th."""
    assert last_order_day(bench.shop(), date(2026, 3, 2), date(2026, 3, 9), 1) == date(2026, 3, 6)


def test_the_position_adds_up_day_by_day_and_names_its_low_point(bench):
    problem = bench.problem([grain(bench, 100)], ["silver-925"])
    flasks = (bench.flask("A", "silver-925", 60, 0, pieces=2), bench.flask("B", "silver-925", 150, 9))
    metal = week_charges(problem, flasks)
    week = metal_week(problem, Plan(flasks=flasks, charges=metal.charges, orders=metal.orders))
    by_key = {p.key: p for p in week.positions}
    for position in week.positions:
        for day in position.days:
            assert day.closing == day.opening - day.charges + day.returns + day.deliveries
            assert day.closing.base >= 0
        assert position.low == min(d.closing for d in position.days)
    fresh = by_key["grain-silver-925"]
    assert fresh.days[0].charges == Mass.g(60)
    assert by_key["recycled/silver-925"].days[1].returns == returns_mass(problem, flasks[0], Mass.g(60))
    assert [(r.flask, r.back, r.melts, r.to_refiner) for r in week.returns] == [
        ("A", "2026-03-03", 1, False),
        ("B", "2026-03-12", 2, False),
    ]


def test_metal_at_its_melt_count_goes_to_the_refiner(bench):
    old = bench.lot("old", MetalKind.RECYCLED, STERLING, 50, melts=2, alloy="silver-925")
    spent = bench.lot("spent", MetalKind.RECYCLED, STERLING, 50, melts=3, alloy="silver-925")
    problem = bench.problem([grain(bench, 100), old, spent], ["silver-925"])
    flasks = (bench.flask("A", "silver-925", 60, 0),)
    metal = week_charges(problem, flasks)
    week = metal_week(problem, Plan(flasks=flasks, charges=metal.charges))
    assert (From.LOT, "spent") not in parts(metal, "A")
    assert week.returns[0].to_refiner
    assert "recycled/silver-925" in {p.key for p in week.positions}
    assert [lot.id for lot in week.refiner] == ["spent"]


def test_what_is_weighed_already_is_not_taken_from_the_shelf_again(bench):
    """A's 60 g are in its crucible: of 160 g 100 g are left, B takes 80 g of them, and 20 g stay."""
    flasks = (bench.flask("A", "silver-925", 60, 0), bench.flask("B", "silver-925", 80, 0, at=700))
    before = bench.problem([grain(bench, 160)], ["silver-925"])
    planned = week_charges(before, flasks)
    plan = Plan(flasks=flasks, charges=planned.charges)
    after = replace(before, lots=(grain(bench, 100),), fixed_flasks=flasks[:1], previous=plan, weighed=frozenset({"A"}))
    metal = week_charges(after, flasks)
    assert (metal.short, metal.orders) == ((), ())
    assert parts(metal, "A") == {(From.LOT, "grain"): Mass.g(60)}
    assert parts(metal, "B") == {(From.LOT, "grain"): Mass.g(80)}
    (position,) = (p for p in metal_week(after, plan).positions if p.key == "grain-silver-925")
    assert (position.days[0].opening, position.days[0].charges, position.low) == (Mass.g(100), Mass.g(80), Mass.g(20))
    assert list(lots_suffice(Case(after, plan))) == []
    counted_twice = replace(after, weighed=frozenset())
    assert [v.where for v in lots_suffice(Case(counted_twice, plan))] == ["lot grain"]


def test_a_charge_worked_out_again_leaves_the_weighed_one_alone(bench):
    """B's tree weighs more: of the 100 g that are left it may have all, because A's 60 g are not among them."""
    flasks = (bench.flask("A", "silver-925", 60, 0), bench.flask("B", "silver-925", 80, 0, at=700))
    before = bench.problem([grain(bench, 160)], ["silver-925"])
    plan = Plan(flasks=flasks, charges=week_charges(before, flasks).charges)
    after = replace(before, lots=(grain(bench, 100),), fixed_flasks=flasks[:1], previous=plan, weighed=frozenset({"A"}))
    again = recharged(after, plan, [], [bench.flask("B", "silver-925", 95, 0, at=700)])
    assert (again.changed, again.short) == (("B",), ())
    assert {c.flask: c.parts[0].mass for c in again.plan.charges} == {"A": Mass.g(60), "B": Mass.g(95)}
    assert stale(after, plan) == {}
