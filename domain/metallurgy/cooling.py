"""What to do after the pour."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from domain.shop.alloy import Alloy, CoolingMethod, CoolingRule
from domain.shop.flask import FlaskSize
from domain.units import Length, Temperature

ORDINARY = Length.mm(75)
"""Up to this diameter the alloy's own wait holds; larger flasks wait longer in proportion, as in
casters' tables for silver (12–20 min by size). The proportion is common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AfterPour:
    """``minutes``: least time from the pour to the quench, or to knock-out where it cools in air.
    ``words``: what to do, in the order of doing."""

    method: CoolingMethod
    minutes: int
    not_above: Temperature | None
    not_below: Temperature | None
    words: tuple[str, ...]


def after_pour(alloy: Alloy, size: FlaskSize) -> AfterPour:
    """What to do with a flask of ``size`` after ``alloy`` is poured into it."""
    rule = alloy.cooling
    minutes = wait_minutes(rule, size)
    return AfterPour(
        method=rule.method,
        minutes=minutes,
        not_above=rule.not_above,
        not_below=rule.not_below,
        words=tuple(_words(rule, minutes)),
    )


def wait_minutes(rule: CoolingRule, size: FlaskSize) -> int:
    """The rule's wait, longer in proportion for flasks wider than an ordinary one. A quench that must
    not come too late is not put off."""
    if rule.not_below is not None:
        return rule.wait_minutes
    longer = max(Fraction(1), size.inner_diameter.over(ORDINARY))
    return -(-rule.wait_minutes * longer.numerator // longer.denominator)


def _words(rule: CoolingRule, minutes: int) -> list[str]:
    words = [f"Leave the flask alone for at least {minutes} minutes after the pour."]
    if rule.method is CoolingMethod.AIR:
        words.append("Let it cool in air until it can be handled; do not quench.")
    else:
        words.append(f"Quench{_window(rule)}, behind eye and face protection, away from the steam.")
    return [*words, rule.note] if rule.note else words


def _window(rule: CoolingRule) -> str:
    limits = []
    if rule.not_above is not None:
        limits.append(f"once the flask is at {rule.not_above.celsius()} °C or below")
    if rule.not_below is not None:
        limits.append(f"while the flask is still above {rule.not_below.celsius()} °C, if the alloy's supplier says to quench it")
    return (" " + " and ".join(limits)) if limits else ""
