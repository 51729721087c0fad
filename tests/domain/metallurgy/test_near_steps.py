"""Whole steps near a charge in fractions are the cheapest that hold."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import product
from random import Random

from domain.metallurgy.charge_lp import Row
from domain.metallurgy.near_steps import cheapest_near


def _lhs(row: Row, steps: Sequence[int]) -> Fraction:
    return sum((c * steps[i] for i, c in row.terms.items()), Fraction(0))


def test_the_cheapest_of_all_ways_is_found_and_none_where_there_is_none() -> None:
    random = Random(7)
    some = none = 0
    for _ in range(200):
        count = random.randint(1, 3)
        ranges = [(low := random.randint(0, 20), low + random.randint(0, 6)) for _ in range(count)]
        least, over = random.randint(10, 50), random.randint(0, 3)
        rows = [Row({i: Fraction(random.randint(-30, 60), 97) for i in range(count)}, low=Fraction(0))]
        cost = {i: Fraction(random.randint(1, 50), 7) for i in range(count)}

        def holds(steps: Sequence[int], rows: Sequence[Row] = rows) -> bool:
            return all(_lhs(row, steps) >= 0 for row in rows)

        every = product(*(range(low, high + 1) for low, high in ranges))
        ways = [steps for steps in every if least <= sum(steps) <= least + over and holds(steps)]
        seen, found = cheapest_near(ranges, least, over, rows, cost, holds)
        assert seen
        if not ways:
            assert found is None
            none += 1
            continue
        assert found in ways
        assert _lhs(Row(cost), found or ()) == min(_lhs(Row(cost), steps) for steps in ways)
        some += 1
    assert some >= 10
    assert none >= 10


def test_too_many_ways_are_not_looked_at() -> None:
    wide = [(0, 400)] * 4
    assert cheapest_near(wide, 500, 0, [], dict.fromkeys(range(4), Fraction(1)), lambda _: True) == (False, None)
