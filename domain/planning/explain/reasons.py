"""Why a job cannot be planned or is late: the rule in the way, and what would mend it.

First what no calendar can mend (tree, alloy, kiln, crucible, metal), then, day by day, what is taken.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cached_property

from domain.planning.explain.mends import MOST, Mends
from domain.planning.explain.never import Reason, never
from domain.planning.explain.when import Probe
from domain.planning.measure import days_late, planned_pieces
from domain.planning.plan import LeftOut, Plan
from domain.planning.problem import PlanJob, Problem
from domain.saying import say

__all__ = ["Late", "Reason", "left_out", "why_late", "why_out"]

TRIED = 40
"""Jobs for which changes are tried, the worst first, as far as the budget of tries goes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Late:
    """``days``: calendar days late. ``reasons``: the first is the one that decides."""

    job: str
    days: int
    reasons: tuple[Reason, ...]

    @property
    def rule(self) -> int:
        return self.reasons[0].rule

    @property
    def reason(self) -> str:
        return self.reasons[0].reason

    @property
    def remedy(self) -> str:
        return self.reasons[0].remedy


def left_out(problem: Problem, plan: Plan) -> tuple[LeftOut, ...]:
    """An entry for every job with pieces in no flask of ``plan``."""
    inside = Counter(planned_pieces(plan))
    probe = Probe(problem, plan)
    missing = [(job, job.quantity - inside[job.id]) for job in problem.jobs if job.quantity > inside[job.id]]
    return tuple(_entry(probe, job, pieces) for job, pieces in missing)


def _entry(probe: Probe, job: PlanJob, pieces: int) -> LeftOut:
    reason = _whole_elsewhere(probe.problem, job) or never(probe.trees, job) or probe.why_full(job, pieces)
    return LeftOut(job=job.id, pieces=pieces, rule=reason.rule, reason=reason.reason, remedy=reason.remedy)


def _whole_elsewhere(problem: Problem, job: PlanJob) -> Reason | None:
    holder = next((f for f in problem.fixed_flasks if job.id in f.contents), None)
    if job.may_split or holder is None:
        return None
    return Reason(
        rule=3,
        reason=say(
            "Job {job} may not be split, and part of it is in flask {holder}, which does not move", job=job.name, holder=holder.id
        ),
        remedy=say("Unpin flask {holder}, or allow the job to be split.", holder=holder.id),
    )


def why_late(problem: Problem, plan: Plan) -> tuple[Late, ...]:
    """Every late job, the worst first, with what kept it from being in time."""
    late = days_late(problem, plan)
    if not late:
        return ()
    why = _Why(problem, plan)
    order = sorted(late, key=lambda j: (-late[j] * problem.job[j].weight, j))
    return tuple(Late(job=j, days=late[j], reasons=why.late(problem.job[j], tries=n < TRIED)) for n, j in enumerate(order))


def why_out(problem: Problem, plan: Plan, most: int = MOST) -> dict[str, tuple[Reason, ...]]:
    """At most ``most`` reasons for every job with pieces in no flask, each with what would mend it."""
    why = _Why(problem, plan)
    inside = Counter(planned_pieces(plan))
    missing = [job for job in problem.jobs if job.quantity > inside[job.id]]
    missing.sort(key=lambda job: (-(job.quantity - inside[job.id]) * job.weight, job.id))
    return {job.id: why.out(job, job.quantity - inside[job.id], tries=n < TRIED, most=most) for n, job in enumerate(missing)}


@dataclass(frozen=True)
class _Why:
    problem: Problem
    plan: Plan

    @cached_property
    def probe(self) -> Probe:
        return Probe(self.problem, self.plan)

    @cached_property
    def mends(self) -> Mends:
        return Mends(self.problem, self.plan)

    def late(self, job: PlanJob, *, tries: bool) -> tuple[Reason, ...]:
        """What was tried and helps; what is in the way where nothing was tried or helps."""
        found = self.mends.reasons(job) if tries else ()
        return found or self.probe.why_late(job)

    def out(self, job: PlanJob, pieces: int, *, tries: bool, most: int) -> tuple[Reason, ...]:
        reason = _whole_elsewhere(self.problem, job) or never(self.probe.trees, job)
        if reason is not None and reason.change is not None:
            return (reason,)
        found = self.mends.reasons(job, most) if tries else ()
        return found or ((reason,) if reason else (self.probe.why_full(job, pieces),))
