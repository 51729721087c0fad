"""A small picture of a piece: lit from above left, seen from the front right, as a PNG with a clear ground.

PNG as in ISO/IEC 15948: eight-bit grey with alpha (colour type 4), every row unfiltered.
"""

from __future__ import annotations

import struct
import zlib

import numpy as np

from webapp.meshes.rays import cast, view
from webapp.meshes.surface import Surface

WIDE = 240
"""Pixels along the longer side."""
SEEN = (-1.0, 1.4, -0.9)
LIGHT = np.array([-0.35, 0.75, -0.55])
"""Towards right, up and away."""


def picture(surface: Surface) -> bytes:
    axes = view(SEEN)
    spread = np.ptp(surface.points @ axes.T, axis=0)[:2].max()
    hits = cast(surface, axes, float(spread) / WIDE)
    first = np.flatnonzero(np.diff(hits.ray, prepend=-1))
    crosses = surface.crosses[hits.triangle[first]] @ axes.T
    normals = crosses / np.maximum(np.linalg.norm(crosses, axis=1), 1e-300)[:, None]
    lit = np.clip(normals @ (LIGHT / np.linalg.norm(LIGHT)), 0, 1)
    image = np.zeros((hits.down * hits.across, 2), dtype=np.uint8)
    image[hits.ray[first], 0] = (70 + 170 * lit).astype(np.uint8)
    image[hits.ray[first], 1] = 255
    return png(image.reshape(hits.down, hits.across, 2)[::-1])


def png(image: np.ndarray[tuple[int, ...], np.dtype[np.uint8]]) -> bytes:
    """Rows of (grey, alpha)."""
    down, across, _ = image.shape
    rows = np.concatenate([np.zeros((down, 1), np.uint8), image.reshape(down, across * 2)], axis=1)
    head = struct.pack(">IIBBBBB", across, down, 8, 4, 0, 0, 0)
    parts = ((b"IHDR", head), (b"IDAT", zlib.compress(rows.tobytes(), 9)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(kind, data) for kind, data in parts)


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
