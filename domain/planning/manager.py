"""What a careful manager plans by hand: most urgent first, full trees, few loads, kilns timed backwards
from the first cast slot, falling temperatures. Always an answer, never the last word."""

from __future__ import annotations

import time
from collections.abc import Iterable, Sequence
from dataclasses import replace

from domain.planning.baseline.drafts import Draft
from domain.planning.baseline.filling import Filling
from domain.planning.baseline.groups import Groups, pieces_wanted, urgency
from domain.planning.baseline.hours import Hours
from domain.planning.baseline.schedule import Schedule
from domain.planning.baseline.trees import Trees
from domain.planning.explain.reasons import left_out
from domain.planning.measure import measure, values
from domain.planning.plan import Plan
from domain.planning.problem import Problem

CROWD = 200
"""Flasks, above which few ways have to do, so that there is a plan within seconds."""


def plan_by_hand(problem: Problem) -> Plan:
    """The best plan of managers who place flask after flask or fill day after day, eagerly or patiently, or, of a
    crowd, who take the cheapest flasks or all the roomy ones side by side. Charges are not composed."""
    began = time.monotonic()
    trees = Trees(problem)
    groups = Groups(trees, Hours(problem))
    drafts, _ = groups.drafts(pieces_wanted(problem))
    if len(drafts) > CROWD:
        plans = _of_a_crowd(groups, drafts)
    else:
        plans = [way(groups, drafts, patient=wait) for way in (_placed, _filled) for wait in (False, True)]
    best = min(plans, key=lambda plan: values(plan.levels))
    best = replace(best, left_out=left_out(problem, best))
    return replace(best, seconds=time.monotonic() - began, made_by="baseline")


def _of_a_crowd(groups: Groups, drafts: Sequence[Draft]) -> list[Plan]:
    plan = _filled(groups, drafts, patient=True, crowd=True)
    if not any(level.value for level in plan.levels[:2]):
        return [plan]
    balanced = replace(groups, balanced=True)
    roomy, _ = balanced.drafts(pieces_wanted(groups.problem))
    return [plan, _filled(balanced, roomy, patient=True, crowd=True)]


def _in_order(groups: Groups, drafts: Iterable[Draft]) -> list[Draft]:
    jobs = groups.problem.job
    return sorted(drafts, key=lambda d: (*min(urgency(jobs[j]) for j, _ in d.contents), d.id))


def _placed(groups: Groups, drafts: Sequence[Draft], *, patient: bool) -> Plan:
    """One pass over the flasks, the most urgent first."""
    schedule = Schedule.of(groups.trees, patient=patient)
    schedule.insert_all(_in_order(groups, drafts), groups.next_id)
    return as_plan(schedule)


def _filled(groups: Groups, drafts: Sequence[Draft], *, patient: bool, crowd: bool = False) -> Plan:
    """One pass over days and kilns; what finds no place in it, flask after flask."""
    schedule = Schedule.of(groups.trees, patient=patient)
    left = Filling(schedule, list(drafts), patient, crowd).run()
    schedule.insert_all(_in_order(groups, left), groups.next_id)
    return as_plan(schedule)


def as_plan(schedule: Schedule) -> Plan:
    """What is fixed and what has been placed; measured, without reasons for what is left out."""
    problem = schedule.problem
    plan = Plan(
        flasks=tuple(sorted((*problem.fixed_flasks, *schedule.flasks()), key=lambda f: (f.cast_start, f.machine, f.id))),
        loads=tuple(sorted((*problem.fixed_loads, *schedule.loads()), key=lambda load: (load.start, load.id))),
    )
    return replace(plan, levels=measure(problem, plan))
