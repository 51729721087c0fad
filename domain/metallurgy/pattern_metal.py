"""From patterns to metal: what a piece, its feeds, the trunk and the button weigh."""

from __future__ import annotations

from fractions import Fraction

from domain.mould.tree import cylinder, tree_space
from domain.shop.flask import FlaskSize
from domain.shop.jobs import Job
from domain.shop.shop import ShopRules
from domain.units import Density, Mass, Share


def metal_of_pattern(pattern: Mass, pattern_density: Density, alloy_density: Density) -> Mass:
    """m = m_pattern × ρ_alloy / ρ_pattern, to the nearest milligram."""
    return Mass(round(Fraction(pattern.base * alloy_density.base, pattern_density.base)))


def piece_metal(job: Job, material_density: Density, alloy_density: Density) -> Mass:
    """One piece in metal: from its pattern's mass, or from its volume, whichever the job has."""
    if job.metal_volume is not None:
        return alloy_density.mass_of(job.metal_volume)
    assert job.pattern_mass is not None  # a Job has exactly one of the two
    return metal_of_pattern(job.pattern_mass, material_density, alloy_density)


def feed_metal(rules: ShopRules, density: Density) -> Mass:
    """One feed sprue in metal."""
    return density.mass_of(cylinder(rules.feed_diameter, rules.feed_length))


def trunk_metal(size: FlaskSize, rules: ShopRules, density: Density) -> Mass:
    """The trunk, as long as the usable height: the sprue is cut for the flask, not for the tree."""
    return density.mass_of(cylinder(size.trunk_diameter, tree_space(size, rules).height))


def button_metal(tree: Mass, size: FlaskSize, rules: ShopRules, density: Density) -> Mass:
    """The base's fixed volume plus the shop's share of the tree."""
    return density.mass_of(size.button_volume) + rules.button_share.of_mass(tree)


def charge_mass(tree: Mass, button: Mass, melt_loss: Share) -> Mass:
    """What to weigh so that tree and button are there after the melt loss: (tree + button) /
    (1 − loss), rounded up to the next milligram."""
    kept = 1_000_000 - melt_loss.base
    return Mass(-(-(tree.base + button.base) * 1_000_000 // kept))


def planned_charge(pieces: Mass, size: FlaskSize, rules: ShopRules, density: Density, melt_loss: Share) -> Mass:
    """The charge of a flask whose pieces with their feeds weigh ``pieces``."""
    tree = pieces + trunk_metal(size, rules, density)
    return charge_mass(tree, button_metal(tree, size, rules, density), melt_loss)
