"""What if: try changes, see both weeks, keep one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, Response

from domain.errors import DomainError
from domain.saying import listed, say
from domain.shop.jobs import Job
from webapp.actions import what_if as actions
from webapp.actions.hand_made import hand_made
from webapp.actions.planning import load_desk
from webapp.actions.references import choices as nameable
from webapp.actions.what_if import SECONDS, TRYING, WrongField
from webapp.exchange.documents import JobDocument
from webapp.forms import Form, form_of
from webapp.pages import Page, Part, answer, see_other, wants_part
from webapp.routes.edge import Db, TheSettings, Typed
from webapp.solving.runner import Runner, SolveState
from webapp.solving.trials import Trial, Trials
from webapp.store.week import held_back
from webapp.views import what_if as view
from webapp.views.week import LevelLine, level_lines
from webapp.views.what_if import Choices, TwoWeeks

router = APIRouter(prefix="/what-if")


def _runner(request: Request) -> Runner:
    runner: Runner = request.app.state.runner
    return runner


def _trials(request: Request) -> Trials:
    trials: Trials = request.app.state.trials
    return trials


TheRunner = Annotated[Runner, Depends(_runner)]
TheTrials = Annotated[Trials, Depends(_trials)]


@dataclass(frozen=True, kw_only=True)
class TryingPart(Part):
    """How far the planner is with the trial. ``live``: levels of its best plan so far."""

    template: ClassVar[str] = "what_if/_trying.html"

    solve: SolveState
    live: tuple[LevelLine, ...]
    words: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class WhatIfPage(Page):
    """``trial``: the key of one that can be kept, with ``weeks`` side by side; ``base``: the version of the
    plan it is compared with. ``undone``: flasks changed by hand that are not so with the change. ``typed`` and
    ``errors`` by field."""

    template: ClassVar[str] = "what_if/what_if.html"
    here: ClassVar[str] = "week"

    planned: bool
    solve: SolveState
    live: tuple[LevelLine, ...]
    words: tuple[str, ...]
    trial: str
    base: int
    weeks: TwoWeeks | None
    undone: tuple[str, ...]
    currency: str
    choices: Choices
    form: Form
    typed: Mapping[str, str]
    errors: Mapping[str, str]
    error: str
    seconds: int = SECONDS


@router.get("")
def what_if(request: Request, db: Db, settings: TheSettings) -> HTMLResponse:
    return _page(request, db, settings, dict(request.query_params))


@router.get("/trying")
def trying(request: Request, runner: TheRunner, trials: TheTrials) -> Response:
    """The state of the run, asked for again and again. When it has ended, the page is loaded anew."""
    state = runner.state(TRYING)
    if not wants_part(request):
        return see_other("/what-if")
    if not state.busy:
        return Response(headers={"HX-Redirect": "/what-if", "Cache-Control": "no-store"})
    return answer(request, TryingPart(solve=state, live=_live(state), words=_words(trials.current)))


@router.post("/try")
def begin(request: Request, db: Db, settings: TheSettings, runner: TheRunner, trials: TheTrials, typed: Typed) -> Response:
    try:
        actions.begin(db, runner, trials, settings, typed)
    except DomainError as error:
        return _page(request, db, settings, typed, error)
    return see_other("/what-if")


@router.post("/stop")
def stop(runner: TheRunner) -> Response:
    runner.stop(TRYING)
    return see_other("/what-if")


@router.post("/keep")
def keep(request: Request, db: Db, settings: TheSettings, trials: TheTrials, typed: Typed) -> Response:
    try:
        kept = actions.keep(db, settings, trials, typed.get("trial", ""))
    except DomainError as error:
        return _page(request, db, settings, {}, error)
    return see_other("/week", say("Kept: {changes}. The shop and the plan are changed.", changes=listed(kept, "; ")))


@router.post("/drop")
def drop(runner: TheRunner, trials: TheTrials) -> Response:
    runner.stop(TRYING)
    trials.begin(None)
    return see_other("/what-if", say("The trial is given up. Nothing was changed."))


def _live(state: SolveState) -> tuple[LevelLine, ...]:
    return level_lines(state.step.levels, {}) if state.step else ()


def _words(trial: Trial | None) -> tuple[str, ...]:
    return trial.words if trial else ()


def _page(
    request: Request, db: Db, settings: TheSettings, typed: Mapping[str, str], error: DomainError | None = None
) -> HTMLResponse:
    state, trial = _runner(request).state(TRYING), _trials(request).current
    errors = error.errors if isinstance(error, WrongField) else {}
    with db.read() as session:
        desk = load_desk(session, settings)
        held = held_back(session, desk.now)
        by_hand = hand_made(session)
        texts = {"ready": desk.now.date().isoformat(), "weight": "1", "may_split": "on", **typed}
        form = form_of(JobDocument, texts, errors, nameable(session, Job))
    done = trial if trial and trial.after and not state.busy else None
    weeks = view.two_weeks(done.before, done.after) if done and done.after else None
    page = WhatIfPage(
        title=say("What if"),
        planned=desk.stored is not None,
        solve=state,
        live=_live(state),
        words=_words(trial),
        trial=done.key if done else "",
        base=trial.base if trial else 0,
        weeks=weeks,
        undone=tuple(m.flask for m in weeks.moved if m.flask in by_hand.flasks) if weeks and by_hand else (),
        currency=desk.problem.rules.currency,
        choices=view.choices(desk.week.shop, desk.week.jobs, held),
        form=form,
        typed=typed,
        errors=errors,
        error=str(error) if error else "",
    )
    return answer(request, page, 422 if error else 200)
