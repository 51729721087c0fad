"""Trees: rings placed as solid boxes do not meet. The independent check uses shapely (GEOS)."""

import math
import random
from dataclasses import replace

import pytest
from shapely import Polygon
from shapely.affinity import rotate

from domain.mould.levels import Boxes, first_fit_height
from domain.mould.ring import Ring
from domain.mould.rings import PieceBox, TreePiece, boxes, explain_alone, explain_misfit, fits_tree, pack_rings, tree_height
from domain.mould.tree import TreeSpace, reaches_inside, tree_space
from domain.shop.pattern import PieceSize
from domain.shop.shop import ShopRules
from domain.starting.mould import starting_sizes
from domain.units import Length, Mass

RULES = ShopRules()
SIZES = {s.id: s for s in starting_sizes()}
BIG = tree_space(SIZES["3.5x4"], RULES)


def piece_size(width: float, height: float, reach: float) -> PieceSize:
    return PieceSize(width=Length.mm(width), height=Length.mm(height), reach=Length.mm(reach))


def random_tree(rng: random.Random) -> tuple[list[TreePiece], TreeSpace]:
    space = tree_space(rng.choice(list(SIZES.values())), RULES)
    pieces = []
    for n in range(rng.randint(1, 6)):
        size = piece_size(rng.randint(30, 250) / 10, rng.randint(30, 250) / 10, rng.randint(30, 250) / 10)
        if reaches_inside(size, space):
            pieces.append(TreePiece(f"J{n}", size, rng.randint(1, 6), Mass.g(rng.randint(1, 20))))
    return pieces, space


def footprint(box: PieceBox) -> Polygon:
    root, reach, half = box.root.base, box.reach.base, box.width.base / 2
    return rotate(
        Polygon([(root, -half), (root + reach, -half), (root + reach, half), (root, half)]), box.angle, (0, 0), use_radians=True
    )


def sizes_of(pieces: list[TreePiece]) -> dict[str, PieceSize]:
    return {p.job: p.size for p in pieces}


@pytest.mark.outside("pieces as solid boxes in shapely (GEOS)")
@pytest.mark.parametrize("block", range(5))
def test_pieces_never_meet_and_stay_off_the_wall(block: int) -> None:
    rng = random.Random(block)
    packed = 0
    for _ in range(80):
        pieces, space = random_tree(rng)
        rings = pack_rings(pieces, space, RULES)
        if not rings:
            continue
        packed += 1
        placed = boxes(rings, sizes_of(pieces), space, RULES)
        shapes = [footprint(box) for box in placed]
        for i, box in enumerate(placed):
            assert 0 <= box.bottom.base < box.top.base <= space.height.base
            assert max(math.hypot(x, y) for x, y in shapes[i].exterior.coords) <= space.radius.base + 1e-6
            for j in range(i):
                apart = placed[j].top.base + RULES.ring_gap.base <= box.bottom.base
                same_ring = placed[j].ring == box.ring
                assert apart or (same_ring and shapes[i].intersection(shapes[j]).area < 1)
    assert packed >= 15


def test_all_pieces_are_on_the_tree_once() -> None:
    rng = random.Random(3)
    for _ in range(200):
        pieces, space = random_tree(rng)
        rings = pack_rings(pieces, space, RULES)
        assert (rings is not None) is fits_tree(pieces, space, RULES)
        if rings is None:
            assert explain_misfit(pieces, SIZES["2x2.5"], RULES)
            continue
        counts: dict[str, int] = {}
        for ring in rings:
            for job, n in ring.pieces:
                counts[job] = counts.get(job, 0) + n
        assert counts == {p.job: p.count for p in pieces}


def test_rings_are_no_higher_than_first_fit() -> None:
    rng = random.Random(11)
    for _ in range(200):
        pieces, space = random_tree(rng)
        rings = pack_rings(pieces, space, RULES)
        if rings:
            kinds = [Boxes(p.size.width.base + 3000, p.size.height.base + 3000, p.count) for p in pieces]
            assert tree_height(rings, RULES).base + 3000 <= first_fit_height(kinds, space.circle.base)


def test_a_ring_is_as_high_as_its_tallest_piece_and_holds_what_its_circle_holds() -> None:
    # the circle of a 3½ in flask is 2π·12 mm = 75.398 mm: five of 12 mm with 3 mm gaps, not six
    pieces = [TreePiece("A", piece_size(12, 20, 10), 5), TreePiece("B", piece_size(12, 18, 10), 1)]
    rings = pack_rings(pieces, BIG, RULES)
    assert rings is not None
    assert [(r.pieces, r.height) for r in rings] == [((("A", 5),), Length.mm(20)), ((("B", 1),), Length.mm(18))]
    assert tree_height(rings, RULES) == Length.mm(41)


def test_heavy_pieces_sit_near_the_button() -> None:
    light = TreePiece("light", piece_size(20, 20, 10), 3, Mass.g(2))
    heavy = TreePiece("heavy", piece_size(20, 15, 10), 3, Mass.g(9))
    rings = pack_rings([light, heavy], BIG, RULES)
    assert rings is not None
    assert [r.pieces[0][0] for r in rings] == ["heavy", "light"]


def test_jobs_of_equal_pieces_share_rings() -> None:
    pieces = [TreePiece(f"J{n}", piece_size(12, 20, 10), 1) for n in range(10)]
    rings = pack_rings(pieces, BIG, RULES)
    assert rings is not None
    assert len(rings) == 2


def test_the_shops_own_count_takes_its_share_of_the_trunk_whatever_the_piece_measures() -> None:
    wide = TreePiece("A", piece_size(60, 60, 60), 6, per_tree=12)
    rings = pack_rings([wide], BIG, RULES)
    assert rings == (Ring(pieces=(("A", 6),), height=Length(BIG.height.base // 2), by_count=True),)
    assert pack_rings([replace(wide, count=12)], BIG, RULES) is not None
    assert pack_rings([replace(wide, count=13)], BIG, RULES) is None
    small = TreePiece("B", piece_size(10, 30, 10), 4)
    assert pack_rings([wide, small], BIG, RULES) is not None
    assert pack_rings([wide, replace(small, size=piece_size(10, 36, 10))], BIG, RULES) is None


def test_counted_pieces_are_drawn_inside_their_ring() -> None:
    piece = TreePiece("A", piece_size(10, 10, 10), 9, per_tree=12)
    rings = pack_rings([piece], BIG, RULES)
    assert rings is not None
    placed = boxes(rings, {"A": piece.size}, BIG, RULES)
    assert len(placed) == 9
    assert all(box.drawn_only for box in placed)
    assert len({(box.angle, box.bottom) for box in placed}) == 9


@pytest.mark.parametrize(
    ("size", "piece", "words"),
    [
        # 31.75 − 6 = 25.75 mm of radius, less 3 mm of trunk: 22.75 mm at the axis, less at the corners
        ("2.5x2.5", piece_size(6, 10, 23), "J: with its feed sprue the piece reaches 31 mm from the trunk"),
        ("2.5x2.5", piece_size(6, 10, 23), "a 2½ × 2½ in (64 × 64 mm), solid flask leaves 22.5 mm"),
        ("2.5x2.5", piece_size(6, 45, 8), "takes 45 mm of the trunk; a 2½ × 2½ in (64 × 64 mm), solid flask leaves 39.5 mm"),
        ("4x8p", piece_size(80, 10, 2), "the piece is 83 mm wide with its gap"),
    ],
)
def test_a_misfit_is_explained_by_the_dimension_in_the_way(size: str, piece: PieceSize, words: str) -> None:
    assert words in (explain_misfit([TreePiece("J", piece, 1)], SIZES[size], RULES) or "")


def test_too_many_pieces_are_explained_by_the_height_of_their_rings() -> None:
    pieces = [TreePiece("J", piece_size(12, 20, 10), 20)]
    reason = explain_misfit(pieces, SIZES["3.5x4"], RULES)
    assert reason == "the 4 rings take 89 mm of the trunk; a 3½ × 4 in (89 × 102 mm), solid flask leaves 75.6 mm"
    assert explain_misfit([replace(pieces[0], count=15)], SIZES["3.5x4"], RULES) is None


def test_more_than_the_shops_own_count_is_explained_by_it() -> None:
    piece = TreePiece("J", piece_size(12, 20, 10), 7, per_tree=6)
    told = explain_misfit([piece], SIZES["3.5x4"], RULES) or ""
    assert told.startswith("J: the shop sets 6 to a tree")
    assert told == f"J: {explain_alone(piece, SIZES['3.5x4'], RULES)}"
