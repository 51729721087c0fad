"""Parallel rays through a surface: where each goes in and comes out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from webapp.meshes.surface import Floats, Indices, Surface

MOST_PAIRS = 40_000_000
"""Rays × triangles that are tried; above, the rays stand wider apart."""
AT_ONCE = 2_000_000
ASIDE = (0.371_283, 0.618_034)
"""Rays start beside the round numbers on which edges of models like to lie."""


@dataclass(frozen=True, slots=True)
class Hits:
    """In order of the rays and along each. ``way``: +1 into the solid, −1 out of it. ``depth`` along the rays."""

    ray: Indices
    depth: Floats
    triangle: Indices
    way: NDArray[np.int8]
    across: int
    down: int
    pitch: float


def view(direction: tuple[float, float, float]) -> Floats:
    """Right, up and away as rows, for who looks along ``direction`` with z upwards."""
    away = np.array(direction) / np.linalg.norm(direction)
    helper = np.array([0.0, 0.0, 1.0]) if abs(away[2]) < 0.99 else np.array([0.0, 1.0, 0.0])
    right = np.cross(away, helper)
    right /= np.linalg.norm(right)
    return np.array([right, np.cross(right, away), away])


def cast(surface: Surface, axes: Floats, pitch: float) -> Hits:
    """Rays ``pitch`` apart along the third of ``axes``."""
    across_of, up_of, depth_of = axes @ surface.points.T
    left, bottom = across_of.min() - pitch * ASIDE[0], up_of.min() - pitch * ASIDE[1]
    across_of, up_of = (across_of - left) / pitch, (up_of - bottom) / pitch
    across, down = int(across_of.max()) + 2, int(up_of.max()) + 2
    corners = surface.triangles.T
    x0, wide = _rays_between([across_of[c] for c in corners])
    y0, high = _rays_between([up_of[c] for c in corners])
    pairs = wide * high
    if int(pairs.sum()) > MOST_PAIRS:
        return cast(surface, axes, pitch * 2)
    met = np.flatnonzero(pairs)
    seen = _Seen(surface.triangles, across_of, up_of, depth_of, x0, y0, wide, pairs)
    parts = [_meet(part, seen, across) for part in _portions(met, pairs)]
    ray, depth, triangle, outward = (np.concatenate([part[n] for part in parts]) for n in range(4))
    order = np.lexsort((depth, ray))
    way = np.where(outward, -1, 1).astype(np.int8)
    return Hits(ray[order], depth[order], triangle[order], way[order], across, down, pitch)


@dataclass(frozen=True, slots=True)
class _Seen:
    """Points as the rays see them, in steps of the pitch; for each triangle its first ray and how many."""

    triangles: Indices
    across: Floats
    up: Floats
    depth: Floats
    x0: Indices
    y0: Indices
    wide: Indices
    pairs: Indices


def _rays_between(corners: list[Floats]) -> tuple[Indices, Indices]:
    """The first whole number between three corners, and how many there are."""
    a, b, c = corners
    first = np.ceil(np.minimum(np.minimum(a, b), c)).astype(np.int64)
    last = np.floor(np.maximum(np.maximum(a, b), c)).astype(np.int64)
    return first, np.maximum(last - first + 1, 0)


def _portions(met: Indices, pairs: Indices) -> list[Indices]:
    if not len(met):
        return [met]
    cuts = np.flatnonzero(np.diff(np.cumsum(pairs[met]) // AT_ONCE)) + 1
    return list(np.split(met, cuts))


def _meet(part: Indices, seen: _Seen, across: int) -> tuple[Indices, Floats, Indices, NDArray[np.bool_]]:
    """The rays inside each triangle as it is seen, by their barycentric coordinates."""
    many = seen.pairs[part]
    triangle = np.repeat(part, many)
    step = np.arange(len(triangle)) - np.repeat(np.cumsum(many) - many, many)
    x = seen.x0[triangle] + step % seen.wide[triangle]
    y = seen.y0[triangle] + step // seen.wide[triangle]
    first, second, third = seen.triangles[triangle].T
    ax, ay = seen.across[first], seen.up[first]
    bx, by = seen.across[second] - ax, seen.up[second] - ay
    cx, cy = seen.across[third] - ax, seen.up[third] - ay
    whole = bx * cy - by * cx
    with np.errstate(divide="ignore", invalid="ignore"):
        b = ((x - ax) * cy - (y - ay) * cx) / whole
        c = (bx * (y - ay) - by * (x - ax)) / whole
        inside = (b >= 0) & (c >= 0) & (b + c <= 1)
    b, c = b[inside], c[inside]
    z0, z1, z2 = (seen.depth[corner[inside]] for corner in (first, second, third))
    # away = up × right turned round: clockwise as seen from behind is the near side, where a ray goes in
    return (y * across + x)[inside], z0 + b * (z1 - z0) + c * (z2 - z0), triangle[inside], (whole < 0)[inside]


def windings(hits: Hits) -> Indices:
    """How many times a ray is inside after each hit; rays that do not come out again are marked by −9."""
    summed = np.cumsum(hits.way.astype(np.int64))
    starts = np.flatnonzero(np.diff(hits.ray, prepend=-1))
    lengths = np.diff(np.append(starts, len(hits.ray)))
    before = np.where(starts > 0, summed[starts - 1], 0)
    inside = summed - np.repeat(before, lengths)
    lost = inside[starts + lengths - 1] != 0
    result: Indices = np.where(np.repeat(lost, lengths), -9, inside)
    return result
