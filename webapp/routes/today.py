"""Today: what is done when, in large type, and what comes next."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import ClassVar
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from domain.mould.mix import InvestmentMix
from domain.safety.gates import GATES
from domain.saying import say
from webapp import formats
from webapp.actions.gates import stand_all
from webapp.actions.planning import Desk, day_or_today, load_desk
from webapp.actions.today import mark_done, take_back
from webapp.pages import Page, answer, see_other
from webapp.routes.edge import Db, TheSettings, Typed
from webapp.routes.live import Pulse
from webapp.routes.once import Once
from webapp.store.engine import Session
from webapp.store.flasks import happened
from webapp.views.axis import Axis, day_axis
from webapp.views.check_links import CheckLink, check_link
from webapp.views.flask import flask_mix
from webapp.views.prints import context_of_flask
from webapp.views.today import Task, queue
from webapp.views.waits import Recorded, Wait, waits
from webapp.views.week import alloy_name

router = APIRouter(prefix="/today", route_class=Once)


@dataclass(frozen=True, kw_only=True)
class TodayPage(Page):
    """``days``: other days with something to do. ``names``: of kilns, machines, programs, sizes and
    people, by id. ``why_empty`` and ``instead``: why there is nothing to do, and what to do then.
    ``address``: of the page itself, ``stamp`` of its data, ``now`` in milliseconds since 1970. ``local``: a
    moment in the shop's time; ``ends``: such a time in milliseconds. ``checks``: by task, the checklists before it."""

    template: ClassVar[str] = "today/today.html"
    here: ClassVar[str] = "today"

    day: date
    is_today: bool
    before: date
    after: date
    days: tuple[date, ...]
    tasks: tuple[Task, ...]
    alloys: dict[str, str]
    names: dict[str, str]
    mixes: dict[str, InvestmentMix]
    axis: Axis | None
    key: str
    why_empty: str
    jobs: int
    planned: bool
    waits: tuple[Wait, ...]
    checks: dict[str, tuple[CheckLink, ...]]
    address: str
    stamp: str
    now: int
    local: Callable[[datetime], datetime]
    ends: Callable[[datetime], int]


@router.get("")
def today(request: Request, db: Db, settings: TheSettings, day: str = "") -> HTMLResponse:
    pulse: Pulse = request.app.state.pulse
    stamp = pulse.stamp()
    with db.read() as session:
        desk = load_desk(session, settings)
        recorded = {flask: {str(e.stage): e.at for e in events} for flask, events in happened(session).items()}
        shown = day_or_today(day, desk)
        tasks = queue(desk.problem, desk.plan, shown, desk.stages, desk.now) if desk.plan else ()
        checks = _checks(session, desk, tasks)
    return answer(request, _page(desk, shown, tasks, checks, recorded, stamp, pulse.now()))


@router.post("/done")
def done(db: Db, settings: TheSettings, typed: Typed) -> Response:
    said = mark_done(db, settings, typed.get("flasks", ""), typed.get("stage", ""), typed.get("key", ""))
    return see_other(_back(typed), said)


@router.post("/undo")
def undo(db: Db, typed: Typed) -> Response:
    said = take_back(db, typed.get("flasks", ""), typed.get("stage", ""), typed.get("key", ""))
    return see_other(_back(typed), said)


def _back(typed: dict[str, str]) -> str:
    """To the day that the form came from; a day that is none leads to today."""
    try:
        return f"/today?day={date.fromisoformat(typed.get('day', '')).isoformat()}"
    except ValueError:
        return "/today"


def _checks(session: Session, desk: Desk, tasks: tuple[Task, ...]) -> dict[str, tuple[CheckLink, ...]]:
    """What is still to be done calls for a checklist; a load's flasks share theirs."""
    wanted = {task.key: [(task.flask.id, pause) for pause in GATES.get(task.before, ())] for task in tasks if not task.done}
    found = stand_all(session, desk, [pair for pairs in wanted.values() for pair in pairs])
    contexts = {task.flask.id: context_of_flask(desk.problem, task.flask) for task in tasks if wanted.get(task.key)}
    return {
        key: tuple(check_link(name, contexts[name], found[name, pause][1]) for name, pause in pairs)
        for key, pairs in wanted.items()
    }


def _page(
    desk: Desk,
    day: date,
    tasks: tuple[Task, ...],
    checks: dict[str, tuple[CheckLink, ...]],
    recorded: Recorded,
    stamp: str,
    now: int,
) -> TodayPage:
    problem, plan = desk.problem, desk.plan
    moment = datetime.fromtimestamp(now / 1000, UTC)
    busy = _busy_days(desk)
    mixes = {f.id: flask_mix(problem, f) for task in tasks for f in task.flasks}
    return TodayPage(
        title=say("Today") if day == desk.now.date() else formats.weekday(day),
        day=day,
        is_today=day == desk.now.date(),
        before=day - timedelta(days=1),
        after=day + timedelta(days=1),
        days=busy,
        tasks=tasks,
        alloys={f.id: alloy_name(problem, f) for task in tasks for f in task.flasks},
        names=_names(desk),
        mixes={flask: mix for flask, mix in mixes.items() if mix is not None},
        axis=day_axis(problem, plan, day, desk.minute) if plan and tasks else None,
        key=secrets.token_urlsafe(12),
        why_empty=_why_empty(desk, day, busy),
        jobs=len(desk.week.jobs),
        planned=plan is not None,
        waits=waits(problem, plan, recorded, moment) if plan and day == desk.now.date() else (),
        checks=checks,
        address=f"/today?day={day.isoformat()}" if day != desk.now.date() else "/today",
        stamp=stamp,
        now=now,
        local=desk.local,
        ends=lambda local: int(local.replace(tzinfo=ZoneInfo(problem.clock.timezone)).timestamp() * 1000),
    )


def _busy_days(desk: Desk) -> tuple[date, ...]:
    """The days from yesterday on with work in the plan."""
    if desk.plan is None:
        return ()
    clock = desk.problem.clock
    minutes = [m for f in desk.plan.flasks for m in (f.invest_start, f.cast_start, f.knockout_start)]
    minutes += [m for load in desk.plan.loads for m in (load.load_at, load.start)]
    since = desk.now.date() - timedelta(days=1)
    return tuple(sorted({day for day in map(clock.day_of, minutes) if day >= since}))


def _why_empty(desk: Desk, day: date, busy: tuple[date, ...]) -> str:
    if desk.plan is None:
        return say("There is no plan yet, so there is no queue.")
    open_day = next((d for d in desk.problem.days if d.date == day.isoformat()), None)
    if open_day is not None and open_day.opens is None:
        return say("The shop is closed on this day, and the plan has nothing to do on it.")
    later = next((d for d in busy if d > day), None)
    if later:
        return say("The plan has nothing to do on this day.")
    return say("The plan has nothing to do on this day. Everything in it is done earlier.")


def _names(desk: Desk) -> dict[str, str]:
    shop = desk.problem.shop
    names = {m.id: m.name for m in shop.machines} | {p.id: p.name for p in shop.programs}
    names |= {s.id: s.name for s in shop.sizes} | {p.id: p.name for p in shop.people}
    return names | {k.id: k.name for k in shop.kilns}
