"""Level packing is exact on small instances: compared with an exhaustive search written for the test."""

import random
from functools import cache
from itertools import product

import pytest

from domain.mould.levels import Boxes, first_fit_height, fits_height, least_levels


def exhaustive(kinds: tuple[Boxes, ...], width: int) -> int:
    """The least height over every way to fill a level with any boxes left, no cleverness."""

    @cache
    def least(left: tuple[int, ...]) -> int:
        if not any(left):
            return 0
        best = 10**9
        for fill in product(*(range(n + 1) for n in left)):
            if any(fill) and sum(n * k.width for n, k in zip(fill, kinds, strict=True)) <= width:
                tallest = max(k.height for n, k in zip(fill, kinds, strict=True) if n)
                best = min(best, tallest + least(tuple(n - m for n, m in zip(left, fill, strict=True))))
        return best

    return least(tuple(k.number for k in kinds))


def instance(seed: int) -> tuple[tuple[Boxes, ...], int]:
    rng = random.Random(seed)
    width = rng.randint(10, 30)
    kinds = [Boxes(rng.randint(2, width), rng.randint(1, 12), 1) for _ in range(rng.randint(1, 6))]
    return tuple(Boxes(k.width, k.height, rng.choice([1, 1, 2])) for k in kinds), width


def height(levels: tuple[tuple[int, ...], ...], kinds: tuple[Boxes, ...]) -> int:
    return sum(max(k.height for n, k in zip(fill, kinds, strict=True) if n) for fill in levels)


@pytest.mark.parametrize("block", range(10))
def test_height_is_the_least_there_is(block: int) -> None:
    for seed in range(block * 40, block * 40 + 40):
        kinds, width = instance(seed)
        levels = least_levels(kinds, width)
        assert levels is not None
        assert height(levels, kinds) == exhaustive(kinds, width), seed
        assert fits_height(kinds, width, height(levels, kinds))
        assert not fits_height(kinds, width, height(levels, kinds) - 1)


def test_every_box_is_in_one_level_and_no_level_is_too_wide() -> None:
    rng = random.Random(7)
    for _ in range(100):
        kinds = tuple(Boxes(rng.randint(5, 40), rng.randint(4, 30), rng.randint(0, 9)) for _ in range(8))
        levels = least_levels(kinds, 72)
        assert levels is not None
        assert [sum(column) for column in zip(*levels, strict=True)] == [k.number for k in kinds]
        assert all(sum(n * k.width for n, k in zip(fill, kinds, strict=True)) <= 72 for fill in levels)
        assert height(levels, kinds) <= first_fit_height(kinds, 72)


def test_first_fit_is_beaten_where_it_wastes_a_level() -> None:
    hard = (Boxes(4, 9, 2), Boxes(3, 9, 4))
    assert first_fit_height(hard, 10) == 27
    levels = least_levels(hard, 10)
    assert levels is not None
    assert height(levels, hard) == 18


def test_a_box_wider_than_the_level_fits_nowhere() -> None:
    assert least_levels((Boxes(11, 1, 1),), 10) is None
    assert not fits_height((Boxes(11, 1, 1),), 10, 100)


def test_nothing_takes_no_level() -> None:
    assert least_levels((), 10) == ()
    assert least_levels((Boxes(3, 3, 0),), 10) == ()
    assert fits_height((), 10, 0)
