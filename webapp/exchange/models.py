"""The document of a model: what was measured in a file."""

from __future__ import annotations

from pydantic import Field

from domain.models.shape import Model, ModelUnit, Shape
from webapp.exchange.document import Document
from webapp.exchange.plain import Count, Flag, Name


class ShapeDocument(Document[Shape]):
    sides: tuple[float, float, float] = Field(description="Sides of the box along x, y and z, in units of the model")
    volume: float = Field(description="Volume, in cubic units of the model")
    surface: float = Field(description="Surface, in square units of the model")
    middle: tuple[float, float, float] = Field(description="Centre of mass along x, y and z, as a share of the box from 0 to 1")
    thinnest: float | None = Field(description="Estimate of the thinnest section, in units of the model")
    pitch: float = Field(description="Distance of the rays that looked for it, in units of the model")
    triangles: Count = Field(description="How many triangles the surface has")
    bodies: Count = Field(description="How many bodies stand apart from each other")
    cavities: int = Field(ge=0, description="How many cavities are closed inside")
    turned: Flag = Field(description="True where the surface was inside out in the file")


class ModelDocument(Document[Model]):
    id: Name = Field(description="The model's id")
    name: Name = Field(description="Name of the file")
    kind: Name = Field(description="STL, OBJ or 3MF")
    digest: Name = Field(description="SHA-256 of the file, in hexadecimal")
    stated: ModelUnit | None = Field(description="Unit that the file names: mm, cm or in")
    unit: ModelUnit | None = Field(description="Unit that it is read in: mm, cm or in; none while it is being asked")
    shape: ShapeDocument = Field(description="What was measured")
