"""Charges worked out again when a tree was weighed or the metal that they count on has changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from domain.planning.plan import Plan, PlannedFlask
from domain.planning.problem import Problem
from domain.stock.composed import composed_charges
from domain.stock.week_charges import Shortage
from domain.units import Mass
from domain.week.build import problem_of
from domain.week.recharging import counting_on, recharged, stale
from webapp.actions.planning import shop_now
from webapp.settings import Settings
from webapp.store import charges, plans, reservations
from webapp.store.engine import Session
from webapp.store.week import load_week, save_plan


@dataclass(frozen=True, slots=True, kw_only=True)
class Again:
    """``changed``: flasks with another charge; ``short``: those that have none now, and what would mend it."""

    changed: tuple[str, ...] = ()
    short: tuple[Shortage, ...] = ()

    @property
    def words(self) -> str:
        """For the person whose doing it was."""
        told = f" The charge of {', '.join(self.changed)} was worked out again." if self.changed else ""
        return told + "".join(f" {s.flask} has no charge: {s.blocker}. {s.remedy}." for s in self.short)


def recharge(
    session: Session,
    settings: Settings,
    reason: str,
    weighed: Sequence[PlannedFlask] = (),
    back: Mapping[str, Mass] | None = None,
) -> Again:
    """Works out again, in the transaction of the caller, every charge that does not hold any more, and those of
    flasks whose trees were ``weighed``. ``back``: by flask, what really came back on the shelf; charges that count on
    more of it are worked out again. The old figures are kept with the ``reason``, the plan gets a new version."""
    now = shop_now(session, settings)
    week = load_week(session, now)
    stored, plan = plans.current_plan(session), week.previous
    if stored is None or plan is None:
        return Again()
    problem = problem_of(week)
    done = reservations.weighed(session, [c.flask for c in plan.charges])
    why = {flask: text for flask, text in stale(problem, plan).items() if flask not in done}
    why |= {flask: reason for flask in counting_on(plan, back or {}) if flask not in done}
    if not why and not weighed:
        return Again()
    result = recharged(problem, plan, why.keys(), weighed)
    changed = tuple(dict.fromkeys((*(f.id for f in weighed), *result.changed)))
    keep_old(session, problem, plan, changed, reason)
    save_plan(session, replace(result.plan, made_by=plan.made_by), now, note=stored.note)
    return Again(changed=changed, short=result.short)


def keep_old(session: Session, problem: Problem, plan: Plan, flasks: Sequence[str], reason: str) -> None:
    """The charges of these flasks as they are in ``plan``, kept beside what takes their place."""
    given = composed_charges(problem, plan.flasks, plan.charges)
    parts = {c.flask: c.parts for c in plan.charges}
    for name in flasks:
        flask = plan.flask(name)
        if flask is not None:
            fineness = given[name].fineness if name in given else None
            charges.keep_before(session, name, reason, flask.charge, parts.get(name, ()), fineness)
