"""A model from a file: read, found whole, measured and drawn."""

from __future__ import annotations

import hashlib
from uuid import uuid4

from domain.models.shape import Model, sure_unit
from domain.units import Length
from webapp.meshes.measure import measure
from webapp.meshes.picture import picture
from webapp.meshes.reading import read_surface
from webapp.meshes.surface import sound

LONGEST_NAME = 80


def read_model(name: str, data: bytes, room: Length) -> tuple[Model, bytes]:
    """The model and its picture (PNG). ``room``: the longest that a piece can be in any flask of the shop; it
    settles the unit where the file names none. Raises ``InvalidValue`` that says what is wrong with the file."""
    surface, kind, stated = read_surface(name, data)
    found = sound(surface)
    shape = measure(found)
    model = Model(
        id=uuid4().hex,
        name=name[-LONGEST_NAME:],
        kind=kind,
        digest=hashlib.sha256(data).hexdigest(),
        stated=stated,
        unit=sure_unit(shape, stated, room),
        shape=shape,
    )
    return model, picture(found.surface)
