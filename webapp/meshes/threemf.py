"""3MF: a zip with one XML document of meshes, read by expat so that nothing can grow on the way.

3MF Core Specification: objects hold a mesh or components, ``build`` says which are made; transforms are twelve
numbers of a 4 × 3 matrix by rows; the unit is millimetre unless stated. A DTD is forbidden there and refused here.
"""

from __future__ import annotations

import io
import zipfile
import zlib
from dataclasses import dataclass, field
from typing import NoReturn
from xml.parsers import expat

import numpy as np

from domain.models.shape import ModelUnit
from domain.saying import say
from webapp.meshes.surface import MOST_TRIANGLES, Floats, Surface, refuse

LARGEST_UNPACKED = 120_000_000
MOST_FILES = 200
MOST_NESTED = 8
UNITS = {
    "micron": (ModelUnit.MM, 0.001),
    "millimeter": (ModelUnit.MM, 1.0),
    "centimeter": (ModelUnit.CM, 1.0),
    "inch": (ModelUnit.INCH, 1.0),
    "foot": (ModelUnit.INCH, 12.0),
    "meter": (ModelUnit.MM, 1000.0),
}


@dataclass(slots=True)
class _Object:
    points: list[float] = field(default_factory=list)
    triangles: list[int] = field(default_factory=list)
    parts: list[tuple[str, Floats]] = field(default_factory=list)


def read_3mf(data: bytes) -> tuple[Surface, ModelUnit]:
    """All that the file builds, as one surface, and its unit. Raises ``InvalidValue``."""
    reading = _Reading()
    reading.read(_model_part(data))
    placed: list[tuple[_Object, Floats]] = []
    for name, transform in reading.build or [(name, np.eye(4)) for name in reading.objects]:
        reading.place(name, transform, placed, 0)
    unit, scale = UNITS[reading.unit]
    points, triangles, count = [np.empty((0, 3))], [np.empty((0, 3), np.int64)], 0
    for one, transform in placed:
        own = np.array(one.points).reshape(-1, 3)
        faces = np.array(one.triangles, np.int64).reshape(-1, 3)
        if len(faces) and not 0 <= faces.min() <= faces.max() < len(own):
            raise refuse(say("its triangles name points that it does not have; the file is damaged"))
        if np.linalg.det(transform[:3, :3]) < 0:
            faces = faces[:, ::-1]
        points.append((own @ transform[:3, :3] + transform[3, :3]) * scale)
        triangles.append(faces + count)
        count += len(own)
    return Surface(np.concatenate(points), np.concatenate(triangles)), unit


def _model_part(data: bytes) -> bytes:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            entries = archive.infolist()
            names = [e for e in entries if e.filename.lower().endswith(".model")]
            if len(entries) > MOST_FILES or sum(e.file_size for e in entries) > LARGEST_UNPACKED:
                raise refuse(
                    say(
                        "unpacked it is larger than {megabytes} MB, or holds very many files", megabytes=LARGEST_UNPACKED // 1000000
                    )
                )
            main = min(names, key=lambda e: ("3dmodel.model" not in e.filename.lower(), len(e.filename)), default=None)
            if main is None:
                raise refuse(say("it is a zip file, but there is no 3D model in it"))
            with archive.open(main) as part:  # what the zip says of its sizes need not be true
                unpacked = part.read(LARGEST_UNPACKED + 1)
    except (zipfile.BadZipFile, zlib.error, EOFError, RuntimeError, OSError):  # also packed in a way that nobody can unpack
        raise refuse(say("it is not a whole 3MF file; it may have been cut off on its way")) from None
    if len(unpacked) > LARGEST_UNPACKED:
        raise refuse(say("unpacked it is larger than {megabytes} MB", megabytes=LARGEST_UNPACKED // 1000000))
    return unpacked


class _Reading:
    """Takes meshes, components and what is built from the events of the parser."""

    def __init__(self) -> None:
        self.objects: dict[str, _Object] = {}
        self.build: list[tuple[str, Floats]] = []
        self.unit = "millimeter"
        self.current = _Object()
        self.count = 0

    def read(self, text: bytes) -> None:
        parser = expat.ParserCreate(namespace_separator=" ")
        parser.StartDoctypeDeclHandler = _no_doctype
        parser.StartElementHandler = self._element
        try:
            parser.Parse(text, True)
        except expat.ExpatError as error:
            raise refuse(
                say(
                    "its XML cannot be read ({reason}, line {lineno})",
                    reason=expat.errors.messages[error.code],
                    lineno=error.lineno,
                )
            ) from None
        except (KeyError, ValueError):
            raise refuse(say("a number or a name in it is missing or wrong; the file is damaged")) from None

    def _element(self, name: str, given: dict[str, str]) -> None:
        match name.rpartition(" ")[2]:
            case "vertex":
                self.current.points += (float(given["x"]), float(given["y"]), float(given["z"]))
            case "triangle":
                self.count += 1
                if self.count > MOST_TRIANGLES:
                    raise refuse(
                        say(
                            "it has more than {most} triangles; export it coarser",
                            most=format(MOST_TRIANGLES, ","),
                        )
                    )
                self.current.triangles += (int(given["v1"]), int(given["v2"]), int(given["v3"]))
            case "object":
                self.current = self.objects[given["id"]] = _Object()
            case "component":
                if any(key.endswith("path") for key in given):
                    raise refuse(say("its parts lie in several files inside; export the piece as one body, or as STL"))
                self.current.parts.append((given["objectid"], _transform(given.get("transform", ""))))
            case "item":
                self.build.append((given["objectid"], _transform(given.get("transform", ""))))
            case "model":
                self.unit = given.get("unit", "millimeter")
                if self.unit not in UNITS:
                    raise refuse(say("its unit “{unit}” is not one of the standard's", unit=self.unit[:20]))

    def place(self, name: str, transform: Floats, placed: list[tuple[_Object, Floats]], depth: int) -> None:
        """An object with all of its components. Parts of parts of parts could be any number: they are counted."""
        one = self.objects.get(name)
        if one is None:
            raise refuse(say("it builds an object that it does not have; the file is damaged"))
        so_far = sum(len(o.triangles) for o, _ in placed[-1:]) + len(placed)
        if depth > MOST_NESTED or so_far > 3 * MOST_TRIANGLES or len(placed) > 1000:
            raise refuse(say("its parts are nested too deeply or repeated too often; export the piece as one body"))
        if one.triangles:
            placed.append((one, transform))
            if sum(len(o.triangles) for o, _ in placed) > 3 * MOST_TRIANGLES:
                raise refuse(say("it has more than {most} triangles; export it coarser", most=format(MOST_TRIANGLES, ",")))
        for part, own in one.parts:
            self.place(part, own @ transform, placed, depth + 1)


def _no_doctype(*_: object) -> NoReturn:
    raise refuse(say("it holds a document type or entities, which a 3MF file must not; export it again"))


def _transform(text: str) -> Floats:
    matrix = np.eye(4)
    if text:
        matrix[:, :3] = np.array([float(part) for part in text.split()]).reshape(4, 3)
    return matrix
