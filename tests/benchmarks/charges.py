"""Charges for random bench situations: the least cost against an independent solver, and the weighed charge against
its standard in whole numbers of its own.

python tests/benchmarks/charges.py [situations]
"""

from __future__ import annotations

import random
import sys
import time
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction

from ortools.linear_solver import pywraplp

from domain.errors import CannotCompose
from domain.metallurgy.blend import Asked, best_blend, obstacle
from domain.metallurgy.charge import ComposedCharge, compose
from domain.metallurgy.melt import Offer
from domain.shop.alloy import Alloy
from domain.starting.alloys import starting_alloys
from domain.starting.metals import starting_metals
from domain.stock.offers import supplier_offers
from domain.units import Mass, Share

NEAR = 1e-6
"""share of the least cost by which two solvers may differ, or a hundredth of a thousandth of a cent"""
ALLOYS, METALS = starting_alloys(), starting_metals()


def situation(rng: random.Random) -> tuple[Asked, list[Offer]]:
    """Some alloy, some mass, what suppliers and a random shelf offer."""
    alloy = rng.choice(ALLOYS)
    offers = [replace(o, to_order=False) for o in supplier_offers(alloy, METALS) if rng.random() < 0.8]
    offers = [replace(o, available=Mass.g(round(rng.uniform(1, 80), 2))) if rng.random() < 0.5 else o for o in offers]
    for n in range(rng.randint(0, 2)):
        shares = {r.element: Fraction(r.low.base + rng.randint(0, max(0, r.high.base - r.low.base))) for r in alloy.composition}
        whole = sum(shares.values())
        recycled = {e: s / whole for e, s in shares.items()}
        cost, held, melts = Fraction(rng.randint(0, 5000)), Mass.g(rng.randint(1, 60)), rng.randint(0, 3)
        name = f"recycled {n}"
        offers.append(Offer(id=name, name=name, composition=recycled, available=held, cost=cost, recycled=True, melts=melts))
    return Asked(alloy=alloy, mass=Mass.g(round(rng.uniform(5, 250), 3))), [o for o in offers if obstacle(alloy, o) is None]


def by_glop(asked: Asked, offers: list[Offer]) -> float | None:
    """The least cost in cents by another solver, from the alloy's words in floats."""
    alloy = asked.alloy
    keeps = [{e: float(s) * (1 - alloy.losses.get(e, Share(0)).base / 1e6) for e, s in o.composition.items()} for o in offers]
    solver = pywraplp.Solver.CreateSolver("GLOP")
    grams = [solver.NumVar(0, solver.infinity() if o.available is None else o.available.base / 1000, o.id) for o in offers]

    def weighed(each: Iterable[float]) -> pywraplp.LinearExpr:
        return solver.Sum([share * gram for share, gram in zip(each, grams, strict=True)])

    whole = weighed(sum(k.values()) for k in keeps)
    for r in alloy.composition:
        low = r.low.base / 1e6
        if alloy.standard and alloy.standard.element == r.element:
            low = max(low, alloy.standard.minimum.base / 1e6)
        element = weighed(k.get(r.element, 0.0) for k in keeps)
        solver.Add(element >= low * whole)
        solver.Add(element <= r.high.base / 1e6 * whole)
    everything = asked.steps * asked.step.base / 1000
    solver.Add(weighed(float(o.recycled) for o in offers) <= alloy.recycled_limit.base / 1e6 * everything)
    solver.Add(solver.Sum(grams) == everything)
    solver.Minimize(weighed(float(o.cost) for o in offers))
    return solver.Objective().Value() if solver.Solve() == solver.OPTIMAL else None


def short_of_standard(alloy: Alloy, charge: ComposedCharge) -> bool:
    """Whether a charge as weighed comes out under its standard, reckoned again from the parts' milligrams."""
    if alloy.standard is None:
        return False
    precious, whole = Fraction(0), Fraction(0)
    for part in charge.parts:
        for element, share in part.offer.composition.items():
            left = part.mass.base * share * Fraction(1_000_000 - alloy.losses.get(element, Share(0)).base, 1_000_000)
            whole += left
            precious += left if element == alloy.standard.element else 0
    return precious * 1_000_000 < alloy.standard.minimum.base * whole


@dataclass(frozen=True, slots=True)
class Verdict:
    """``composed``: none where nothing can be; ``wrong``: what is, in words, empty where all is well."""

    composed: ComposedCharge | None
    wrong: tuple[str, ...]


def judged(seed: int) -> Verdict:
    asked, offers = situation(random.Random(seed))
    ours = best_blend(asked, offers) if offers else None
    theirs = by_glop(asked, offers) if offers else None
    wrong: list[str] = []
    if (ours is None) != (theirs is None):
        wrong.append(f"one solver has an answer and the other none: {ours is not None} and {theirs is not None}")
    if ours is not None and theirs is not None:
        cost = float(sum((o.cost * x for o, x in zip(offers, ours, strict=True)), Fraction(0))) * asked.step.base / 1000
        if abs(cost - theirs) > max(1e-5, NEAR * abs(theirs)):
            wrong.append(f"the least cost is {cost} here and {theirs} there")
    try:
        charge = compose(asked.alloy, asked.mass, offers, asked.step)
    except CannotCompose as why:
        if ours is not None:
            wrong.append(f"not composed although the program has an answer: {why.blocker}")
        elif not (why.blocker and why.remedy):
            wrong.append("refused without a reason or a remedy")
        return Verdict(None, tuple(wrong))
    if short_of_standard(asked.alloy, charge):
        wrong.append("the charge as weighed comes out under its standard")
    if charge.mass < asked.mass or any(p.mass.base % asked.step.base for p in charge.parts):
        wrong.append("the charge is less than asked or not in whole steps of the scale")
    return Verdict(charge, tuple(wrong))


def main(count: int) -> None:
    began, wrong, counts = time.monotonic(), [], Counter[str]()
    least: list[int] = []
    for seed in range(count):
        verdict = judged(seed)
        counts["composed" if verdict.composed else "not possible"] += 1
        wrong += [f"seed {seed}: {text}" for text in verdict.wrong]
        if verdict.composed and verdict.composed.fineness is not None:
            counts["with a standard"] += 1
            alloy = situation(random.Random(seed))[0].alloy
            assert alloy.standard is not None
            least.append(verdict.composed.fineness.base - alloy.standard.minimum.base)
    print(f"{count} situations in {time.monotonic() - began:.0f} s")
    print(f"{counts['composed']} composed, {counts['not possible']} not possible")
    print(f"least fineness above its standard: {min(least, default=0)} ppm in {counts['with a standard']} charges")
    print("\n".join(wrong) or "none under its standard, every optimum the independent solver's to 1e-6")
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
