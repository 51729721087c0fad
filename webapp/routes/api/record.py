"""What the record says, the work of a day and the bench calculators, for other software."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from fastapi import HTTPException, Path, Query
from fastapi.responses import Response

from webapp.actions import learning
from webapp.actions.bench import load_bench
from webapp.actions.planning import load_desk
from webapp.exchange.api.base import Done
from webapp.exchange.api.record import (
    AnswerDocument,
    AnswerTable,
    Decided,
    FieldDocument,
    Figures,
    SuggestionDocument,
    SuggestionList,
    TaskDocument,
    TaskList,
)
from webapp.routes.api.common import doer, noun, told
from webapp.routes.doors import TheWho
from webapp.routes.edge import Db, TheSettings
from webapp.views import learning as view
from webapp.views.bench.sheet import Entry, Slip
from webapp.views.bench.tools import TOOLS
from webapp.views.today import Task, queue

router = noun("/record", "What the record says")
today = noun("/today", "Today")
bench = noun("/bench", "Bench")
OfDay = Annotated[date | None, Query(description="A day of the plan; none for today")]
Calculator = Annotated[str, Path(max_length=40, description=f"Which: {', '.join(tool.key for tool in TOOLS)}")]


@router.get("/suggestions", response_model=SuggestionList, summary="Read what the record suggests to plan with")
def suggestions(db: Db) -> Response:
    with db.read() as session:
        record = learning.read_record(session)
    items = (SuggestionDocument(mark=a.mark, subject=a.name, says=a.says, planned=a.planned, use=a.use) for a in view.asks(record))
    return told(SuggestionList(casts=len(record.facts), items=tuple(items)))


@router.post("/suggestions", response_model=Done, summary="Take a suggestion over, or refuse it")
def decide(db: Db, who: TheWho, body: Decided) -> Response:
    with db.write() as session:
        found = learning.decide(session, body.mark, accept=body.accept, who=doer(who), note=body.note)
    words = view.WORDS[found.what]
    said = f"{words(found.use)} instead of {words(found.planned)}" if body.accept else f"{words(found.planned)} stays"
    return told(Done(said=f"{said}."))


@today.get("", response_model=TaskList, summary="Read the work of a day, in the order of the clock")
def work(db: Db, settings: TheSettings, day: OfDay = None) -> Response:
    with db.read() as session:
        desk = load_desk(session, settings)
    shown = day or desk.now.date()
    tasks = queue(desk.problem, desk.plan, shown, desk.stages, desk.now) if desk.plan else ()
    return told(TaskList(day=shown.isoformat(), items=tuple(map(_task, tasks))))


@bench.post("/{calculator}", response_model=AnswerDocument, summary="Work something out on the bench; nothing is kept")
def work_out(db: Db, settings: TheSettings, calculator: Calculator, body: Figures) -> Response:
    tool = next((one for one in TOOLS if one.key == calculator), None)
    if tool is None:
        raise HTTPException(404)
    with db.read() as session:
        there, day = load_bench(session, settings)
    return told(_answer(tool.work_out(there, body.fields, day)))


def _task(task: Task) -> TaskDocument:
    return TaskDocument(
        doing=task.doing,
        at=task.at.isoformat(timespec="minutes"),
        until=task.until.isoformat(timespec="minutes"),
        flasks=tuple(flask.id for flask in task.flasks),
        load=task.load.id if task.load else None,
        stage=task.stage,
        done=task.done,
        late=task.late,
        next=task.next,
        waits=task.waits,
    )


def _answer(slip: Slip) -> AnswerDocument:
    found = slip.answer
    return AnswerDocument(
        fields=tuple(map(_field, slip.all_entries)),
        missing=slip.missing,
        facts={f"{name}": f"{value}" for name, value in found.facts} if found else {},
        tables=tuple(AnswerTable(caption=t.caption, heads=t.heads, rows=t.rows) for t in found.tables) if found else (),
        notes=found.notes if found else (),
        cautions=tuple(one.text for one in found.warnings) if found else (),
        refusal=found.refusal if found else "",
    )


def _field(entry: Entry) -> FieldDocument:
    choices = tuple(key for _, options in entry.groups for key, _ in options)
    return FieldDocument(name=entry.name, label=entry.label, text=entry.text, hint=entry.hint, error=entry.error, choices=choices)
