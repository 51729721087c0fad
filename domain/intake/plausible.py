"""Whether a pattern can weigh what the list says: its box holds no more than its material fills."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from domain.errors import InvalidValue
from domain.intake.numbers import Reading
from domain.intake.questions import Answers, Question, choose
from domain.intake.sizes import Three
from domain.saying import say
from domain.shop.pattern import PatternMaterial
from domain.units import Density, Mass, Volume

BEYOND_BELIEF = 100
"""Times its box: above that a unit or a digit is wrong (common practice, no source). Below, the
box may have been measured without a part of the piece, and the user decides for all such rows."""

HEAVIEST_IF_NONE = Density.g_cm3("1.2")
"""Densest castable resin, from memory; for a shop without pattern materials."""


def check_against_box(metal: Mass | Volume, lengths: Three, materials: Sequence[PatternMaterial], answers: Answers) -> str:
    """Empty where the piece fits its box, or the user keeps such rows. Raises ``Asked`` where it does
    not fit, ``InvalidValue`` where it cannot be believed or the user will type it anew.

    A pattern fits when m ≤ V_box × ρ of the shop's densest pattern material, a volume when V ≤ V_box.
    """
    volume = _box_volume(lengths)
    density = max((m.density for m in materials), default=HEAVIEST_IF_NONE)
    most = density.mass_of(volume).base if isinstance(metal, Mass) else volume.base
    if metal.base <= most:
        return ""
    times = Fraction(metal.base, max(most, 1))
    told = _told(metal, lengths, times)
    if times > BEYOND_BELIEF:
        raise InvalidValue("pattern_mass", say("{told}; type the weight and the size again, with their units", told=told))
    readings = (
        Reading("keep", say("take weight and size as they are")),
        Reading("retype", say("one of them is wrong, and will be typed anew")),
    )
    text = say("Patterns that weigh more than the box of their size could hold: …")
    if choose(Question(kind="heavier-than-box", text=text, readings=readings), answers, "pattern_mass") == "retype":
        raise InvalidValue("pattern_mass", say("{told}; type the weight or the size again", told=told))
    return ""


def _box_volume(lengths: Three) -> Volume:
    cubic_micrometres = lengths[0].base * lengths[1].base * lengths[2].base
    return Volume(round(Fraction(cubic_micrometres, 1_000_000)))


def _told(metal: Mass | Volume, lengths: Three, times: Fraction) -> str:
    amount = f"{metal.decimal('g', 2)} g" if isinstance(metal, Mass) else f"{metal.decimal('mm³', 0)} mm³"
    size = " × ".join(f"{length.decimal('mm', 1)}" for length in lengths)
    return say(
        "{amount} is {times} times what a box of {size} mm can hold", amount=amount, times=format(float(times), ".1f"), size=size
    )
