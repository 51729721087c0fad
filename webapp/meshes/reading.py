"""From the bytes of a file to a surface. The only file that sees the mesh library."""

from __future__ import annotations

import io
import struct

import numpy as np
from trimesh.exchange.obj import load_obj
from trimesh.exchange.stl import load_stl, load_stl_ascii

from domain.models.shape import ModelUnit
from domain.saying import say
from webapp.meshes.surface import MOST_TRIANGLES, Surface, refuse
from webapp.meshes.threemf import read_3mf

KINDS = ("stl", "obj", "3mf")
STL_HEAD, STL_TRIANGLE = 84, 50
"""Bytes of a binary STL file before its triangles, and of each."""


def read_surface(name: str, data: bytes) -> tuple[Surface, str, ModelUnit | None]:
    """The surface, the kind of file, and the unit where the file names one. Raises ``InvalidValue``."""
    kind = name.rpartition(".")[2].casefold()
    if kind not in KINDS:
        raise refuse(say("the name of a model ends in .stl, .obj or .3mf"))
    if not data:
        raise refuse(say("the file is empty"))
    if kind == "3mf":
        surface, unit = read_3mf(data)
        return surface, "3MF", unit
    return (_stl(data) if kind == "stl" else _obj(data)), kind.upper(), None


def _stl(data: bytes) -> Surface:
    """Binary STL is told by its length, because many binary files begin with “solid” too."""
    count = struct.unpack_from("<I", data, 80)[0] if len(data) >= STL_HEAD else -1
    if len(data) == STL_HEAD + count * STL_TRIANGLE:
        return _library(lambda: load_stl(io.BytesIO(data)))
    text = data[:2000].lstrip()[:5].lower() == b"solid" and b"\0" not in data[:2000]
    if not text and 0 < count <= MOST_TRIANGLES and len(data) < STL_HEAD + count * STL_TRIANGLE:
        there = max(0, len(data) - STL_HEAD) // STL_TRIANGLE
        raise refuse(
            say(
                "it ends too early: it says {count} triangles and has {there}; export or copy it again",
                count=format(count, ","),
                there=format(there, ","),
            )
        )
    if not text:
        raise refuse(say("it is not an STL file; perhaps it is another kind of file with this name"))
    if b"endsolid" not in data[-400:].lower():
        raise refuse(say("it ends too early, in the middle of a solid; export or copy it again"))
    return _library(lambda: load_stl_ascii(io.BytesIO(data)))


def _obj(data: bytes) -> Surface:
    if b"\0" in data[:2000]:
        raise refuse(say("it is not an OBJ file; perhaps it is another kind of file with this name"))
    if not any(line.lstrip().startswith(b"f ") for line in data.splitlines()):
        raise refuse(say("there is no surface in it: no line of the file names a face"))
    return _library(lambda: load_obj(io.BytesIO(data), skip_materials=True, maintain_order=True))


def _library(load: object) -> Surface:
    """What the library cannot read is refused; it says so with errors of many kinds."""
    try:
        loaded = load()  # type: ignore[operator]
    except Exception:
        raise refuse(say("it cannot be read: it may be damaged, or of another kind than its name says")) from None
    parts = [loaded, *loaded.get("geometry", {}).values()]
    points, triangles, count = [np.empty((0, 3))], [np.empty((0, 3), np.int64)], 0
    for part in parts:
        if part.get("faces") is None or part.get("vertices") is None:
            continue
        own, faces = np.asarray(part["vertices"], np.float64), np.asarray(part["faces"], np.int64)
        if faces.ndim == 2 and faces.shape[1] == 4:
            faces = np.concatenate([faces[:, [0, 1, 2]], faces[:, [0, 2, 3]]])
        if len(faces) and not 0 <= faces.min() <= faces.max() < len(own):
            raise refuse(say("its triangles name points that it does not have; the file is damaged"))
        points.append(own[:, :3])
        triangles.append(faces.reshape(-1, 3) + count)
        count += len(own)
    return Surface(np.concatenate(points), np.concatenate(triangles))
