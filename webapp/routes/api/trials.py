"""What if, for other software: try changes, compare both weeks, keep one."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from fastapi.responses import Response

from domain.week.side_by_side import Comparison, side_by_side
from webapp.actions import what_if as actions
from webapp.actions.what_if import TRYING, WrongField
from webapp.exchange.api.base import Done
from webapp.exchange.api.trials import (
    JobBesideDocument,
    KeepTrial,
    OrderBesideDocument,
    SideBySideDocument,
    TrialState,
    TrialWanted,
)
from webapp.exchange.documents import JobDocument
from webapp.exchange.plan import LevelDocument
from webapp.forms import typed_from
from webapp.problems import Refused
from webapp.routes.api.common import noun, told
from webapp.routes.edge import Db, TheSettings
from webapp.routes.what_if import TheRunner, TheTrials
from webapp.solving.runner import AlreadyPlanning, Runner
from webapp.solving.trials import Trials

router = noun("/trial", "What if", changes_once=False)


@router.get("", response_model=TrialState, summary="Look how far a trial is, and at both weeks side by side")
def state(runner: TheRunner, trials: TheTrials) -> Response:
    return told(_state(runner, trials))


@router.post("", status_code=202, response_model=TrialState, summary="Try changes on the week; nothing is saved")
def begin(db: Db, settings: TheSettings, runner: TheRunner, trials: TheTrials, body: TrialWanted) -> Response:
    try:
        actions.begin(db, runner, trials, settings, dict(_typed(body)))
    except WrongField as error:
        raise Refused(422, f"Nothing is tried: {'; '.join(error.errors.values())}", errors=error.errors) from None
    except AlreadyPlanning as error:
        raise Refused(409, str(error)) from None
    return told(_state(runner, trials), 202)


@router.post("/keep", response_model=Done, summary="Make the changes that were tried, and take the plan that goes with them")
def keep(db: Db, settings: TheSettings, trials: TheTrials, body: KeepTrial) -> Response:
    kept = actions.keep(db, settings, trials, body.key)
    return told(Done(said=f"Kept: {'; '.join(kept)}."))


@router.delete("", response_model=Done, summary="Give the trial up")
def drop(runner: TheRunner, trials: TheTrials) -> Response:
    runner.stop(TRYING)
    trials.begin(None)
    return told(Done(said="The trial is given up. Nothing was changed."))


def _typed(body: TrialWanted) -> Iterator[tuple[str, str]]:
    """As the form of the page sends it."""
    if body.night:
        yield from (("night", body.night.kiln), ("night_day", body.night.day or ""))
    if body.down:
        yield from (("down", body.down.kiln), ("down_first", body.down.first), ("down_last", body.down.last))
    if body.flasks:
        yield from (("flask", body.flasks.size), ("flask_count", f"{body.flasks.count}"))
    if body.away:
        yield from (("away", body.away.person), ("away_first", body.away.first), ("away_last", body.away.last))
    if body.works:
        yield from (("works", body.works.person), ("works_day", body.works.day))
    if body.longer:
        yield from (("overtime", f"{body.longer.minutes} min"), ("overtime_day", body.longer.day or ""))
    if body.metal:
        yield from (("metal", body.metal.metal), ("metal_day", body.metal.day))
    if body.alloy:
        yield from (("melt", body.alloy.alloy), ("melt_day", body.alloy.day))
    yield from _typed_of_jobs(body)
    alone = {"back": body.back, "kiln_like": body.kiln_like, "machine_like": body.machine_like, "ahead": body.ahead}
    yield from ((name, f"{value}") for name, value in alone.items() if value is not None)


def _typed_of_jobs(body: TrialWanted) -> Iterator[tuple[str, str]]:
    if body.job:
        yield from typed_from(JobDocument, body.job.to_domain()).items()
    if body.patterns:
        yield from (("patterns", body.patterns.job), ("patterns_day", body.patterns.day))
    if body.agreed:
        yield from (("agreed", body.agreed.job), ("agreed_day", body.agreed.day))
    alone = {"take": body.take, "put_off": body.put_off, "split": body.split}
    yield from ((name, value) for name, value in alone.items() if value is not None)


def _state(runner: Runner, trials: Trials) -> TrialState:
    state, trial = runner.state(TRYING), trials.current
    done = trial if trial and trial.after and not state.busy else None
    return TrialState(
        phase=state.phase,
        busy=state.busy,
        message=state.message,
        changes=trial.words if trial else (),
        key=done.key if done else "",
        weeks=_beside(side_by_side(done.before, done.after)) if done and done.after else None,
    )


def _beside(found: Comparison) -> SideBySideDocument:
    levels = tuple((LevelDocument.from_domain(before), LevelDocument.from_domain(after)) for before, after in found.levels)
    jobs = (
        JobBesideDocument(
            job=one.job,
            name=one.name,
            done=(_day(one.done[0]), _day(one.done[1])),
            days_late=one.late,
            pieces_left_out=one.out,
        )
        for one in found.jobs
    )
    return SideBySideDocument(
        levels=levels,
        jobs=tuple(jobs),
        flasks=found.flasks,
        loads=found.loads,
        orders=tuple(OrderBesideDocument(metal=one.metal, name=one.name, mass=one.mass) for one in found.orders),
        hands=found.hands,
        moved=tuple(one.flask for one in found.moved),
        steady=found.steady,
    )


def _day(day: date | None) -> str | None:
    return day.isoformat() if day else None
