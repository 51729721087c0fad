"""The force that a spinning arm puts on the metal."""

from __future__ import annotations

import math

from domain.shop.casting import CastingMachine
from domain.units import Length

STANDARD_GRAVITY = 9.80665
"""m/s², 3rd General Conference on Weights and Measures, 1901."""


def relative_force(radius: Length, rpm: int) -> float:
    """Relative centrifugal force ω²r/g, in multiples of the metal's own weight."""
    angular_speed = 2 * math.pi * rpm / 60
    return angular_speed**2 * float(radius.to("m")) / STANDARD_GRAVITY


def speed_for(force: float, radius: Length) -> int:
    """The least whole number of turns a minute that puts ``force`` times its own weight on the metal."""
    angular_speed = math.sqrt(force * STANDARD_GRAVITY / float(radius.to("m")))
    return math.ceil(angular_speed * 60 / (2 * math.pi))


def machine_force(machine: CastingMachine) -> float | None:
    """The force of a machine at its speed; none where it has no arm or its figures are not known."""
    if machine.arm_radius is None or machine.speed_rpm is None:
        return None
    return relative_force(machine.arm_radius, machine.speed_rpm)
