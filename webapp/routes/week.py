"""The week: what is late first, then flasks, loads and levels; planning and replanning."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, Response

from domain.errors import DomainError
from domain.planning.check import Violation
from domain.planning.plan import Plan
from domain.saying import say
from webapp.actions import hand_made, planning
from webapp.actions.hand_made import HandMade
from webapp.actions.planning import LONGEST, SHOP, SHORTEST, USUAL, Desk
from webapp.pages import Page, Part, answer, see_other, wants_part
from webapp.routes.downloads import table_file
from webapp.routes.edge import Db, TheSettings, Typed
from webapp.solving.runner import Runner, SolveState
from webapp.store.plans import current_plan
from webapp.views import week as view
from webapp.views.axis import Axis, day_axis, days_used, week_axis
from webapp.views.metal import OrderLine, order_lines
from webapp.views.tables import flask_records
from webapp.views.tree import FloorDrawing, floor_drawing
from webapp.views.week import FlaskDay, LateJob, LeftOutJob, LevelLine, LoadLine

router = APIRouter()


def _runner(request: Request) -> Runner:
    runner: Runner = request.app.state.runner
    return runner


TheRunner = Annotated[Runner, Depends(_runner)]


@dataclass(frozen=True, kw_only=True)
class SolvePart(Part):
    """``planned``: there is a plan already. ``fresh``: the run led to the current plan. ``live``: levels
    of the best plan so far."""

    template: ClassVar[str] = "week/_solve.html"

    solve: SolveState
    planned: bool
    fresh: bool = False
    live: tuple[LevelLine, ...]
    seconds: str
    shortest: int = SHORTEST
    longest: int = LONGEST
    error: str = ""
    anew: bool = False


@dataclass(frozen=True, kw_only=True)
class Made:
    """Of the current plan: its version, when (local time) and by whom it was made, its age in
    minutes, and what was noted with it."""

    version: int
    at: datetime
    by: str
    age: int
    seconds: float
    note: str
    notes: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class WeekPage(Page):
    """``stale``: in words, what changed in the jobs since the plan was made; ``broken``: rules that it breaks with the
    shop of today; ``overdue``: flasks that should have been invested by now. ``zoomed``: the one of ``axis_days`` that
    the axis shows alone, none for the whole week."""

    template: ClassVar[str] = "week/week.html"
    here: ClassVar[str] = "week"

    jobs: int
    solve: SolveState
    planned: bool
    fresh: bool = False
    live: tuple[LevelLine, ...]
    seconds: str
    shortest: int = SHORTEST
    longest: int = LONGEST
    error: str = ""
    anew: bool = False
    made: Made | None
    stale: tuple[str, ...]
    broken: tuple[Violation, ...]
    overdue: tuple[str, ...]
    late: tuple[LateJob, ...]
    left_out: tuple[LeftOutJob, ...]
    orders: tuple[OrderLine, ...]
    days: tuple[FlaskDay, ...]
    loads: tuple[LoadLine, ...]
    floors: dict[str, FloorDrawing] = field(default_factory=dict)
    axis: Axis | None
    axis_days: tuple[date, ...]
    zoomed: date | None
    levels: tuple[LevelLine, ...]


@dataclass(frozen=True, kw_only=True)
class HandMadePage(Page):
    """Asks before a plan made by hand is planned over. ``seconds`` as typed; ``anew`` as chosen."""

    template: ClassVar[str] = "week/hand_made.html"
    here: ClassVar[str] = "week"

    moves: HandMade
    seconds: str
    anew: bool


@router.get("/week")
def week(request: Request, db: Db, settings: TheSettings, runner: TheRunner, day: str = "") -> HTMLResponse:
    """``day``: which the time axis shows alone."""
    with db.read() as session:
        desk = planning.load_desk(session, settings)
    return answer(request, _page(desk, runner.state(SHOP), day=day))


@router.get("/week/flasks.{form}")
def flasks_as_file(db: Db, settings: TheSettings, form: str) -> Response:
    with db.read() as session:
        desk = planning.load_desk(session, settings)
    days = view.flask_days(desk.problem, desk.open_plan, desk.pins, desk.stages)
    return table_file(flask_records(days), "flasks", form)


@router.get("/week/solve")
def solve(request: Request, db: Db, runner: TheRunner) -> Response:
    """The state of the run, asked for again and again. When it has ended, the page is loaded anew."""
    state = runner.state(SHOP)
    if not wants_part(request):
        return see_other("/week")
    if not state.busy:
        return Response(headers={"HX-Redirect": "/week", "Cache-Control": "no-store"})
    with db.read() as session:
        planned = current_plan(session) is not None
    return answer(request, SolvePart(solve=state, planned=planned, live=_live(state), seconds=str(USUAL)))


@router.post("/week/plan")
def plan(request: Request, db: Db, settings: TheSettings, runner: TheRunner, typed: Typed) -> Response:
    try:
        seconds = _seconds(typed.get("seconds", ""))
        wish = typed.get("by_hand", "")
        moves = hand_made.question(db, wish)
        if moves is not None:
            page = HandMadePage(title=say("Plan again?"), moves=moves, seconds=typed.get("seconds", ""), anew=_anew(typed))
            return answer(request, page, 409)
        with hand_made.kept(db, wish):
            planning.start_planning(db, runner, settings, seconds, anew=_anew(typed))
    except DomainError as error:
        with db.read() as session:
            desk = planning.load_desk(session, settings)
        again = _page(desk, runner.state(SHOP), error=str(error), seconds=typed.get("seconds", ""), anew=_anew(typed))
        return answer(request, again, 422)
    return see_other("/week#planning")


@router.post("/week/stop")
def stop(runner: TheRunner) -> Response:
    runner.stop(SHOP)
    return see_other("/week#planning")


def _anew(typed: dict[str, str]) -> bool:
    """Whether what people have read may be moved for a cheaper plan."""
    return typed.get("how", "") == "anew"


def _seconds(text: str) -> float:
    try:
        seconds = float(text.strip().replace(",", ".") or USUAL)
    except ValueError:
        raise DomainError(say("“{text}” is not a number of seconds.", text=text)) from None
    if not SHORTEST <= seconds <= LONGEST:
        raise DomainError(say("Give the planner {shortest} to {longest} seconds.", shortest=SHORTEST, longest=LONGEST))
    return seconds


def _live(state: SolveState) -> tuple[LevelLine, ...]:
    return view.level_lines(state.step.levels, {}) if state.step else ()


def _page(desk: Desk, state: SolveState, *, error: str = "", seconds: str = "", anew: bool = False, day: str = "") -> WeekPage:
    shown = desk.open_plan
    problem = desk.problem
    days = days_used(problem, shown)
    zoomed = next((one for one in days if one.isoformat() == day), None)
    planned = desk.stored is not None
    return WeekPage(
        title=say("Week"),
        jobs=len(desk.week.jobs),
        solve=state,
        planned=planned,
        fresh=desk.stored is not None and state.version == desk.stored.version,
        live=_live(state),
        seconds=seconds or str(USUAL),
        error=error,
        anew=anew,
        made=_made(desk),
        stale=view.job_changes(shown, desk.week.jobs) if planned else (),
        broken=planning.broken_now(desk) if planned else (),
        overdue=planning.overdue(desk),
        late=view.late_jobs(problem, shown, desk.findings.late),
        left_out=view.left_out_jobs(problem, shown, desk.findings.out),
        orders=order_lines(problem, shown, desk.now.date()),
        days=view.flask_days(problem, shown, desk.pins, desk.stages),
        loads=view.load_lines(problem, shown),
        floors=_floors(desk, shown),
        axis=_axis(desk, zoomed),
        axis_days=days,
        zoomed=zoomed,
        levels=view.level_lines(shown.levels, planning.by_hand_levels(desk.stored.note)) if desk.stored else (),
    )


def _axis(desk: Desk, zoomed: date | None) -> Axis | None:
    if not desk.open_plan.flasks:
        return None
    if zoomed is None:
        return week_axis(desk.problem, desk.open_plan, desk.minute)
    return day_axis(desk.problem, desk.open_plan, zoomed, desk.minute)


def _made(desk: Desk) -> Made | None:
    if desk.stored is None or desk.made_at is None:
        return None
    note = "" if desk.stored.note.startswith("by hand: ") else desk.stored.note
    stored = desk.stored
    return Made(
        version=stored.version,
        at=desk.made_at,
        by=stored.made_by,
        age=planning.age(desk),
        seconds=stored.plan.seconds,
        note=note,
        notes=stored.plan.notes,
    )


def _floors(desk: Desk, plan: Plan) -> dict[str, FloorDrawing]:
    flasks = {f.id: f for f in plan.flasks}
    drawings = ((load.id, floor_drawing(desk.problem, load, flasks)) for load in plan.loads)
    return {load: drawing for load, drawing in drawings if drawing is not None}
