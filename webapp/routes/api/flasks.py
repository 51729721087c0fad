"""Flasks for other software: where they stand, and moving them by hand."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated

from fastapi import HTTPException, Query
from fastapi.responses import Response

from domain.planning.plan import Level, PlannedFlask
from webapp.actions import flask as actions
from webapp.actions.flask import Move, Tried, WantedSlot
from webapp.actions.planning import Desk, load_desk
from webapp.exchange.api.floor import FlaskDocument, FlaskList
from webapp.exchange.api.planning import MoveTried, MoveWanted, PinWanted
from webapp.exchange.api.trials import PlaceDocument, PlaceList, SlotDocument, SlotList, SlotWanted
from webapp.exchange.plan import LevelDocument
from webapp.problems import Refused
from webapp.routes.api.common import Key, noun, told
from webapp.routes.edge import Db, TheSettings

OfJob = Annotated[str, Query(max_length=200, description="Id of the job")]
OfPieces = Annotated[int, Query(ge=1, le=1_000_000, description="How many of its pieces move")]

router = noun("/flasks", "Flasks")
moving = noun("/flasks", "Moves by hand")


@router.get("", response_model=FlaskList, summary="List the flasks of the current plan")
def listing(db: Db, settings: TheSettings) -> Response:
    with db.read() as session:
        desk = load_desk(session, settings)
    flasks = sorted(desk.plan.flasks if desk.plan else (), key=lambda flask: (flask.cast_start, flask.id))
    return told(FlaskList(version=desk.version, items=tuple(_document(desk, flask) for flask in flasks)))


@router.get("/{key}", response_model=FlaskDocument, summary="Read a flask")
def read(db: Db, settings: TheSettings, key: Key) -> Response:
    with db.read() as session:
        desk = load_desk(session, settings)
    return told(_document(desk, planned(desk, key)))


@moving.post("/{key}/moves/try", response_model=MoveTried, summary="Ask the checker about a move; nothing is saved")
def try_move(db: Db, settings: TheSettings, key: Key, body: MoveWanted) -> Response:
    with db.read() as session:
        desk = load_desk(session, settings)
    planned(desk, key)
    return told(_tried(actions.try_move(desk, _move(key, body))))


@moving.post("/{key}/moves", response_model=MoveTried, summary="Move pieces to another flask")
def keep_move(db: Db, settings: TheSettings, key: Key, body: MoveWanted) -> Response:
    with db.whole() as session:
        desk = load_desk(session, settings)
        planned(desk, key)
        if desk.version != body.version:
            raise Refused(409, "Nothing was moved: there is a newer plan than the one that you read.", version=desk.version)
        answer = _tried(actions.keep_move(db, settings, _move(key, body), body.version))
    if not answer.allowed:
        raise Refused(422, f"Nothing was moved: {answer.trouble or '; '.join(answer.broken)}")
    return told(answer)


@moving.get("/{key}/places", response_model=PlaceList, summary="Find the best other places for pieces of a flask")
def places(db: Db, settings: TheSettings, key: Key, job: OfJob, pieces: OfPieces) -> Response:
    with db.read() as session:
        desk = load_desk(session, settings)
    planned(desk, key)
    found = actions.places_for(desk, Move(job=job, pieces=pieces, from_flask=key, to=None))
    items = (PlaceDocument(to=one.to, load=one.load, flask=one.new, cost=_levels(one.cost)) for one in found)
    return told(PlaceList(version=desk.version, items=tuple(items)))


@moving.get("/{key}/slots", response_model=SlotList, summary="Find the best other slots for a whole flask")
def slots(db: Db, settings: TheSettings, key: Key) -> Response:
    with db.read() as session:
        desk = load_desk(session, settings)
    planned(desk, key)
    clock = desk.problem.clock
    items = (
        SlotDocument(
            load=one.load,
            machine=one.machine,
            cast_start=one.cast_start,
            cast_at=clock.local(one.cast_start).isoformat(timespec="minutes"),
            cost=_levels(one.cost),
        )
        for one in actions.slots_for(desk, key)
    )
    return told(SlotList(version=desk.version, items=tuple(items)))


@moving.put("/{key}/slot", response_model=FlaskDocument, summary="Give a flask another slot")
def slot(db: Db, settings: TheSettings, key: Key, body: SlotWanted) -> Response:
    with db.whole() as session:
        desk = load_desk(session, settings)
        planned(desk, key)
        if desk.version != body.version:
            raise Refused(409, "Nothing was moved: there is a newer plan than the one that you read.", version=desk.version)
        wanted = WantedSlot(load=body.load, machine=body.machine, cast_start=body.cast_start)
        actions.keep_slot(db, settings, key, wanted, body.version)
        desk = load_desk(session, settings)
    return told(_document(desk, planned(desk, key)))


@moving.put("/{key}/pin", response_model=FlaskDocument, summary="Pin a flask: plans leave it where it is")
def pin(db: Db, settings: TheSettings, key: Key, body: PinWanted) -> Response:
    with db.whole() as session:
        planned(load_desk(session, settings), key)
        actions.pin(db, key, body.reason)
        desk = load_desk(session, settings)
    return told(_document(desk, planned(desk, key)))


@moving.delete("/{key}/pin", response_model=FlaskDocument, summary="Take the pin away")
def unpin(db: Db, settings: TheSettings, key: Key) -> Response:
    with db.whole() as session:
        planned(load_desk(session, settings), key)
        actions.unpin(db, key)
        desk = load_desk(session, settings)
    return told(_document(desk, planned(desk, key)))


def planned(desk: Desk, name: str) -> PlannedFlask:
    found = desk.plan.flask(name) if desk.plan else None
    if found is None:
        raise HTTPException(404)
    return found


def _move(name: str, body: MoveWanted) -> Move:
    return Move(job=body.job, pieces=body.pieces, from_flask=name, to=body.to, load=body.load)


def _tried(tried: Tried) -> MoveTried:
    return MoveTried(
        allowed=tried.allowed,
        trouble=tried.trouble,
        broken=tuple(f"rule {one.rule}: {one.message}" for one in tried.violations),
        before=_levels(tried.before),
        after=_levels(tried.after),
        flask=tried.move.to or tried.new_flask,
    )


def _levels(levels: Iterable[Level]) -> tuple[LevelDocument, ...]:
    return tuple(map(LevelDocument.from_domain, levels))


def _document(desk: Desk, flask: PlannedFlask) -> FlaskDocument:
    clock = desk.problem.clock
    moments = {
        name: clock.local(minute).isoformat(timespec="minutes")
        for name, minute in (("invest_at", flask.invest_start), ("cast_at", flask.cast_start), ("out_at", flask.knockout_end))
    }
    return FlaskDocument(
        id=flask.id,
        alloy=flask.melt,
        size=flask.size,
        investment=flask.investment,
        pieces=flask.contents,
        temperature=flask.temperature,
        charge=flask.charge,
        load=flask.load,
        machine=flask.machine,
        people=flask.people,
        stage=desk.stages.get(flask.id, ""),
        pinned=desk.pins.get(flask.id),
        **moments,
    )
