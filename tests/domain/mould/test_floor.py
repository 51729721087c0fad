"""Flasks on a kiln floor: placed as discs with shapely (GEOS), and counted out by hand."""

import random
from dataclasses import replace
from itertools import product

import pytest
from shapely import Point

from domain.mould.floor import Standing, fits_floor, maximal_counts, rows_on_floor
from domain.shop.burnout import Kiln
from domain.shop.flask import FlaskSize
from domain.starting.machines import starting_kilns
from domain.starting.mould import starting_sizes
from domain.units import Length

SIZES = {s.id: s for s in starting_sizes()}
BENCH, FLOOR = starting_kilns()


def standing(sizes: list[FlaskSize]) -> list[Standing]:
    return [Standing(f"F{n}", s.outer_diameter, s.height) for n, s in enumerate(sizes)]


def assert_apart(rows: tuple[tuple[str, ...], ...], flasks: list[Standing], kiln: Kiln) -> None:
    """Discs with half the gap around them do not meet, and stay half a gap off the walls."""
    by_id, half, discs = {f.id: f for f in flasks}, kiln.gap.base / 2, []
    front = float(kiln.gap.base)
    for row in rows:
        deep = max(by_id[i].diameter.base for i in row)
        left = float(kiln.gap.base)
        for i in row:
            d = by_id[i].diameter.base
            discs.append(Point(left + d / 2, front + d / 2).buffer(d / 2 + half - 0.5))
            left += d + kiln.gap.base
        assert left <= kiln.width.base
        front += deep + kiln.gap.base
    assert front <= kiln.depth.base
    assert all(a.disjoint(b) for n, a in enumerate(discs) for b in discs[:n])


@pytest.mark.outside("flasks as discs in shapely (GEOS)")
@pytest.mark.parametrize("kiln", [BENCH, FLOOR], ids=lambda k: k.id)
def test_flasks_stand_apart_from_each_other_and_the_walls(kiln: Kiln) -> None:
    rng = random.Random(5)
    stood = 0
    for _ in range(100):
        flasks = standing(rng.choices([s for s in SIZES.values() if s.id != "4x8p"], k=rng.randint(1, 12)))
        rows = rows_on_floor(flasks, kiln)
        if rows is not None:
            stood += 1
            assert sorted(i for row in rows for i in row) == sorted(f.id for f in flasks)
            assert_apart(rows, flasks, kiln)
    assert stood >= 20


def test_a_bench_kiln_holds_nine_small_flasks_or_four_large_ones() -> None:
    # 15 + 3·(66.5 + 15) = 259.5 ≤ 260 mm; 15 + 2·(92.9 + 15) = 230.8 mm, a third would need 338.7 mm
    assert rows_on_floor(standing([SIZES["2.5x2.5"]] * 9), BENCH) is not None
    assert rows_on_floor(standing([SIZES["2.5x2.5"]] * 10), BENCH) is None
    assert rows_on_floor(standing([SIZES["3.5x4"]] * 4), BENCH) is not None
    assert rows_on_floor(standing([SIZES["3.5x4"]] * 5), BENCH) is None


def test_a_flask_taller_than_the_chamber_less_its_gap_stands_nowhere() -> None:
    assert rows_on_floor(standing([SIZES["4x8p"]]), BENCH) is None
    snug = replace(BENCH, height=SIZES["4x8p"].height + BENCH.gap)
    assert rows_on_floor(standing([SIZES["4x8p"]]), snug) == (("F0",),)
    assert rows_on_floor(standing([SIZES["4x8p"]]), replace(snug, height=snug.height - Length(1))) is None


def test_no_flasks_need_no_rows() -> None:
    assert rows_on_floor([], BENCH) == ()


def test_the_fullest_loads_are_all_that_counting_finds() -> None:
    sizes = [replace(SIZES[i], owned=4) for i in ("2x2.5", "3x3", "3.5x4")]
    feasible = {c for c in product(range(5), repeat=3) if fits_floor(list(zip(sizes, c, strict=True)), BENCH)}

    def beaten(c: tuple[int, ...]) -> bool:
        return any(other != c and all(a >= b for a, b in zip(other, c, strict=True)) for other in feasible)

    found = maximal_counts(sizes, BENCH)
    assert found.complete
    assert set(found.counts) == {c for c in feasible if not beaten(c)}


def test_the_number_of_fullest_loads_is_limited_and_says_so() -> None:
    found = maximal_counts(list(SIZES.values()), FLOOR, limit=20)
    assert len(found.counts) == 20
    assert not found.complete
    assert all(fits_floor(list(zip(SIZES.values(), c, strict=True)), FLOOR) for c in found.counts)
