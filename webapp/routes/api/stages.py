"""The floor for other software: what each stage asks, recording it, pieces and recasts, taking a step back."""

from __future__ import annotations

from fastapi import HTTPException
from fastapi.responses import Response

from domain.floor.stages import Stage, missing
from domain.floor.work import work_for
from webapp.actions import floor as actions
from webapp.actions import stages
from webapp.actions.planning import load_desk
from webapp.actions.stages import Unsure, WrittenOtherwise, Wrong
from webapp.exchange.api.base import Done
from webapp.exchange.api.floor import (
    AskedDocument,
    FlaskRecord,
    Looked,
    RecastWanted,
    RecordDocument,
    StageAsked,
    StageDone,
    StageName,
    TakenBack,
)
from webapp.problems import Refused
from webapp.routes.api.common import Key, Number, noun, told
from webapp.routes.api.flasks import planned
from webapp.routes.doors import TheWho
from webapp.routes.edge import Db, TheSettings
from webapp.store import floor
from webapp.store.floor import Happened

router = noun("/flasks", "Floor")


@router.get("/{key}/stages/{stage}", response_model=StageAsked, summary="Read what a stage asks before it is recorded")
def asked(db: Db, settings: TheSettings, key: Key, stage: StageName) -> Response:
    with db.read() as session:
        desk = load_desk(session, settings)
        planned(desk, key)
        standing = floor.happened_to(session, key)
    work = work_for(actions.on_the_floor(desk, key), Stage(stage), actions.before_of(standing))
    asks = (
        AskedDocument(
            name=a.name, label=a.label, kind=a.kind, required=a.required, says=a.says, choices=tuple(work.choices.get(a.name, ()))
        )
        for a in work.asks
    )
    waits = missing(Stage(stage), [one.stage for one in standing])
    return told(StageAsked(stage=stage, asks=tuple(asks), waits=waits or ""))


@router.post("/{key}/stages", status_code=201, response_model=Done, summary="Record that a stage has happened")
def record(db: Db, settings: TheSettings, who: TheWho, key: Key, body: StageDone) -> Response:
    with db.write() as session:
        desk = load_desk(session, settings)
        planned(desk, key)
        try:
            said = stages.record(session, desk, key, Stage(body.stage), body.readings, sure=body.sure, who=who.name)
        except Wrong as error:
            wrong = {f"readings.{name}": text for name, text in error.errors.items()}
            raise Refused(422, f"Nothing was recorded: {error}", errors=wrong) from None
        except Unsure as error:
            raise Refused(409, str(error), kind="sure", sure=error.sure) from None
        except WrittenOtherwise as error:
            raise Refused(409, str(error), kind="overtaken") from None
    return told(Done(said=said), 201)


@router.get("/{key}/record", response_model=FlaskRecord, summary="Read everything that was recorded of a flask")
def everything(db: Db, key: Key) -> Response:
    with db.read() as session:
        rows, last = floor.everything(session, key), actions.last_step(session, key)
        if not rows and not actions.is_known(session, key):
            raise HTTPException(404)
    return told(FlaskRecord(flask=key, items=tuple(map(_document, rows)), last=last.mark if last else ""))


@router.post("/{key}/record/undo", response_model=Done, summary="Take the last step back; both stay in the record")
def undo(db: Db, settings: TheSettings, who: TheWho, key: Key, body: TakenBack) -> Response:
    with db.write() as session:
        what = actions.undo_last(session, load_desk(session, settings), key, body.last, who=who.name)
    return told(Done(said=f"{key}: “{what}” is taken back; both stay in the record."))


@router.post("/{key}/pieces", status_code=201, response_model=Done, summary="Record pieces as passed or miscast")
def look(db: Db, who: TheWho, key: Key, body: Looked) -> Response:
    with db.write() as session:
        row = actions.look_at(session, key, body.job, body.pieces, body.outcome, who=who.name, note=body.note, key="")
    words = f"miscast: record row {row}" if body.outcome else "passed"
    return told(Done(said=f"{body.pieces} of {body.job} {words}."), 201)


@router.post("/{key}/recasts/{number}", status_code=201, response_model=Done, summary="Cast miscast pieces again")
def recast(db: Db, who: TheWho, key: Key, number: Number, body: RecastWanted) -> Response:
    with db.write() as session:
        found = next((one for one in actions.miscasts(floor.happened_to(session, key)) if one.row.id == number), None)
        if found is None:
            raise HTTPException(404)
        job = actions.recast(session, key, found, quantity=body.quantity, ready=body.ready, due=body.due, who=who.name)
    return told(Done(said=f"{job} casts them again. The next plan finds a place for it."), 201)


def _document(one: Happened) -> RecordDocument:
    return RecordDocument(
        number=one.id,
        stage=one.stage,
        at=one.at.isoformat(timespec="seconds"),
        who=one.who,
        note=one.note,
        readings=dict(one.readings),
        pieces=dict(one.pieces),
        takes_back=one.takes_back,
    )
