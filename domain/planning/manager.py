"""What a careful manager plans by hand: most urgent first, full trees, few loads, kilns timed backwards
from the first cast slot, falling temperatures. Always an answer, never the last word."""

from __future__ import annotations

import time
from dataclasses import replace

from domain.planning.baseline.drafts import Draft
from domain.planning.baseline.groups import Groups, pieces_wanted, urgency
from domain.planning.baseline.hours import Hours
from domain.planning.baseline.schedule import Schedule
from domain.planning.baseline.trees import Trees
from domain.planning.explain.reasons import left_out
from domain.planning.measure import measure, values
from domain.planning.plan import Plan
from domain.planning.problem import Problem


def plan_by_hand(problem: Problem) -> Plan:
    """The better of an eager and a patient manager's plan. Charges are not composed."""
    began = time.monotonic()
    trees = Trees(problem)
    groups = Groups(trees, Hours(problem))
    drafts, _ = groups.drafts(pieces_wanted(problem))
    plans = [_placed(groups, drafts, patient=patient) for patient in (False, True)]
    best = min(plans, key=lambda plan: values(plan.levels))
    best = replace(best, left_out=left_out(problem, best))
    return replace(best, seconds=time.monotonic() - began, made_by="baseline")


def _placed(groups: Groups, drafts: list[Draft], *, patient: bool) -> Plan:
    """One pass over the flasks, the most urgent first."""
    jobs = groups.problem.job
    schedule = Schedule.of(groups.trees, patient=patient)
    order = sorted(drafts, key=lambda d: (*min(urgency(jobs[j]) for j, _ in d.contents), d.id))
    schedule.insert_all(order, groups.next_id)
    return as_plan(schedule)


def as_plan(schedule: Schedule) -> Plan:
    """What is fixed and what has been placed; measured, without reasons for what is left out."""
    problem = schedule.problem
    plan = Plan(
        flasks=tuple(sorted((*problem.fixed_flasks, *schedule.flasks()), key=lambda f: (f.cast_start, f.machine, f.id))),
        loads=tuple(sorted((*problem.fixed_loads, *schedule.loads()), key=lambda load: (load.start, load.id))),
    )
    return replace(plan, levels=measure(problem, plan))
