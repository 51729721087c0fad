"""Jobs for other software."""

from __future__ import annotations

from typing import Annotated

from fastapi import HTTPException, Query
from fastapi.responses import Response

from domain.shop.jobs import Job
from webapp.actions import jobs as actions
from webapp.actions.jobs import JobLine, State
from webapp.exchange.api.base import Changed
from webapp.exchange.api.jobs import NEXT, InFlaskDocument, JobList, KeptJob, NewJobDocument, StandingDocument
from webapp.exchange.documents import JobDocument
from webapp.routes.api.common import Key, noun, refuse_unless_done, told
from webapp.routes.edge import Db, TheSettings
from webapp.settings import Settings
from webapp.store import nouns
from webapp.store.engine import Session
from webapp.store.nouns import Stored
from webapp.store.week import load_rules

router = noun("/jobs", "Jobs")

OfState = Annotated[State | None, Query(description="Only jobs that stand so")]
OfArchive = Annotated[bool, Query(description="True for the jobs in the archive")]
OfAlloy = Annotated[str, Query(max_length=200, description="Only jobs of the alloy with this id")]


@router.get("", response_model=JobList, summary="List the jobs and how each stands")
def listing(db: Db, settings: TheSettings, state: OfState = None, alloy: OfAlloy = "", archived: OfArchive = False) -> Response:
    with db.read() as session:
        lines = {} if archived else _lines(session, settings)
        kept = [_kept(one, lines.get(one.key)) for one in nouns.all_stored(session, Job, archived=archived)]
    wanted = (one for one in kept if alloy in ("", one.value.alloy) and _stands(one, state))
    return told(JobList(items=tuple(sorted(wanted, key=lambda one: (one.value.due, one.key)))))


@router.post("", status_code=201, response_model=KeptJob, summary="Take a job in")
def add(db: Db, settings: TheSettings, body: NewJobDocument) -> Response:
    with db.write() as session:
        number = actions.next_number(session) if body.id == NEXT else body.id
        saved = actions.take_in(session, body.model_copy(update={"id": number}).to_domain())
        refuse_unless_done(saved)
        return told(_one(session, settings, saved.key), 201)


@router.post("/{key:path}/restore", response_model=KeptJob, summary="Bring a job back from the archive")
def restore(db: Db, settings: TheSettings, key: Key) -> Response:
    with db.write() as session:
        _stored(session, key)
        actions.restore(session, key)
        return told(_one(session, settings, key))


@router.get("/{key:path}", response_model=KeptJob, summary="Read a job and how it stands")
def read(db: Db, settings: TheSettings, key: Key) -> Response:
    with db.read() as session:
        return told(_one(session, settings, key))


@router.put("/{key:path}", response_model=KeptJob, summary="Change a job")
def change(db: Db, settings: TheSettings, key: Key, body: Changed[JobDocument]) -> Response:
    with db.write() as session:
        _stored(session, key)
        value = body.value.model_copy(update={"id": key}).to_domain()
        refuse_unless_done(actions.save(session, value, body.version), "value")
        return told(_one(session, settings, key))


@router.delete("/{key:path}", response_model=KeptJob, summary="Put a job into the archive")
def archive(db: Db, settings: TheSettings, key: Key) -> Response:
    with db.write() as session:
        _stored(session, key)
        actions.archive(session, key)
        return told(_one(session, settings, key))


def _stored(session: Session, key: str) -> Stored:
    found = nouns.find_stored(session, Job, key)
    if found is None:
        raise HTTPException(404)
    return found


def _lines(session: Session, settings: Settings) -> dict[str, JobLine]:
    now = settings.now(load_rules(session).timezone)
    return {line.job.id: line for line in actions.job_lines(session, now)}


def _one(session: Session, settings: Settings, key: str) -> KeptJob:
    return _kept(_stored(session, key), _lines(session, settings).get(key))


def _stands(one: KeptJob, state: State | None) -> bool:
    return state is None or (one.standing is not None and one.standing.state == state)


def _kept(stored: Stored, line: JobLine | None) -> KeptJob:
    value = JobDocument.from_domain(stored.value)
    standing = _standing(line) if line is not None else None
    return KeptJob(key=stored.key, version=stored.version, archived=stored.archived, value=value, standing=standing)


def _standing(line: JobLine) -> StandingDocument:
    flasks = (
        InFlaskDocument(id=f.id, pieces=f.pieces, cast_on=f"{f.cast_on}", out_on=f"{f.out_on}", stage=f.stage) for f in line.flasks
    )
    return StandingDocument(
        state=line.state,
        metal_each=line.each,
        metal_total=line.total,
        flasks=tuple(flasks),
        open_pieces=line.open_pieces,
        days_late=line.days_late,
        reason=line.reason,
        remedy=line.remedy,
    )
