"""How a piece of known size stands on the tree, and how many of it a flask of each size holds."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import permutations

from domain.models.shape import Figures, Shape
from domain.mould.rings import TreePiece, explain_alone
from domain.mould.tree import reaches_inside, ring_capacity, tree_space
from domain.shop.flask import FlaskSize
from domain.shop.pattern import PieceSize
from domain.shop.shop import ShopRules
from domain.units import Length

AXES = ("x", "y", "z")
EVEN = 0.05
"""Nearer to the middle of the box than this share, neither end counts as the heavy one."""
ANY_FLASK = Length(200_000)
"""How large a piece may be where the shop keeps no flask sizes yet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FlaskFit:
    """``pieces``: how many one tree holds, by rings of its box; 0 with the reason in ``why``. ``turned``: the most
    that it holds however the piece stands."""

    size: FlaskSize
    pieces: int
    why: str
    turned: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class OnTheTree:
    """``width`` of the box lies along the ring, its ``height`` along the trunk, its ``reach`` away from it: which
    side of the model that is, is told by the axes. ``heavy_end``: the end of the reach with more metal, ``low`` or
    ``high`` along its axis, which is where the feed sprue belongs; empty where both ends are alike."""

    size: PieceSize
    width: str
    height: str
    reach: str
    heavy_end: str
    fits: tuple[FlaskFit, ...]


def largest_side(sizes: Iterable[FlaskSize]) -> Length:
    """The longest that a piece can be in any of the flasks."""
    return max((max(s.height, s.inner_diameter) for s in sizes), default=ANY_FLASK)


def on_the_tree(found: Figures, shape: Shape, sizes: Sequence[FlaskSize], rules: ShopRules) -> OnTheTree:
    """The way to stand in which most pieces stand on one tree of any size, then that which fits most sizes."""
    tried = [_standing(found, shape, order, sizes, rules) for order in permutations(range(3))]
    most = [max(one.fits[n].pieces for one in tried) for n in range(len(sizes))]
    best = max(tried, key=_merit)
    return replace(best, fits=tuple(replace(fit, turned=n) for fit, n in zip(best.fits, most, strict=True)))


def _merit(standing: OnTheTree) -> tuple[int, int, int]:
    pieces = [fit.pieces for fit in standing.fits]
    return max(pieces, default=0), sum(n > 0 for n in pieces), sum(pieces)


def pieces_per_tree(piece: PieceSize, size: FlaskSize, rules: ShopRules) -> int:
    """Whole rings of equal pieces, one above the other."""
    space = tree_space(size, rules)
    if not reaches_inside(piece, space) or space.height.base <= 0:
        return 0
    rings = (space.height.base + rules.ring_gap.base) // max(1, piece.height.base + rules.ring_gap.base)
    return ring_capacity(piece, space, rules.piece_gap) * rings


def _standing(found: Figures, shape: Shape, order: Sequence[int], sizes: Sequence[FlaskSize], rules: ShopRules) -> OnTheTree:
    along, up, away = order
    piece = PieceSize(width=found.sides[along], height=found.sides[up], reach=found.sides[away])
    middle = shape.middle[away]
    return OnTheTree(
        size=piece,
        width=AXES[along],
        height=AXES[up],
        reach=AXES[away],
        heavy_end="low" if middle < 0.5 - EVEN else "high" if middle > 0.5 + EVEN else "",
        fits=tuple(_fit(piece, size, rules) for size in sizes),
    )


def _fit(piece: PieceSize, size: FlaskSize, rules: ShopRules) -> FlaskFit:
    pieces = pieces_per_tree(piece, size, rules)
    why = "" if pieces else explain_alone(TreePiece(job="piece", size=piece, count=1), size, rules) or ""
    return FlaskFit(size=size, pieces=pieces, why=why)
