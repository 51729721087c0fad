"""How the bench reads and writes amounts: in the unit that was typed, and in grams beside."""

from __future__ import annotations

from collections.abc import Callable

from domain.errors import InvalidValue
from domain.intake.typed import read_volume
from domain.saying import say
from domain.units import Length, Mass, Volume
from webapp import formats, reading
from webapp.ways import Lengths, current


def above_zero(read: Callable[[str], Mass]) -> Callable[[str], Mass]:
    def mass(text: str) -> Mass:
        value = read(text)
        if value.base <= 0:
            raise InvalidValue("mass", say("nothing weighs nothing; type a mass above zero, such as 3.97 g"))
        return value

    return mass


a_mass: Callable[[str], Mass] = above_zero(reading.mass)
"""Above zero."""


def a_volume(text: str) -> Volume:
    value = read_volume(text, None, choices=current().choices)
    if value.base <= 0:
        raise InvalidValue("volume", say("a volume is above zero; type one such as 480 mm³ or 1.2 ml"))
    return value


def a_length(text: str) -> Length:
    value = reading.length(text)
    if value.base <= 0:
        raise InvalidValue("length", say("a length is above zero; type one such as 90 mm or 3 1/2 in"))
    return value


def both(mass: Mass) -> str:
    """As the reader weighs, and the other way beside: grams, or pennyweights or troy ounces."""
    other = "g" if current().metal != "g" else "ozt" if mass >= Mass.of(1, "ozt") else "dwt"
    return f"{formats.to_weigh(mass)} ({formats.mass(mass, other, formats.TO_WEIGH[other])})"


def both_lengths(length: Length) -> str:
    inches = current().lengths is Lengths.INCH
    return f"{formats.length(length)} ({formats.length(length, 'mm' if inches else 'in', 1 if inches else 3)})"
