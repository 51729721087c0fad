"""A triangulated surface: points with no unit yet, and what must be true of it before it is measured."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from domain.errors import InvalidValue
from domain.saying import say

Floats: TypeAlias = NDArray[np.float64]
Indices: TypeAlias = NDArray[np.int64]

MOST_TRIANGLES = 500_000
MOST_BODIES = 500
FLAT = 1e-6
"""A surface around less than this share of its box has no inside."""


@dataclass(frozen=True, slots=True)
class Surface:
    """``points`` (n, 3), ``triangles`` (m, 3) of indices into them, counter-clockwise seen from outside."""

    points: Floats
    triangles: Indices

    @property
    def corners(self) -> Floats:
        return self.points[self.triangles]

    @property
    def crosses(self) -> Floats:
        """Twice the area of each triangle, along its normal."""
        corners = self.corners
        crosses: Floats = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        return crosses

    @property
    def volumes(self) -> Floats:
        """The signed volume between each triangle and the origin; they add up to that of the solid (divergence theorem)."""
        volumes: Floats = np.einsum("ij,ij->i", self.corners[:, 0], self.crosses) / 6
        return volumes


@dataclass(frozen=True, slots=True)
class Sound:
    """A closed surface with its outside out, and what was noticed on the way."""

    surface: Surface
    bodies: int
    cavities: int
    turned: bool


def refuse(message: str) -> InvalidValue:
    return InvalidValue("file", message)


def sound(surface: Surface) -> Sound:
    """The surface about its own middle, once it is whole. Raises ``InvalidValue`` that says in plain words what is wrong."""
    if len(surface.triangles) > MOST_TRIANGLES:
        raise refuse(
            say(
                "it has {triangles} triangles; export it coarser, with at most {most}",
                triangles=format(len(surface.triangles), ","),
                most=format(MOST_TRIANGLES, ","),
            )
        )
    if not np.isfinite(surface.points).all():
        raise refuse(say("some of its coordinates are no numbers; export the file again"))
    surface = _joined(surface)
    if len(surface.triangles) == 0:
        raise refuse(say("there is no surface in it: not one triangle with an area"))
    _closed(surface)
    labels, count = _bodies(surface)
    if count > MOST_BODIES:
        raise refuse(say("it has {count} separate bodies; bring the model of one piece", count=format(count, ",")))
    volume = float(surface.volumes.sum())
    sides = np.ptp(surface.points, axis=0)
    if abs(volume) <= FLAT * float(sides.prod()):
        raise refuse(say("its surface is flat and has no inside, so there is nothing to fill with metal"))
    turned = volume < 0
    if turned:
        surface = replace(surface, triangles=surface.triangles[:, ::-1])
    each = np.bincount(labels, surface.volumes, count)
    return Sound(surface, int((each > 0).sum()), int((each < 0).sum()), turned)


def _joined(surface: Surface) -> Surface:
    """Equal points are one; triangles that have shrunk to a line are gone."""
    points = surface.points[surface.triangles.reshape(-1)] + 0.0  # there is a −0
    bits = points.view(np.uint64).reshape(-1, 3)
    mixed = bits * np.array([0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F, 0x165667B19E3779F9], dtype=np.uint64)
    keys = (mixed ^ (mixed >> np.uint64(29))).sum(axis=1, dtype=np.uint64)
    _, first, inverse = np.unique(keys, return_index=True, return_inverse=True)
    if not np.array_equal(points[first][inverse], points):  # two points shared a key
        _, first, inverse = np.unique(points, axis=0, return_index=True, return_inverse=True)
    triangles = inverse.reshape(-1, 3).astype(np.int64)
    a, b, c = triangles.T
    kept = triangles[(a != b) & (b != c) & (c != a)]
    middle = (points.min(axis=0) + points.max(axis=0)) / 2 if len(points) else 0.0
    return Surface(points[first] - middle, kept)


def _closed(surface: Surface) -> None:
    """Along every edge as many triangles run one way as the other."""
    starts = surface.triangles.reshape(-1)
    ends = np.roll(surface.triangles, -1, axis=1).reshape(-1)
    count = len(surface.points)
    if np.array_equal(np.sort(starts * count + ends), np.sort(ends * count + starts)):
        return
    low, high = np.minimum(starts, ends), np.maximum(starts, ends)
    edges, times = np.unique(low * count + high, return_counts=True)
    open_edges = edges[times % 2 == 1]
    if len(open_edges):
        at = surface.points[open_edges[0] // count] - surface.points.min(axis=0)
        where = ", ".join(f"{number:.4g}" for number in at)
        raise refuse(
            say(
                "its surface has holes: {edges} edges have a triangle on one side only, "
                "the first at x, y, z = {where} from the corner of its box. "
                "Close them in the design program and export it again",
                edges=format(len(open_edges), ","),
                where=where,
            )
        )
    raise refuse(say("parts of its surface face inwards and others outwards. Let the design program turn all normals outwards"))


def _bodies(surface: Surface) -> tuple[Indices, int]:
    """For each triangle the body it belongs to, and how many there are: the least index spreads over connected points."""
    label = np.arange(len(surface.points))
    a, b, c = surface.triangles.T
    while True:
        least = np.minimum(np.minimum(label[a], label[b]), label[c])
        spread = label.copy()
        for corner in (a, b, c):
            np.minimum.at(spread, label[corner], least)
        spread = spread[spread]
        if np.array_equal(spread, label):
            break
        label = spread
    roots, index = np.unique(label[surface.triangles[:, 0]], return_inverse=True)
    return index.astype(np.int64), len(roots)
