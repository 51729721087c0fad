"""The guided set-up of a new shop."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import Response

from domain.saying import say
from domain.shop.jobs import Job
from webapp.actions import setup as actions
from webapp.pages import Page, answer, see_other
from webapp.routes.edge import Db, Typed
from webapp.setup_steps import BY_STEP, STEPS, Step
from webapp.store import nouns, plans, setup
from webapp.store.engine import Session
from webapp.views.setup import Thing, next_step, things

router = APIRouter(prefix="/setup")


@dataclass(frozen=True, kw_only=True)
class SetupPage(Page):
    """``gone``: by step, saved or skipped. ``jobs``: how many there are. ``next``: where to go on, none at the end."""

    template: ClassVar[str] = "setup/overview.html"
    here: ClassVar[str] = "shop"

    steps: tuple[Step, ...] = STEPS
    gone: dict[str, str]
    next: Step | None
    jobs: int
    planned: bool


@dataclass(frozen=True, kw_only=True)
class StepPage(Page):
    template: ClassVar[str] = "setup/step.html"
    here: ClassVar[str] = "shop"

    steps: tuple[Step, ...] = STEPS
    gone: dict[str, str]
    step: Step
    number: int
    things: tuple[Thing, ...]
    error: str
    wrong: int


@router.get("")
def overview(request: Request, db: Db) -> Response:
    with db.read() as session:
        gone = setup.gone_through(session)
        page = SetupPage(
            title=say("Set up your shop"),
            gone=gone,
            next=next_step(gone),
            jobs=len(nouns.all_stored(session, Job)),
            planned=plans.current_plan(session) is not None,
        )
    return answer(request, page)


@router.get("/{slug}")
def step(request: Request, db: Db, slug: str) -> Response:
    with db.read() as session:
        return _show(request, session, _step(slug), {}, {})


@router.post("/{slug}")
def save(request: Request, db: Db, slug: str, typed: Typed) -> Response:
    chosen = _step(slug)
    try:
        with db.write() as session:
            actions.save(session, chosen, typed)
    except actions.NotSaved as error:
        with db.read() as session:
            return _show(request, session, chosen, typed, error.errors)
    return _onward(chosen, say("{step}: saved.", step=chosen.title))


@router.post("/{slug}/skip")
def skip(db: Db, slug: str) -> Response:
    chosen = _step(slug)
    with db.write() as session:
        actions.skip(session, chosen)
    return _onward(chosen, say("{step}: skipped. The starting values stay until you change them.", step=chosen.title))


def _step(slug: str) -> Step:
    if slug not in BY_STEP:
        raise HTTPException(404)
    return BY_STEP[slug]


def _onward(step: Step, said: str) -> Response:
    after = STEPS[STEPS.index(step) + 1 :]
    return see_other(f"/setup/{after[0].slug}" if after else "/setup", said)


def _show(request: Request, session: Session, step: Step, typed: Mapping[str, str], errors: Mapping[str, str]) -> Response:
    page = StepPage(
        title=step.title,
        step=step,
        number=STEPS.index(step) + 1,
        gone=setup.gone_through(session),
        things=things(step, actions.things_of(session, step), typed, errors),
        error=errors.get("", ""),
        wrong=len(errors),
    )
    return answer(request, page, 422 if errors else 200)
