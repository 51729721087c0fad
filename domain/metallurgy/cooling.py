"""What to do after the pour."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from domain.saying import listed, say
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
    words: list[str] = [say("Leave the flask alone for at least {minutes} minutes after the pour.", minutes=minutes)]
    if rule.method is CoolingMethod.AIR:
        words.append(say("Let it cool in air until it can be handled; do not quench."))
    else:
        words.append(_quench(rule))
    return [*words, rule.note] if rule.note else words


def _quench(rule: CoolingRule) -> str:
    limits = []
    if rule.not_above is not None:
        limits.append(say("once the flask is at {temperature} °C or below", temperature=rule.not_above.celsius()))
    if rule.not_below is not None:
        limits.append(
            say(
                "while the flask is still above {temperature} °C, if the alloy's supplier says to quench it",
                temperature=rule.not_below.celsius(),
            )
        )
    if not limits:
        return say("Quench, behind eye and face protection, away from the steam.")
    return say("Quench {when}, behind eye and face protection, away from the steam.", when=listed(limits, say(" and ")))
