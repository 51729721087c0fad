"""The plan of the week for other software: read it, make it, wait for it."""

from __future__ import annotations

import time
from typing import Annotated

import anyio
from fastapi import HTTPException, Query, Request
from fastapi.responses import Response

from webapp.actions import exchange, hand_made, planning
from webapp.actions.planning import SHOP
from webapp.exchange.api.planning import CurrentPlan, PlanningState, PlanningWanted
from webapp.exchange.documents import PlanDocument, WeekDocument
from webapp.exchange.plan import LevelDocument
from webapp.problems import Refused
from webapp.routes.api.common import noun, told
from webapp.routes.edge import Db, TheSettings
from webapp.routes.week import TheRunner
from webapp.solving.runner import AlreadyPlanning, SolveState
from webapp.views import week as view

router = noun("/plan", "Plan", changes_once=False)
week = noun("/week", "Plan")
LONGEST_WAIT = 60
WAITED = 0.2
"""seconds between two looks at the planner"""

Wait = Annotated[float, Query(ge=0, le=LONGEST_WAIT, description="Wait so long for the planner to end, in seconds")]


@router.get("", response_model=CurrentPlan, summary="Read the current plan")
def current(db: Db, settings: TheSettings) -> Response:
    with db.read() as session:
        desk = planning.load_desk(session, settings)
    if desk.stored is None or desk.made_at is None:
        raise HTTPException(404)
    document = PlanDocument.of(desk.stored.plan, desk.stored.clock)
    stale = view.job_changes(desk.open_plan, desk.week.jobs)
    made_at = desk.made_at.isoformat(timespec="minutes")
    return told(CurrentPlan(version=desk.version, made_at=made_at, stale=stale, plan=document))


@router.post("/planning", status_code=202, response_model=PlanningState, summary="Start to plan the week")
def start(db: Db, settings: TheSettings, runner: TheRunner, body: PlanningWanted) -> Response:
    moves = hand_made.question(db, body.by_hand)
    if moves is not None:
        detail = (
            f"These moves were made by hand: {'; '.join(moves.moves)}. Send by_hand “keep” to pin them, “lose” to plan over them."
        )
        raise Refused(409, detail, kind="by-hand")
    try:
        with hand_made.kept(db, body.by_hand):
            return told(_state(planning.start_planning(db, runner, settings, body.seconds, anew=body.anew)), 202)
    except AlreadyPlanning as error:
        raise Refused(409, str(error)) from None


@router.get("/planning", response_model=PlanningState, summary="Look how far the planner is, or wait for it")
async def state(request: Request, runner: TheRunner, wait: Wait = 0) -> Response:
    """Not held in a thread, so that many may wait at once."""
    until = time.monotonic() + wait
    while runner.state(SHOP).busy and time.monotonic() < until and not await request.is_disconnected():
        await anyio.sleep(WAITED)
    return told(_state(runner.state(SHOP)))


@router.delete("/planning", response_model=PlanningState, summary="Stop the planner and keep its best plan")
def stop(runner: TheRunner) -> Response:
    return told(_state(runner.stop(SHOP)))


@week.get("", response_model=WeekDocument, summary="Read the whole week in one document: shop, stock, jobs, plan")
def document(db: Db, settings: TheSettings) -> Response:
    return told(exchange.week_document(db, settings))


def _state(state: SolveState) -> PlanningState:
    step = state.step
    return PlanningState(
        phase=state.phase,
        busy=state.busy,
        limit=state.limit,
        elapsed=round(state.elapsed, 1),
        stage=step.stage if step else "",
        levels=tuple(LevelDocument.from_domain(level) for level in step.levels) if step else (),
        message=state.message,
        version=state.version,
    )
