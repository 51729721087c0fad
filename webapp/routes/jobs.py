"""Jobs: the list, and one form to add, copy and edit."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import Response

from domain.errors import InvalidValue
from domain.saying import say
from domain.shop.jobs import Job
from domain.units import Mass
from webapp.actions import intake
from webapp.actions import jobs as actions
from webapp.actions import models as model_actions
from webapp.actions.jobs import JobLine, State
from webapp.actions.references import choices
from webapp.exchange.documents import JobDocument
from webapp.forms import OPENED, Choice, Form, form_of, meet, opened_text, typed_from
from webapp.pages import Page, Part, answer, see_other, wants_part
from webapp.routes.downloads import table_file
from webapp.routes.edge import Db, TheSettings, Typed, version_in
from webapp.store import models, nouns
from webapp.store.engine import Session
from webapp.store.models import StoredModel
from webapp.store.nouns import Stored
from webapp.store.week import load_rules
from webapp.views.tables import job_records

router = APIRouter(prefix="/jobs")

SORTS: dict[str, tuple[str, Callable[[JobLine], Any]]] = {
    "due": (say("due day"), lambda line: (line.job.due, line.job.id)),
    "number": (say("number"), lambda line: line.job.id),
    "customer": (say("customer"), lambda line: (line.job.customer.casefold(), line.job.due)),
    "alloy": (say("alloy"), lambda line: (line.alloy.casefold(), line.job.due)),
    "state": (say("state"), lambda line: (list(State).index(line.state), line.job.due)),
}

STATES: tuple[Choice, ...] = (
    (State.LATE, say("late")),
    (State.LEFT_OUT, say("cannot be planned")),
    (State.UNPLANNED, say("not planned yet")),
    (State.PLANNED, say("planned")),
    (State.CAST, say("cast")),
)


@dataclass(frozen=True, kw_only=True)
class JobList(Part):
    """``of``: how many jobs there are in all."""

    template: ClassVar[str] = "jobs/_list.html"

    lines: tuple[JobLine, ...]
    of: int


@dataclass(frozen=True, kw_only=True)
class JobsPage(Page):
    template: ClassVar[str] = "jobs/list.html"
    here: ClassVar[str] = "jobs"

    lines: tuple[JobLine, ...]
    of: int
    alloys: tuple[Choice, ...]
    states: tuple[Choice, ...] = STATES
    sorts: tuple[Choice, ...] = tuple((key, words) for key, (words, _) in SORTS.items())
    alloy: str
    state: str
    sort: str
    archived: tuple[Job, ...]


@dataclass(frozen=True, kw_only=True)
class JobPage(Page):
    """``key``: none for a job not yet taken in. ``number``: the job number as typed or proposed. ``from_model``: the
    model that a new job is made of."""

    template: ClassVar[str] = "jobs/edit.html"
    here: ClassVar[str] = "jobs"

    key: str | None
    archived: bool
    number: str
    number_error: str
    version: int
    form: Form
    metal: tuple[Mass, Mass] | None
    line: JobLine | None
    model: StoredModel | None
    from_model: str
    megabytes: int = model_actions.LARGEST_MODEL // (1024 * 1024)


@dataclass(frozen=True, kw_only=True)
class MetalPart(Part):
    template: ClassVar[str] = "jobs/_metal.html"

    metal: tuple[Mass, Mass] | None


@router.get("")
def listing(request: Request, db: Db, settings: TheSettings, alloy: str = "", state: str = "", sort: str = "due") -> Response:
    with db.read() as session:
        every = actions.job_lines(session, settings.now(load_rules(session).timezone))
        alloys = choices(session, Job)["alloy"]
        archived = tuple(stored.value for stored in nouns.all_stored(session, Job, archived=True))
    chosen = (line for line in every if alloy in ("", line.job.alloy) and state in ("", line.state))
    sort = sort if sort in SORTS else "due"
    lines = tuple(sorted(chosen, key=SORTS[sort][1]))
    if wants_part(request):
        return answer(request, JobList(lines=lines, of=len(every)))
    page = JobsPage(
        title=say("Jobs"), lines=lines, of=len(every), alloys=alloys, alloy=alloy, state=state, sort=sort, archived=archived
    )
    return answer(request, page)


@router.get("/list.{form}")
def as_file(db: Db, form: str) -> Response:
    with db.read() as session:
        jobs = nouns.all_of(session, Job)
        names = intake.names(session)
    return table_file(job_records(sorted(jobs, key=lambda job: (job.due, job.id)), names), "jobs", form)


@router.get("/new")
def new(request: Request, db: Db, settings: TheSettings, like: str = "", model: str = "") -> Response:
    with db.read() as session:
        number = actions.next_number(session)
        today = settings.now(load_rules(session).timezone).date().isoformat()
        typed = {"ready": today, "weight": "1", "may_split": "on"}
        if like:
            typed = {**typed_from(JobDocument, _stored(session, like).value), "ready": today, "due": ""}
        found = models.find(session, model) if model else None
        if found is not None and found.job is None:
            typed |= {**model_actions.typed_of(session, found.model), "model": model, "item": found.model.name.rpartition(".")[0]}
        return _form(request, session, None, {**typed, "id": number})


@router.get("/metal")
def metal(request: Request, db: Db) -> Response:
    """What the job in the making weighs in metal; asked for while the form is filled in."""
    with db.read() as session:
        return answer(request, MetalPart(metal=actions.metal_of_typed(session, dict(request.query_params))))


@router.post("")
def add(request: Request, db: Db, typed: Typed) -> Response:
    with db.write() as session:
        saved = actions.add(session, typed)
        if not saved.done:
            return _form(request, session, None, typed, errors=dict(saved.errors))
    return see_other("/jobs", say("Job {key} was taken in.", key=saved.key))


@router.post("/{key:path}/archive")
def archive(request: Request, db: Db, key: str) -> Response:
    with db.write() as session:
        stored = _stored(session, key)
        try:
            actions.archive(session, key)
        except InvalidValue as error:
            typed = typed_from(JobDocument, stored.value)
            trouble = say("The job cannot be archived: {error}.", error=str(error))
            return _form(request, session, stored, typed, errors={"": trouble})
    return see_other("/jobs", say("Job {key} is in the archive; bring it back from the end of the list.", key=key))


@router.post("/{key:path}/restore")
def restore(db: Db, key: str) -> Response:
    with db.write() as session:
        _stored(session, key)
        actions.restore(session, key)
    return see_other("/jobs", say("Job {key} is back.", key=key))


@router.get("/{key:path}")
def edit(request: Request, db: Db, settings: TheSettings, key: str) -> Response:
    with db.read() as session:
        stored = _stored(session, key)
        lines = actions.job_lines(session, settings.now(load_rules(session).timezone))
        line = next((line for line in lines if line.job.id == key), None)
        return _form(request, session, stored, typed_from(JobDocument, stored.value), line=line)


@router.post("/{key:path}")
def change(request: Request, db: Db, key: str, typed: Typed) -> Response:
    with db.write() as session:
        stored = _stored(session, key)
        version = version_in(typed)
        saved = actions.change(session, key, typed, version)
        if not saved.done:
            shown = saved.version if saved.overtaken else version
            return _form(request, session, stored, typed, errors=dict(saved.errors), version=shown, overtaken=saved.overtaken)
    return see_other("/jobs", say("Job {key} was saved.", key=key))


def _stored(session: Session, key: str) -> Stored:
    stored = nouns.find_stored(session, Job, key)
    if stored is None:
        raise HTTPException(404)
    return stored


def _form(
    request: Request,
    session: Session,
    stored: Stored | None,
    typed: dict[str, str],
    *,
    errors: dict[str, str] | None = None,
    line: JobLine | None = None,
    version: int | None = None,
    overtaken: bool = False,
) -> Response:
    """``overtaken``: somebody else saved ``stored`` since the form was opened."""
    there = typed_from(JobDocument, stored.value) if stored else {}

    def build(texts: Mapping[str, str]) -> Form:
        return form_of(JobDocument, texts, errors, choices(session, Job))

    form = meet(typed, there, build) if overtaken else build({OPENED: opened_text(there), **typed})
    waiting = None if stored else models.find(session, typed.get("model", ""))
    page = JobPage(
        title=say("Job {key}", key=stored.key) if stored else say("New job"),
        key=stored.key if stored else None,
        archived=stored is not None and stored.archived,
        number=stored.key if stored else typed.get("id", ""),
        number_error=(errors or {}).get("id", ""),
        version=version if version is not None else (stored.version if stored else 0),
        form=form,
        metal=actions.metal_of_typed(session, typed),
        line=line,
        model=models.of_job(session, stored.key) if stored else waiting,
        from_model=waiting.model.id if waiting and waiting.job is None else "",
    )
    return answer(request, page, 409 if overtaken else 422 if errors else 200)
