"""Flasks and sprue bases that the shop owns."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from domain.sources import Source
from domain.units import Length, Volume


@dataclass(frozen=True, slots=True, kw_only=True)
class FlaskSize:
    """One size of flask, with the sprue base that closes it.

    ``inner_diameter`` × ``height`` as traded; ``wall`` thickness of the steel. ``owned``: how many
    the shop has. ``burnout_minutes``: the shortest program that burns this size out. ``cost``:
    what filling one is worth in the plan's cost units (investment, energy, a button to re-melt).
    ``base_height``: how far the sprue base stands up into the flask; ``trunk_diameter`` of the
    sprue that it carries; ``button_volume``: the fixed part of the button.
    """

    id: str
    name: str
    inner_diameter: Length
    height: Length
    wall: Length
    perforated: bool
    owned: int
    burnout_minutes: int
    cost: int
    base_height: Length
    trunk_diameter: Length
    button_volume: Volume
    sources: Mapping[str, Source] = field(default_factory=dict)

    @property
    def outer_diameter(self) -> Length:
        return self.inner_diameter + self.wall.times(2)
