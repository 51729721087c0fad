"""How the bench reads and writes amounts: in the unit that was typed, and in grams beside."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from domain.errors import InvalidValue
from domain.intake.typed import read_length, read_mass, read_volume
from domain.units import Length, Mass, Volume
from webapp import formats


def above_zero(read: Callable[[str], Mass]) -> Callable[[str], Mass]:
    def mass(text: str) -> Mass:
        value = read(text)
        if value.base <= 0:
            raise InvalidValue("mass", "nothing weighs nothing; type a mass above zero, such as 3.97 g")
        return value

    return mass


a_mass: Callable[[str], Mass] = above_zero(partial(read_mass, default_unit="g"))
"""Above zero; grams where no unit is typed."""


def a_volume(text: str) -> Volume:
    value = read_volume(text, None)
    if value.base <= 0:
        raise InvalidValue("volume", "a volume is above zero; type one such as 480 mm³ or 1.2 ml")
    return value


def a_length(text: str) -> Length:
    value = read_length(text, "mm")
    if value.base <= 0:
        raise InvalidValue("length", "a length is above zero; type one such as 90 mm or 3 1/2 in")
    return value


def both(mass: Mass) -> str:
    """Grams, and pennyweights or troy ounces beside."""
    other = "ozt" if mass >= Mass.of(1, "ozt") else "dwt"
    return f"{formats.mass(mass)} ({formats.mass(mass, other)})"
