"""Sizes are three lengths, or a diameter and a thickness; nothing else is guessed."""

import pytest

from domain.errors import InvalidValue
from domain.intake.numbers import Ambiguous
from domain.intake.sizes import box, read_size
from domain.units import Length


@pytest.mark.parametrize(
    ("text", "micrometres"),
    [
        ("22 x 18 x 6.7 mm", (22_000, 18_000, 6_700)),
        ("22x18x6,7mm", (22_000, 18_000, 6_700)),
        ("2.0 x 1.2 x 0.54 cm", (20_000, 12_000, 5_400)),
        ('1 1/8" x 1/2" x 3/32"', (28_575, 12_700, 2_381)),
        ('3/4 x 3/8 x 1/8"', (19_050, 9_525, 3_175)),
        ("22mm × 18mm × 1 cm", (22_000, 18_000, 10_000)),
        ("dia 30 mm, 4.9 mm thick", (30_000, 30_000, 4_900)),
        ("Ø30 x 4,9 mm", (30_000, 30_000, 4_900)),
        ("Durchm. 30, 4,9 dick mm", (30_000, 30_000, 4_900)),
        ("4.9 mm x 30 mm dia", (30_000, 30_000, 4_900)),
        ("22 by 18 by 6 mm", (22_000, 18_000, 6_000)),
    ],
)
def test_sizes_read_as_written(text: str, micrometres: tuple[int, int, int]) -> None:
    assert tuple(length.base for length in read_size(text, None)) == micrometres


def test_a_size_without_a_unit_is_a_question_and_takes_the_answer() -> None:
    with pytest.raises(Ambiguous) as caught:
        read_size("24x15x8.3", None)
    assert (caught.value.kind, caught.value.field) == ("unit", "size")
    assert read_size("24x15x8.3", "mm")[2] == Length.mm("8.3")
    assert read_size("dia 9, 1.2 thick", "mm") == (Length.mm(9), Length.mm(9), Length.mm("1.2"))


@pytest.mark.parametrize(
    "text", ["", "24", "24 x 15", "24 x 15 x 8 x 3", "dia 30", "24 x 0 x 3", "big", "24 x 15 x y", "-2 x 3 x 4", "x x x"]
)
def test_what_is_no_size_says_what_to_type(text: str) -> None:
    with pytest.raises(InvalidValue, match="type"):
        read_size(text, "mm")


@pytest.mark.parametrize(("order", "expected"), [("long-up", (15, 24, 8)), ("long-out", (8, 15, 24)), ("typed", (24, 8, 15))])
def test_the_order_on_the_tree_is_a_rule(order: str, expected: tuple[int, int, int]) -> None:
    size = box((Length.mm(24), Length.mm(8), Length.mm(15)), order)
    assert (size.width, size.height, size.reach) == tuple(Length.mm(n) for n in expected)
