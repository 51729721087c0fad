"""The shape of a model, its unit, and what it measures once the unit is known."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from domain.units import Area, Length, Volume


class ModelUnit(StrEnum):
    """What one step of a model's coordinates stands for."""

    MM = "mm"
    CM = "cm"
    INCH = "in"


LEAST_SIDE = Length(2_000)
"""The longest side of anything that is cast is longer: a small ball is 2 mm (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """What was measured in a closed surface. The numbers carry no unit yet: they are lengths, areas and volumes
    in steps of the file's coordinates, which is why they are no quantities.

    ``sides``: of the box along x, y and z. ``middle``: the centre of mass as a share of the box, from 0 to 1, along
    each. ``thinnest``: the thinnest section between two faces that lie opposite each other, none where there
    are no such faces; ``pitch``: the distance of the rays that looked for it. ``bodies`` stand apart from each
    other, ``cavities`` are closed inside. ``turned``: the surface was inside out.
    """

    sides: tuple[float, float, float]
    volume: float
    surface: float
    middle: tuple[float, float, float]
    thinnest: float | None
    pitch: float
    triangles: int
    bodies: int = 1
    cavities: int = 0
    turned: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """A shape in its unit. ``sides`` of the box along x, y and z."""

    sides: tuple[Length, Length, Length]
    volume: Volume
    surface: Area
    thinnest: Length | None
    pitch: Length


@dataclass(frozen=True, slots=True, kw_only=True)
class Model:
    """A file that was read. ``kind``: STL, OBJ or 3MF. ``digest``: SHA-256 of the file, in hexadecimal. ``stated``:
    the unit that the file names; ``unit``: what it is read in, none while that is being asked."""

    id: str
    name: str
    kind: str
    digest: str
    stated: ModelUnit | None
    unit: ModelUnit | None
    shape: Shape


def figures(shape: Shape, unit: ModelUnit) -> Figures:
    """The shape in its unit, to the micrometre and the nanolitre."""
    return Figures(
        sides=(Length.of(shape.sides[0], unit), Length.of(shape.sides[1], unit), Length.of(shape.sides[2], unit)),
        volume=Volume.of(shape.volume, f"{unit}³"),
        surface=Area.of(shape.surface, f"{unit}²"),
        thinnest=None if shape.thinnest is None else Length.of(shape.thinnest, unit),
        pitch=Length.of(shape.pitch, unit),
    )


def longest(shape: Shape, unit: ModelUnit) -> Length:
    return Length.of(max(shape.sides), unit)


def can_be_cast(shape: Shape, unit: ModelUnit, room: Length) -> bool:
    """Whether the longest side is that of something that is cast in flasks of which the largest measures ``room``."""
    return LEAST_SIDE <= longest(shape, unit) <= room


def sure_unit(shape: Shape, stated: ModelUnit | None, room: Length) -> ModelUnit | None:
    """The unit that the file names, else the only one of mm and inch in which the piece can be cast. None
    where both or neither would do: then it is asked."""
    likely = [stated] if stated else [ModelUnit.MM, ModelUnit.INCH]
    possible = [unit for unit in likely if can_be_cast(shape, unit, room)]
    return possible[0] if len(possible) == 1 else None
