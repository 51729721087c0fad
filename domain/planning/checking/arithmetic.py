"""The checker's own arithmetic: exact fractions, π as a number of many digits.

Masses in milligrams, lengths in micrometres, volumes in nanolitres, as in ``domain.units``.
"""

from __future__ import annotations

import math
from fractions import Fraction

from domain.shop.alloy import Alloy
from domain.shop.flask import FlaskSize
from domain.shop.shop import ShopRules
from domain.units import Density, Length

MILLION = 1_000_000
PI = Fraction("3.14159265358979323846264338327950288419716939937510")


def root(size: FlaskSize, rules: ShopRules) -> int:
    """From the axis to where the feed sprues end."""
    return size.trunk_diameter.base // 2 + rules.feed_length.base


def circle(size: FlaskSize, rules: ShopRules) -> int:
    """The circumference on which the feed sprues end, in whole micrometres."""
    return math.floor(2 * PI * root(size, rules))


def usable_height(size: FlaskSize, rules: ShopRules) -> int:
    return size.height.base - size.base_height.base - rules.top_clearance.base


def rod(diameter: Length, length: int, density: Density) -> Fraction:
    """Milligrams of metal in a round rod: π/4·d²·l·ρ."""
    cubic_centimetres = PI / 4 * diameter.base**2 * max(0, length) / 10**12
    return cubic_centimetres * density.base


def charge(pieces: int, size: FlaskSize, rules: ShopRules, alloy: Alloy) -> int:
    """Milligrams to weigh so that ``pieces`` (with feeds), trunk and button are there after the
    melt loss, rounded up."""
    tree = pieces + rod(size.trunk_diameter, usable_height(size, rules), alloy.density)
    button = Fraction(size.button_volume.base * alloy.density.base, MILLION) + tree * rules.button_share.base / MILLION
    kept = MILLION - alloy.melt_loss.base
    return math.ceil((tree + button) * MILLION / max(1, kept))


def feed(rules: ShopRules, alloy: Alloy) -> int:
    """One feed sprue in metal, to the nearest milligram."""
    return round(rod(rules.feed_diameter, rules.feed_length.base, alloy.density))
