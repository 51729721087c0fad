"""Tree geometry: patterns stand in rings around the trunk.

Each piece is a box on the end of its feed sprue. The widths of a ring, each with a gap, fit the
circle on which the feed sprues end; the rings, with gaps between them, fit the height between
sprue base and top clearance; the outer corners stay clear of the wall. A box tangent to a circle
subtends 2·atan(w/2r), never more than its arc w/r, so boxes whose widths fit the circle do not meet.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from domain.shop.flask import FlaskSize
from domain.shop.pattern import PieceSize
from domain.shop.shop import ShopRules
from domain.units import Length, Volume


@dataclass(frozen=True, slots=True, kw_only=True)
class TreeSpace:
    """Room for a tree in one flask size. ``root``: from the axis to where the feed sprues end;
    ``circle``: the circumference there; ``radius``: from the axis to the wall clearance."""

    root: Length
    circle: Length
    height: Length
    radius: Length


def tree_space(size: FlaskSize, rules: ShopRules) -> TreeSpace:
    """The room for a tree; lengths may be zero or negative where the flask is too small for any."""
    root = Length(size.trunk_diameter.base // 2 + rules.feed_length.base)
    return TreeSpace(
        root=root,
        circle=Length(math.floor(2 * math.pi * root.base)),
        height=size.height - size.base_height - rules.top_clearance,
        radius=Length(size.inner_diameter.base // 2 - rules.wall_clearance.base),
    )


def reaches_inside(piece: PieceSize, space: TreeSpace) -> bool:
    """Whether the outer corners of the piece's box stay within the usable radius."""
    if space.radius.base <= 0:
        return False
    outer = space.root.base + piece.reach.base
    # (root + reach)² + (w/2)² ≤ radius², in whole numbers
    return 4 * outer * outer + piece.width.base * piece.width.base <= 4 * space.radius.base * space.radius.base


def ring_capacity(piece: PieceSize, space: TreeSpace, gap: Length) -> int:
    """How many such pieces one ring holds."""
    return max(0, space.circle.base // (piece.width.base + gap.base))


def counted_height(count: int, per_tree: int, space: TreeSpace) -> Length:
    """The share of the trunk that ``count`` pieces take where the shop says ``per_tree`` fill it."""
    return Length(-(-count * space.height.base // per_tree))


def cylinder(diameter: Length, length: Length) -> Volume:
    """V = π/4·d²·l, to the nearest nanolitre."""
    cubic_micrometres = Fraction(math.pi / 4) * diameter.base * diameter.base * max(0, length.base)
    return Volume(round(cubic_micrometres / 1_000_000))
