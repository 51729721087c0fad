"""The week on the desk, and making a plan for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import cached_property

from domain.errors import DomainError
from domain.planning.check import Violation, check
from domain.planning.explain.reasons import Late, Reason, why_late, why_out
from domain.planning.plan import Level, Plan
from domain.planning.problem import Problem
from domain.saying import say
from domain.week.build import problem_of
from domain.week.week import Week
from webapp import formats
from webapp.actions.hand_made import HAND
from webapp.settings import Settings
from webapp.solving.messages import Answer, Ask
from webapp.solving.runner import Runner, SolveState
from webapp.steady import utc_now
from webapp.store import plans
from webapp.store.engine import Database, Session
from webapp.store.memory import alone, latest, recalled, remember
from webapp.store.plans import StoredPlan
from webapp.store.trouble import again
from webapp.store.week import load_rules, load_week, read_record, save_plan, week_of

SHOP = "shop"
"""One database is one shop: the runner's key."""

DESK = "desk"
"""what the memory calls it"""

SHORTEST, USUAL, LONGEST = 2, 20, 600
"""seconds that a planner may be given"""


@dataclass(frozen=True, kw_only=True)
class Desk:
    """The week as it stands. ``plan``: the current plan with its history, on today's clock, none
    where there is no plan yet. ``pins``: the manager's reasons by flask. ``stages``: by flask."""

    now: datetime
    week: Week
    problem: Problem
    stored: StoredPlan | None
    plan: Plan | None
    pins: Mapping[str, str]
    stages: Mapping[str, str]
    findings: Findings

    def at(self, now: datetime) -> Desk:
        """The same at another time of the same day: nothing else of the problem depends on it. What takes
        long to find is looked for once an hour."""
        week, problem = replace(self.week, now=now), replace(self.problem, now=self.problem.clock.minute(now))
        findings = self.findings if now.hour == self.now.hour else Findings(problem, self.open_plan)
        return replace(self, now=now, week=week, problem=problem, findings=findings)

    @property
    def version(self) -> int:
        """Of the current plan; 0 where there is none."""
        return self.stored.version if self.stored else 0

    @property
    def open_plan(self) -> Plan:
        """The plan without what was knocked out before today; an empty one where there is none."""
        return self.week.previous or Plan()

    @cached_property
    def minute(self) -> int:
        return self.problem.clock.minute(self.now)

    def local(self, moment: datetime) -> datetime:
        """A moment of the record in the shop's local time."""
        return formats.local(moment, self.problem.clock.timezone)

    @property
    def made_at(self) -> datetime | None:
        """When the plan was made, in the shop's local time."""
        return self.local(self.stored.made_at) if self.stored else None


@dataclass(frozen=True)
class Findings:
    """What takes long to find out about a plan, looked for when somebody asks."""

    problem: Problem
    plan: Plan

    @cached_property
    def late(self) -> tuple[Late, ...]:
        return why_late(self.problem, self.plan)

    @cached_property
    def out(self) -> dict[str, tuple[Reason, ...]]:
        return why_out(self.problem, self.plan)

    @cached_property
    def sound(self) -> bool:
        """Whether the plan keeps all rules as far as they concern single flasks and charges."""
        return not any(v.rule in (1, 2, 3, 4, 9) for v in check(self.problem, self.plan))


def shop_now(session: Session, settings: Settings) -> datetime:
    return settings.now(load_rules(session).timezone)


def load_desk(session: Session, settings: Settings) -> Desk:
    """The desk now: worked out once and remembered while the data stay and the day lasts. Raises
    ``DomainError`` where the shop's data contradict themselves."""
    desk = _remembered(session, settings)
    if desk is None:
        with alone(session, DESK):
            desk = _remembered(session, settings) or _desk(session, shop_now(session, settings))
            remember(session, DESK, desk)
    return desk


def _remembered(session: Session, settings: Settings) -> Desk | None:
    """The desk of the same data, moved on to this minute; none where it is of another day."""
    known: Desk | None = recalled(session, DESK)
    now = settings.now(known.week.shop.rules.timezone) if known else None
    if known is None or now is None or known.now == now:
        return known
    if known.now.date() != now.date():
        return None
    desk = known.at(now)
    remember(session, DESK, desk)
    return desk


def _desk(session: Session, now: datetime) -> Desk:
    record = read_record(session)
    week = week_of(session, now, record)
    before: Desk | None = latest(session, DESK)
    problem = problem_of(week, (before.week, before.problem) if before else None)
    stored = record.plan
    return Desk(
        now=now,
        week=week,
        problem=problem,
        stored=stored,
        plan=plans.moved(stored.plan, stored.clock, problem.clock) if stored else None,
        pins={flask: pin.reason for flask, pin in record.pins.items()},
        stages={flask: str(events[-1].stage) for flask, events in record.happened.items()},
        findings=Findings(problem, week.previous or Plan()),
    )


def start_planning(db: Database, runner: Runner, settings: Settings, seconds: float, *, anew: bool = False) -> SolveState:
    """Begins to plan the week as it is now, steadily or ``anew``. Raises ``DomainError`` where there is nothing to plan, a
    run is at work already, or the data contradict themselves."""
    with db.read() as session:
        now = shop_now(session, settings)
        week = load_week(session, now)
        base = _version(session)
    if not week.jobs:
        raise DomainError(say("There are no jobs to plan. Add jobs first, or bring in a list of them."))
    ask = Ask(problem=problem_of(week), seconds=min(max(seconds, SHORTEST), LONGEST), anew=anew)
    return runner.start(SHOP, ask, lambda answer: again(lambda: keep_plan(db, answer, now, base)))


def keep_plan(db: Database, answer: Answer, asked: datetime, base: int) -> int:
    """The plan as the shop's current one; ``asked``: the local time that it was made for, ``base``: the
    version that was current then, 0 for none.

    Raises ``DomainError`` when pieces were moved by hand in the meantime, or a flask was pinned or work
    on it began and the plan moves it. Jobs that changed meanwhile do not refuse it: the week's page
    tells of them.
    """
    with db.write() as session:
        current = plans.current_plan(session)
        if current is not None and current.version != base and current.made_by == HAND:
            raise DomainError(say("While the plan was being made, pieces were moved by hand. That plan stays. Plan again."))
        problem = problem_of(load_week(session, asked))
        moved = [v for v in check(problem, answer.plan, metal=False) if v.rule == 10]
        if moved:
            raise DomainError(
                say(
                    "While the plan was being made, something in it was pinned or begun: {message}. Plan again.",
                    message=moved[0].message,
                )
            )
        return save_plan(session, answer.plan, asked, note=by_hand_note(answer.by_hand))


def _version(session: Session) -> int:
    stored = plans.current_plan(session)
    return stored.version if stored else 0


def by_hand_note(levels: tuple[Level, ...]) -> str:
    """Kept with the plan, so that it can be compared later."""
    return "by hand: " + "; ".join(f"{level.name} {level.value}" for level in levels) if levels else ""


def by_hand_levels(note: str) -> dict[str, int]:
    """What ``by_hand_note`` wrote."""
    if not note.startswith("by hand: "):
        return {}
    parts = [part.rsplit(" ", 1) for part in note.removeprefix("by hand: ").split("; ")]
    return {name: int(value) for name, value in parts}


def broken_now(desk: Desk) -> tuple[Violation, ...]:
    """Rules that the plan would break with the shop, the stock and the jobs of today. That time has
    passed, or a job is new, is told elsewhere."""
    plan = desk.open_plan
    starts = [f.invest_start for f in plan.flasks if f.id not in desk.week.pinned]
    then = replace(desk.problem, now=min([desk.problem.now, *starts]))
    return tuple(v for v in check(then, plan) if v.rule not in (0, 11))


def overdue(desk: Desk) -> tuple[str, ...]:
    """Flasks that should have been invested by now and are not marked so."""
    late = [f for f in desk.open_plan.flasks if f.invest_end <= desk.minute and f.id not in desk.stages]
    return tuple(f.id for f in sorted(late, key=lambda f: f.invest_start))


def age(desk: Desk) -> int:
    """Whole minutes since the plan was made."""
    if desk.stored is None:
        return 0
    return max(0, int((utc_now() - desk.stored.made_at).total_seconds() // 60))


def day_or_today(text: str | None, desk: Desk) -> date:
    """The day that an address names, by its date or as today. Raises ``DomainError`` where it names none."""
    if not text or text == "today":
        return desk.now.date()
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise DomainError(say("“{text}” is not a day; write it like 2026-03-02.", text=text)) from None
