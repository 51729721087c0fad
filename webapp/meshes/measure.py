"""What a sound surface measures: box, volume, surface, centre of mass, thinnest section.

The section is looked for by parallel rays in thirteen directions (the axes and diagonals of a cube). Where a ray
crosses the solid between two faces that lie opposite each other, its way inside times the cosine to their
normals is the thickness; for plane walls that is exact, for rods and balls up to a tenth too little.
"""

from __future__ import annotations

from itertools import product

import numpy as np

from domain.models.shape import Shape
from domain.saying import say
from webapp.meshes.rays import Hits, cast, view, windings
from webapp.meshes.surface import Floats, Sound, refuse

STEPS = (-1.0, 0.0, 1.0)
DIRECTIONS = tuple((x, y, z) for x, y, z in product(STEPS, STEPS, STEPS) if (x, y, z) > (0.0, 0.0, 0.0))
RAYS = 96
"""Rays along the longest side of the box."""
FACING = 0.88
"""Least cosine between a ray and a face, and between a face and the one opposite: 28°, the farthest that a
direction is from the nearest of the thirteen."""
AGREEING = 6
"""As many rays must find a section as thin: single ones may graze an edge."""
STRAY = 0.004
"""Share of the rays that may go astray on edges before bodies are taken to overlap."""


def measure(found: Sound) -> Shape:
    """Raises ``InvalidValue`` where parts of the surface overlap or lie inside out."""
    surface = found.surface
    sides = np.ptp(surface.points, axis=0)
    crosses, volumes = surface.crosses, surface.volumes
    lengths = np.linalg.norm(crosses, axis=1)
    normals = crosses / np.maximum(lengths, 1e-300)[:, None]
    pitch = float(sides.max()) / RAYS
    sections: list[Floats] = []
    for direction in DIRECTIONS:
        axes = view(direction)
        hits = cast(surface, axes, pitch)
        inside = windings(hits)
        _refuse_overlaps(hits, inside)
        sections.append(_sections(hits, inside, normals, axes[2]))
    volume = float(volumes.sum())
    centre = (surface.corners.sum(axis=1) * volumes[:, None]).sum(axis=0) / 4 / volume
    middle = np.clip((centre - surface.points.min(axis=0)) / sides, 0, 1)
    return Shape(
        sides=(float(sides[0]), float(sides[1]), float(sides[2])),
        volume=volume,
        surface=float(lengths.sum()) / 2,
        middle=(float(middle[0]), float(middle[1]), float(middle[2])),
        thinnest=_thinnest(np.concatenate(sections)),
        pitch=pitch,
        triangles=len(surface.triangles),
        bodies=found.bodies,
        cavities=found.cavities,
        turned=found.turned,
    )


def _refuse_overlaps(hits: Hits, inside: np.ndarray[tuple[int], np.dtype[np.int64]]) -> None:
    gap = np.diff(hits.depth, append=hits.depth[-1:]) > hits.pitch / 50
    few = max(8, STRAY * len(hits.ray))
    if ((inside > 1) & gap).sum() > few:
        raise refuse(
            say(
                "parts of it lie inside each other, so their metal would be counted twice. "
                "Join them into one body in the design program and export it again"
            )
        )
    if ((inside < 0) & (inside > -9) & gap).sum() > few:
        raise refuse(say("one of its bodies is inside out. Let the design program turn all normals outwards"))


def _sections(hits: Hits, inside: np.ndarray[tuple[int], np.dtype[np.int64]], normals: Floats, away: Floats) -> Floats:
    """Thickness along each way through the solid between faces that lie opposite each other."""
    here = np.flatnonzero((inside[:-1] == 1) & (hits.way[:-1] == 1) & (hits.ray[1:] == hits.ray[:-1]) & (hits.way[1:] == -1))
    into, out = normals[hits.triangle[here]], normals[hits.triangle[here + 1]]
    facing_in, facing_out = -(into @ away), out @ away
    opposite = np.einsum("ij,ij->i", into, out) < -FACING
    kept = opposite & (facing_in > FACING) & (facing_out > FACING)
    ways = hits.depth[here + 1] - hits.depth[here]
    thickness: Floats = (ways * (facing_in + facing_out) / 2)[kept]
    return thickness


def _thinnest(sections: Floats) -> float | None:
    if len(sections) < AGREEING:
        return None
    return float(np.partition(sections, AGREEING - 1)[AGREEING - 1])
