"""Rings: which pieces stand together around the trunk, in the least height of trunk.

A ring is a level in the sense of ``levels``: widths with their gaps fit the circle, the tallest piece
gives the ring its height. Where the shop has its own pieces per tree, a ring is that share of the trunk.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from domain.mould.levels import Boxes, fits_height, least_levels
from domain.mould.ring import Ring
from domain.mould.tree import TreeSpace, counted_height, reaches_inside, ring_capacity, tree_space
from domain.saying import say
from domain.shop.flask import FlaskSize
from domain.shop.pattern import PieceSize
from domain.shop.shop import ShopRules
from domain.units import UP, Length, Mass


@dataclass(frozen=True, slots=True)
class TreePiece:
    """``count`` pieces of one job on a tree. ``metal_each``: one piece in metal, which decides how
    near the button it sits. ``per_tree``: the shop's own number for this flask size, if it has one."""

    job: str
    size: PieceSize
    count: int
    metal_each: Mass = Mass(0)
    per_tree: int | None = None


def pack_rings(pieces: Sequence[TreePiece], space: TreeSpace, rules: ShopRules) -> tuple[Ring, ...] | None:
    """The rings from the button upwards, heavy pieces near it, in the least height; none where the
    pieces do not fit. Least unless the search meets its limit; never worse than first-fit."""
    pieces = [p for p in pieces if p.count]
    ringed, counted = _kinds_of_rule(pieces)
    if not all(reaches_inside(p.size, space) for p in ringed):
        return None
    kinds, members = _merged(ringed, rules)
    levels = least_levels(kinds, space.circle.base)
    if levels is None:
        return None
    rings = [_counted_ring(p, space) for p in counted] + _rings(levels, kinds, members, rules)
    if tree_height(rings, rules) > space.height:
        return None
    return _heavy_first(rings, {p.job: p.metal_each for p in pieces})


def fits_tree(pieces: Sequence[TreePiece], space: TreeSpace, rules: ShopRules) -> bool:
    """Whether ``pack_rings`` finds a tree, without building it."""
    pieces = [p for p in pieces if p.count]
    ringed, counted = _kinds_of_rule(pieces)
    if not all(reaches_inside(p.size, space) for p in ringed):
        return False
    room = space.height.base + rules.ring_gap.base
    room -= sum(_counted_ring(p, space).height.base + rules.ring_gap.base for p in counted)
    kinds, _ = _merged(ringed, rules)
    return room >= 0 and fits_height(kinds, space.circle.base, room)


def tree_height(rings: Sequence[Ring], rules: ShopRules) -> Length:
    """What the rings take of the trunk, with the gaps between them."""
    gaps = max(0, len(rings) - 1) * rules.ring_gap.base
    return Length(sum(r.height.base for r in rings) + gaps)


def _kinds_of_rule(pieces: Sequence[TreePiece]) -> tuple[list[TreePiece], list[TreePiece]]:
    return [p for p in pieces if p.per_tree is None], [p for p in pieces if p.per_tree is not None]


def _counted_ring(piece: TreePiece, space: TreeSpace) -> Ring:
    assert piece.per_tree is not None  # only pieces with the shop's own number come here
    height = counted_height(piece.count, piece.per_tree, space)
    return Ring(pieces=((piece.job, piece.count),), height=height, by_count=True)


def _merged(pieces: Sequence[TreePiece], rules: ShopRules) -> tuple[list[Boxes], list[list[TreePiece]]]:
    """Pieces of equal width and height are one kind, so that a search meets them once."""
    members: dict[tuple[int, int], list[TreePiece]] = {}
    for p in pieces:
        box = (max(1, p.size.width.base + rules.piece_gap.base), p.size.height.base + rules.ring_gap.base)
        members.setdefault(box, []).append(p)
    kinds = [Boxes(w, h, sum(p.count for p in group)) for (w, h), group in members.items()]
    return kinds, [sorted(group, key=lambda p: -p.metal_each.base) for group in members.values()]


def _rings(
    levels: Sequence[Sequence[int]], kinds: Sequence[Boxes], members: Sequence[list[TreePiece]], rules: ShopRules
) -> list[Ring]:
    queues = [[(p.job, p.count) for p in group] for group in members]
    rings = []
    for fill in levels:
        pieces = [taken for kind, n in enumerate(fill) for taken in _take(queues[kind], n)]
        height = max(kinds[kind].height for kind, n in enumerate(fill) if n) - rules.ring_gap.base
        rings.append(Ring(pieces=tuple(pieces), height=Length(height)))
    return rings


def _take(queue: list[tuple[str, int]], wanted: int) -> list[tuple[str, int]]:
    taken: list[tuple[str, int]] = []
    while wanted:
        job, left = queue[0]
        n = min(wanted, left)
        taken.append((job, n))
        wanted -= n
        if n == left:
            del queue[0]
        else:
            queue[0] = (job, left - n)
    return taken


def _heavy_first(rings: Sequence[Ring], metal: Mapping[str, Mass]) -> tuple[Ring, ...]:
    def rank(ring: Ring) -> tuple[int, int]:
        return -max(metal[job].base for job, _ in ring.pieces), -ring.height.base

    return tuple(sorted(rings, key=rank))


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceBox:
    """Where one piece stands. ``ring`` counts from the button; ``angle`` in radians around the axis, to
    the middle of the box; ``bottom`` and ``top`` above the sprue base; the box begins ``root`` from
    the axis and ends ``root + reach`` from it. ``drawn_only``: the shop's count decided, so the place
    is for the picture and promises nothing."""

    job: str
    ring: int
    angle: float
    bottom: Length
    top: Length
    root: Length
    width: Length
    reach: Length
    drawn_only: bool = False


def boxes(rings: Sequence[Ring], sizes: Mapping[str, PieceSize], space: TreeSpace, rules: ShopRules) -> tuple[PieceBox, ...]:
    """Every piece of the rings as a box; ``sizes`` by job id. Spare room on a circle is shared out."""
    placed: list[PieceBox] = []
    bottom = 0
    for index, ring in enumerate(rings):
        place = _counted_boxes if ring.by_count else _ring_boxes
        placed += place(index, ring, Length(bottom), sizes, space, rules)
        bottom += ring.height.base + rules.ring_gap.base
    return tuple(placed)


def _ring_boxes(
    index: int, ring: Ring, bottom: Length, sizes: Mapping[str, PieceSize], space: TreeSpace, rules: ShopRules
) -> list[PieceBox]:
    jobs = [job for job, count in ring.pieces for _ in range(count)]
    arcs = [sizes[job].width.base + rules.piece_gap.base for job in jobs]
    spare = max(0, space.circle.base - sum(arcs)) / len(arcs)
    placed, along = [], 0.0
    for job, arc in zip(jobs, arcs, strict=True):
        middle = along + (arc + spare) / 2
        along += arc + spare
        placed.append(_box(index, job, middle / space.root.base, bottom, sizes[job], space))
    return placed


def _counted_boxes(
    index: int, ring: Ring, bottom: Length, sizes: Mapping[str, PieceSize], space: TreeSpace, rules: ShopRules
) -> list[PieceBox]:
    (job, count), *_ = ring.pieces
    around = max(1, ring_capacity(sizes[job], space, rules.piece_gap))
    storeys = -(-count // around)
    around = -(-count // storeys)
    placed = []
    for n in range(count):
        storey, place = divmod(n, around)
        foot = Length(bottom.base + storey * ring.height.base // storeys)
        placed.append(_box(index, job, 2 * math.pi * place / around, foot, sizes[job], space, drawn_only=True))
    return placed


def _box(
    ring: int, job: str, angle: float, bottom: Length, size: PieceSize, space: TreeSpace, *, drawn_only: bool = False
) -> PieceBox:
    return PieceBox(
        job=job,
        ring=ring,
        angle=angle,
        bottom=bottom,
        top=bottom + size.height,
        root=space.root,
        width=size.width,
        reach=size.reach,
        drawn_only=drawn_only,
    )


def explain_misfit(pieces: Sequence[TreePiece], size: FlaskSize, rules: ShopRules) -> str | None:
    """In words, the first dimension that keeps the pieces out of one flask; none where they fit."""
    found = _misfit(pieces, size, rules)
    if found is None:
        return None
    job, why = found
    return say("{job}: {why}", job=job, why=why) if job else why


def explain_alone(piece: TreePiece, size: FlaskSize, rules: ShopRules) -> str | None:
    """The same for the pieces of one job, which is not named."""
    found = _misfit([piece], size, rules)
    return found[1] if found else None


def _misfit(pieces: Sequence[TreePiece], size: FlaskSize, rules: ShopRules) -> tuple[str, str] | None:
    """The job that does not fit, empty where it is all of them together, and why."""
    space = tree_space(size, rules)
    pieces = [p for p in pieces if p.count]
    if space.height.base <= 0 or space.radius.base <= 0:
        return "", say("a {size} flask leaves no room for a tree between sprue base, top and wall", size=size.name)
    for piece in pieces:
        if reason := _piece_misfit(piece, size, space, rules):
            return piece.job, reason
    if fits_tree(pieces, space, rules):
        return None
    return "", _height_misfit(pieces, size, space, rules)


def _piece_misfit(piece: TreePiece, size: FlaskSize, space: TreeSpace, rules: ShopRules) -> str | None:
    if piece.per_tree is not None:
        if piece.count <= piece.per_tree:
            return None
        return say(
            "the shop sets {per_tree} to a tree in a {size} flask, not {count}",
            per_tree=piece.per_tree,
            size=size.name,
            count=piece.count,
        )
    if not reaches_inside(piece.size, space):
        return _reach_misfit(piece, size, space, rules)
    if piece.size.height > space.height:
        needs, leaves = _mm(piece.size.height), _mm_down(space.height)
        return say(
            "the piece takes {needs} mm of the trunk; a {size} flask leaves {leaves} mm",
            needs=needs,
            size=size.name,
            leaves=leaves,
        )
    if piece.size.width.base + rules.piece_gap.base > space.circle.base:
        needs, leaves = _mm(piece.size.width + rules.piece_gap), _mm_down(space.circle)
        return say(
            "the piece is {needs} mm wide with its gap; the circle in a {size} flask is {leaves} mm round",
            needs=needs,
            size=size.name,
            leaves=leaves,
        )
    return None


def _reach_misfit(piece: TreePiece, size: FlaskSize, space: TreeSpace, rules: ShopRules) -> str:
    trunk = space.root.base - rules.feed_length.base
    half = piece.size.width.base / 2
    leaves = math.sqrt(max(0.0, space.radius.base**2 - half**2)) - trunk
    needs = _mm(rules.feed_length + piece.size.reach)
    room = _mm_down(Length(max(0, math.floor(leaves))))
    return say(
        "with its feed sprue the piece reaches {needs} mm from the trunk; a {size} flask leaves {room} mm",
        needs=needs,
        size=size.name,
        room=room,
    )


def _height_misfit(pieces: Sequence[TreePiece], size: FlaskSize, space: TreeSpace, rules: ShopRules) -> str:
    endless = TreeSpace(root=space.root, circle=space.circle, height=Length(10**9), radius=space.radius)
    ringed, counted = _kinds_of_rule(pieces)
    rings = list(pack_rings(ringed, endless, rules) or ()) + [_counted_ring(p, space) for p in counted]
    needs, leaves = _mm(tree_height(rings, rules)), _mm_down(space.height)
    return say(
        "the {count} rings take {needs} mm of the trunk; a {size} flask leaves {leaves} mm",
        count=len(rings),
        needs=needs,
        size=size.name,
        leaves=leaves,
    )


def _mm(length: Length) -> str:
    return f"{length.decimal('mm', 1, UP):f}".removesuffix(".0")


def _mm_down(length: Length) -> str:
    return f"{length.decimal('mm', 1, 'ROUND_FLOOR'):f}".removesuffix(".0")
