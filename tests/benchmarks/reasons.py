"""Whether reasons are right: the change that is named for a late or left-out job is made, the week is planned again,
and the lateness must fall.

python tests/benchmarks/reasons.py [cases] [seconds]
"""

from __future__ import annotations

import random
import sys
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

import studio

from domain.planning.explain.reasons import Reason, why_late, why_out
from domain.planning.measure import values
from domain.planning.plan import Plan
from domain.planning.problem import Problem
from domain.stock.week_charges import WeekCharges
from domain.units import Mass
from domain.week import answer
from domain.week.answer import plan_week


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """A planned week in which ``job`` is late or left out, and the reasons for that."""

    week: Problem
    plan: Plan
    job: str
    reasons: tuple[Reason, ...]
    seconds: float


def tight(seed: int) -> Problem:
    """A studio in which something must be late: few flasks, one kiln, little metal, patterns that come late."""
    rng = random.Random(f"reasons {seed}")
    week = studio.studio(seed, rng.randrange(15, 40), days=rng.randrange(6, 10), alloys=rng.randrange(2, 6))
    sizes = tuple(replace(s, owned=rng.randrange(1, 5)) for s in week.shop.sizes)
    kilns = tuple(replace(k, unattended=rng.random() < 0.8) for k in week.shop.kilns[: rng.choice([1, 1, 2])])
    shop = replace(week.shop, sizes=sizes, kilns=kilns)
    order = rng.choice([2, 3]) * 1440 + 540
    melts = tuple(
        replace(m, stock_castable=Mass.g(rng.choice([100, 300, 5000, 5000])), order_from=order)
        for m in studio.melts_of(shop, week.jobs)
    )
    return studio.problem(shop, week.jobs, days=len(week.days), melts=melts)


def cases(count: int, seconds: float = 0.2) -> Iterator[Case]:
    """``count`` weeks with a job that is late or left out, one job of each."""
    seed, made = 0, 0
    while made < count:
        seed += 1
        week = tight(seed)
        plan = plan_week(week, seconds=seconds, seed=seed, deterministic=True)
        began = time.monotonic()
        known = {late.job: late.reasons for late in why_late(week, plan)} | why_out(week, plan)
        took = time.monotonic() - began
        if known:
            job = random.Random(seed).choice(sorted(known))
            made += 1
            yield Case(week=week, plan=plan, job=job, reasons=known[job], seconds=took / len(known))


def helped(case: Case, reason: Reason, seconds: float) -> bool:
    """Whether less is left out or late once the change is made and the week planned again."""
    if reason.change is None:
        return False
    week = replace(reason.change.apply(case.week), previous=case.plan)
    plan = plan_week(week, seconds=seconds, deterministic=True)
    return values(plan.levels)[:2] < values(case.plan.levels)[:2]


def main(count: int = 100, seconds: float = 1.0) -> None:
    answer.week_charges = lambda *_: WeekCharges(composed={})  # type: ignore[assignment] # these studios keep no lots
    right, kinds, all_reasons, all_right, took = 0, Counter[str](), 0, 0, []
    for case in cases(int(count)):
        good = [helped(case, reason, seconds) for reason in case.reasons]
        right += good[0]
        all_reasons, all_right = all_reasons + len(good), all_right + sum(good)
        kinds[type(case.reasons[0].change).__name__] += 1
        took.append(case.seconds)
        if not good[0]:
            print(f"did not help: {case.reasons[0].reason}. {case.reasons[0].remedy}")
    print(f"the first change named reduced what is left out or late in {right} of {int(count)} cases")
    print(f"of all changes named, {all_right} of {all_reasons} did")
    print(f"seconds a job: {sum(took) / len(took):.2f}; kinds: {dict(kinds.most_common())}")


if __name__ == "__main__":
    main(*(float(x) for x in sys.argv[1:]))
