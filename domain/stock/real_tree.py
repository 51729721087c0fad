"""A flask's charge from its real tree, once it has been weighed: gross less the sprue base."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from domain.errors import InvalidValue
from domain.metallurgy.pattern_metal import button_metal, charge_mass, feed_metal, trunk_metal
from domain.planning.plan import PlannedFlask
from domain.planning.problem import Problem
from domain.saying import say
from domain.units import Density, Mass

UNLIKE = Fraction(1, 2)
"""A tree that weighs this much more or less than planned is another tree, or the base was not taken off.
Common practice, no source."""


def expected_tree(problem: Problem, flask: PlannedFlask) -> Mass:
    """What the tree of patterns, feed sprues and trunk should weigh, without its base. Sprues are of wax: the
    first pattern material of the shop that burns out without fume. Raises ``InvalidValue`` where a job, size
    or material is not known any more."""
    alloy, size = problem.melt[flask.melt].alloy, problem.size.get(flask.size)
    densities: dict[str, Density] = {m.id: m.density for m in problem.shop.materials}
    jobs = [(problem.job.get(job), count) for job, count in flask.contents.items()]
    if size is None or any(job is None or job.material not in densities for job, _ in jobs):
        raise InvalidValue(
            "tree", say("what flask {flask} holds is not on the list any more; weigh the charge by hand", flask=flask.id)
        )
    wax = next((m.density for m in problem.shop.materials if not m.fume), next(iter(densities.values())))
    feed, trunk = feed_metal(problem.rules, alloy.density), trunk_metal(size, problem.rules, alloy.density)
    mass = Fraction(trunk.base * wax.base)
    for job, count in jobs:
        assert job is not None  # asked above
        mass += count * ((job.metal_each.base - feed.base) * densities[job.material].base + feed.base * wax.base)
    return Mass(round(mass / alloy.density.base))


def with_real_tree(problem: Problem, flask: PlannedFlask, weighed: Mass) -> PlannedFlask:
    """The flask with the charge that its real tree asks for: patterns and sprues are taken to be heavier or
    lighter than planned by the same share. Raises ``InvalidValue`` for a tree that cannot be this flask's."""
    expected = expected_tree(problem, flask)
    ratio = weighed.over(expected)
    if not UNLIKE <= ratio <= 1 / UNLIKE:
        raise InvalidValue(
            "tree",
            say(
                "a tree of {weighed} g cannot be that of flask {flask}, which should weigh about {expected} g; "
                "is the sprue base taken off?",
                weighed=weighed.decimal("g", 2),
                flask=flask.id,
                expected=expected.decimal("g", 2),
            ),
        )
    alloy, size, rules = problem.melt[flask.melt].alloy, problem.size[flask.size], problem.rules
    pieces = sum(problem.job[job].metal_each.base * count for job, count in flask.contents.items())
    planned = Mass(pieces) + trunk_metal(size, rules, alloy.density)
    tree = planned.times(ratio)
    return replace(flask, charge=charge_mass(tree, button_metal(tree, size, rules, alloy.density), alloy.melt_loss))
