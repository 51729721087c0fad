"""Powder and consumables drawn down by numbers that can be reckoned by hand."""

from dataclasses import replace
from datetime import date

from domain.planning.plan import Plan
from domain.shop.consumables import Amount, Consumable, CountedIn, UsedPer
from domain.stock.consumed import OTHER, Delivery, Key, shelf_of, supply_positions, uses_of
from domain.units import Money

FLUX = Consumable(
    id="flux",
    name="Flux",
    unit=CountedIn.GRAM,
    per=UsedPer.CAST,
    use=Amount.of("2.5", "unit"),
    amount=Amount.of(6, "unit"),
    pack=Amount.of(10, "unit"),
    price=Money.of(4, "unit"),
    lead_days=2,
)


def positions(bench, flasks, things, reached=None, coming=()):
    problem = bench.problem([], ["silver-925"])
    uses = uses_of(problem, Plan(flasks=tuple(flasks)), things, reached or {})
    return supply_positions(problem, [shelf_of(t) for t in things], uses, coming)


def casts(bench, *days):
    return [bench.flask(f"F{day}", "silver-925", 50, day) for day in days]


def test_what_each_cast_uses_is_drawn_down_until_it_runs_out(bench):
    """6 g last for two casts of 2.5 g; the third, on Wednesday the 11th, is 1.5 g short. A pack of 10 g takes two
    working days: ordered by Monday the 9th."""
    (one,) = positions(bench, casts(bench, 1, 2, 9), [FLUX])
    assert (one.needed, one.low, one.low_day) == (Amount(7_500), Amount(-1_500), "2026-03-11")
    assert (one.order, one.cost, one.order_by) == (Amount(10_000), Money.of(4, "unit"), date(2026, 3, 9))
    assert one.flasks == ("F1", "F2", "F9")


def test_what_was_recorded_already_is_not_used_again(bench):
    (one,) = positions(bench, casts(bench, 1, 2, 9), [FLUX], {"F1": frozenset({UsedPer.FLASK, UsedPer.CAST})})
    assert (one.needed, one.low, one.order) == (Amount(5_000), Amount(1_000), Amount(0))
    assert one.order_by is None


def test_a_delivery_counts_from_its_day_and_is_not_ordered_twice(bench):
    """In time there is no low point under nothing; a day late it runs out once, but nothing more need be ordered."""
    for day, low in (("2026-03-11", 1_000), ("2026-03-12", -1_500)):
        coming = (Delivery(key=Key(OTHER, "flux"), arrives=day, amount=Amount(10_000)),)
        (one,) = positions(bench, casts(bench, 1, 2, 9), [FLUX], coming=coming)
        assert (one.low, one.coming, one.order) == (Amount(low), Amount(10_000), Amount(0))


def test_half_a_pack_too_little_is_a_whole_pack_and_two_are_two(bench):
    one, two = (positions(bench, casts(bench, 9), [replace(FLUX, use=Amount.of(use, "unit"))])[0] for use in (6.001, 17))
    assert (one.order, two.order) == (Amount(10_000), Amount(20_000))


def test_what_cannot_come_in_time_is_ordered_today(bench):
    (one,) = positions(bench, casts(bench, 0), [replace(FLUX, amount=Amount(0))])
    assert (one.order_by, one.short_from) == (date(2026, 3, 2), "2026-03-02")
