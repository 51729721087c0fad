"""Rules 1 to 4 and 9 for the solver: what a flask holds, at which temperature, from how much metal."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import pairwise

from domain.mould.tree import reaches_inside
from domain.planning.solver.parts import FlaskVars, Parts, Var
from domain.shop.pattern import PieceSize
from domain.units import Mass


def say_contents(parts: Parts) -> None:
    for f in parts.flasks:
        _pieces(parts, f)
        _size_and_machine(parts, f)
        _temperatures(parts, f)
        _rings(parts, f)
        _crucible(parts, f)
    _every_piece(parts)


def _pieces(parts: Parts, f: FlaskVars) -> None:
    model, case = parts.model, parts.case
    for j in f.jobs:
        most = case.wanted[j]
        f.holds[j] = parts.flag(f"{f.name} holds {j}")
        f.count[j] = parts.number(0, most, f"{f.name} count {j}")
        least = 1 if case.problem.job[j].may_split else most
        model.add(f.count[j] >= least * f.holds[j])
        model.add(f.count[j] <= most * f.holds[j])
        model.add_implication(f.holds[j], f.used)
    model.add(sum(f.holds.values()) >= f.used)


def _every_piece(parts: Parts) -> None:
    """Rule 11: no piece twice. What is in no flask is left out, at a price."""
    for j, wanted in parts.case.wanted.items():
        holders = [f for f in parts.flasks if j in f.count]
        parts.model.add(sum(f.count[j] for f in holders) <= wanted)
        if not parts.case.problem.job[j].may_split:
            parts.model.add(sum(f.holds[j] for f in holders) <= 1)


def _size_and_machine(parts: Parts, f: FlaskVars) -> None:
    model, trees = parts.model, parts.case.trees
    for s in f.sizes:
        f.size[s] = parts.flag(f"{f.name} is {s}")
        for machine in trees.machines(f.melt, s):
            f.on[s, machine.id] = parts.flag(f"{f.name} is {s} on {machine.id}")
        model.add(sum(v for (size, _), v in f.on.items() if size == s) == f.size[s])
    model.add(sum(f.size.values()) == f.used)
    for m in dict.fromkeys(machine for _, machine in f.on):
        f.machine[m] = parts.flag(f"{f.name} on {m}")
        model.add(sum(v for (_, machine), v in f.on.items() if machine == m) == f.machine[m])
    for i in parts.case.problem.melt[f.melt].investments:
        f.investment[i] = parts.flag(f"{f.name} in {i}")
    model.add(sum(f.investment.values()) == f.used)


def _temperatures(parts: Parts, f: FlaskVars) -> None:
    """Rule 2, and for the search: jobs whose ranges do not meet are never together."""
    f.degree = parts.number(0, max(0, len(parts.case.degrees) - 1), f"{f.name} degree")
    spans = {j: parts.case.degree_span(j) for j in f.jobs}
    for j, (low, high) in spans.items():
        parts.model.add(f.degree >= low).only_enforce_if(f.holds[j])
        parts.model.add(f.degree <= high).only_enforce_if(f.holds[j])
    for n, a in enumerate(f.jobs):
        for b in f.jobs[n + 1 :]:
            if spans[a][1] < spans[b][0] or spans[b][1] < spans[a][0]:
                parts.model.add_bool_or(f.holds[a].negated(), f.holds[b].negated())


def _rings(parts: Parts, f: FlaskVars) -> None:
    """Rule 3: widths fit each ring's circle, ring heights with their gaps fit the trunk."""
    problem, trees = parts.case.problem, parts.case.trees
    gap = problem.rules.ring_gap.base
    _reach(parts, f)
    heights: list[Var] = [_counted(parts, f, j, s) for j in f.jobs for s in f.sizes if problem.job[j].per_tree.get(s)]
    in_rings = {j: parts.number(0, parts.case.wanted[j], f"{f.name} ringed {j}") for j in f.jobs}
    for j, count in in_rings.items():
        mine = [v for (job, _), v in f.counted.items() if job == j]
        parts.model.add(f.count[j] == count + sum(mine))
        for s in f.sizes:
            if problem.job[j].per_tree.get(s):
                parts.model.add(count == 0).only_enforce_if(f.size[s])
    rings = _most_rings(parts, f)
    made = [_ring(parts, f, r) for r in range(rings)]
    for j in f.jobs:
        parts.model.add(sum(f.ring[r, j] for r in range(rings)) == in_rings[j])
    for below, above in pairwise(made):
        parts.model.add(below >= above)
    room = sum(v * max(0, trees.space(s).height.base + gap) for s, v in f.size.items())
    parts.model.add(sum(heights) + sum(made) <= room)


def _reach(parts: Parts, f: FlaskVars) -> None:
    problem, trees = parts.case.problem, parts.case.trees
    for j in f.jobs:
        job = problem.job[j]
        suited = [f.size[s] for s in f.sizes if job.per_tree.get(s) or reaches_inside(job.size, trees.space(s))]
        parts.model.add(sum(suited) >= f.holds[j])


def _counted(parts: Parts, f: FlaskVars, j: str, s: str) -> Var:
    """The shop's own pieces per tree: a share of the trunk; returns what it takes with its gap."""
    full = parts.case.problem.job[j].per_tree[s]
    usable = max(0, parts.case.trees.space(s).height.base)
    gap = parts.rules.ring_gap.base
    count = parts.number(0, min(full, parts.case.wanted[j]), f"{f.name} counted {j} {s}")
    takes = parts.number(0, usable + gap, f"{f.name} takes {j} {s}")
    parts.model.add(count == 0).only_enforce_if(f.size[s].negated())
    parts.model.add(full * (takes - gap * f.holds[j]) >= count * usable).only_enforce_if(f.size[s])
    f.counted[j, s] = count
    return takes


def _most_rings(parts: Parts, f: FlaskVars) -> int:
    """No tree has more: the trunk's height over that of the lowest pieces, or a ring for every piece."""
    gap = parts.rules.ring_gap.base
    tallest = max((parts.case.trees.space(s).height.base for s in f.sizes), default=0)
    lows = sorted(parts.case.problem.job[j].size.height.base + gap for j in f.jobs for _ in range(min(parts.case.wanted[j], 40)))
    rings = room = 0
    for low in lows:
        room += low
        if room > tallest + gap:
            break
        rings += 1
    return rings


def _ring(parts: Parts, f: FlaskVars, r: int) -> Var:
    """One ring; returns what it takes of the trunk with its gap, nothing where it is empty."""
    problem, trees, model = parts.case.problem, parts.case.trees, parts.model
    gap, between = parts.rules.ring_gap.base, parts.rules.piece_gap.base
    sizes = {j: problem.job[j].size for j in f.jobs}
    takes = parts.number(0, max((p.height.base + gap for p in sizes.values()), default=0), f"{f.name} ring {r}")
    circles = {s: max(0, trees.space(s).circle.base) for s in f.sizes}
    widest = max(circles.values(), default=0)
    for j, piece in sizes.items():
        most = min(parts.case.wanted[j], widest // (piece.width.base + between))
        f.ring[r, j] = parts.number(0, most, f"{f.name} ring {r} {j}")
        _opens(parts, f, r, j, takes, piece)
    widths = sum(f.ring[r, j] * (piece.width.base + between) for j, piece in sizes.items())
    model.add(widths <= sum(v * circles[s] for s, v in f.size.items()))
    return takes


def _opens(parts: Parts, f: FlaskVars, r: int, j: str, takes: Var, piece: PieceSize) -> None:
    there = parts.flag(f"{f.name} ring {r} has {j}")
    parts.model.add(f.ring[r, j] <= parts.case.wanted[j] * there)
    parts.model.add(f.ring[r, j] >= there)
    parts.model.add(takes >= (piece.height.base + parts.rules.ring_gap.base) * there)
    parts.model.add_implication(there, f.holds[j])


def _crucible(parts: Parts, f: FlaskVars) -> None:
    """Rule 4: what the pieces weigh stays within what size and machine allow."""
    trees, job = parts.case.trees, parts.case.problem.job
    room = {key: trees.most_metal(f.melt, *key).base for key in f.on}
    for key, most in room.items():
        if most < 0:
            parts.model.add(f.on[key] == 0)
    metal = sum(f.count[j] * job[j].metal_each.base for j in f.jobs)
    parts.model.add(metal <= sum(max(0, room[key]) * v for key, v in f.on.items()))


def charge_bound(parts: Parts, f: FlaskVars) -> Var:
    """The charge in mg, some milligrams high so that no rounding is missed."""
    melt, trees = parts.case.problem.melt[f.melt], parts.case.trees
    share = Fraction(parts.rules.button_share.base, 1_000_000)
    grow = (1 + share) * Fraction(1_000_000, 1_000_000 - melt.alloy.melt_loss.base)
    empty = sum(v * (trees.charge_of(f.melt, s, Mass(0)).base + 3) for s, v in f.size.items())
    each = {j: math.ceil(parts.case.problem.job[j].metal_each.base * grow) for j in f.jobs}
    return empty + sum(f.count[j] * mg for j, mg in each.items())
