"""Of many returns the oldest are offered: nobody lays a hundred bags of them beside the scale."""

from fractions import Fraction

from domain.metallurgy.melt import Offer
from domain.planning.plan import From
from domain.shop.lots import MetalKind
from domain.stock.week_charges import AMPLE, MANY_RETURNS, few_returns, week_charges
from domain.units import Mass

STERLING = {"Ag": Fraction(925, 1000), "Cu": Fraction(75, 1000)}


def returned(*grams: float) -> list[Offer]:
    names = (f"returns:F{n:02d}" for n in range(len(grams)))
    return [
        Offer(id=name, name=name, composition=STERLING, available=Mass.g(g), cost=Fraction(1), recycled=True, melts=1)
        for name, g in zip(names, grams, strict=True)
    ]


def test_the_oldest_are_offered_and_as_many_as_are_allowed() -> None:
    many = returned(*[20] * (MANY_RETURNS + 5))
    assert few_returns(many, Mass.g(30)) == many[:MANY_RETURNS]


def test_few_are_offered_all() -> None:
    some = returned(*[20] * MANY_RETURNS)
    assert few_returns(some, Mass.g(1)) == some


def test_more_are_offered_until_they_hold_enough() -> None:
    many = returned(*[20] * 40)
    few = few_returns(many, Mass.g(200))
    assert few == many[: 200 * AMPLE // 20]


def test_crumbs_among_many_are_left_aside() -> None:
    many = returned(*[0.1, 20] * MANY_RETURNS, 20)
    few = few_returns(many, Mass.g(30))
    assert [o.available for o in few] == [Mass.g(20)] * MANY_RETURNS


def test_crumbs_alone_are_offered_all() -> None:
    many = returned(*[0.1] * 20)
    assert few_returns(many, Mass.g(30)) == many


def test_a_charge_after_many_casts_takes_the_oldest_returns(bench) -> None:
    grain = bench.lot("grain", MetalKind.GRAIN, {"Ag": 92.5, "Cu": 7.5}, 2000, alloy="silver-925", metal="grain-silver-925")
    early = [bench.flask(f"A{n:02d}", "silver-925", 20, 0, at=480 + 10 * n) for n in range(MANY_RETURNS + 3)]
    metal = week_charges(bench.problem([grain], ["silver-925"]), [*early, bench.flask("Z", "silver-925", 60, 4)])
    assert metal.short == ()
    charge = next(c for c in metal.charges if c.flask == "Z")
    assert [p.ref for p in charge.parts if p.origin is From.RETURNS] == ["A00", "A01"]
