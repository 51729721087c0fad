"""The checklists of a flask for other software. A second person signs on the screen, in person."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal, TypeAlias

from fastapi.responses import Response

from domain.safety.gates import State
from domain.safety.points import Pause
from webapp.actions import checks as actions
from webapp.actions.checks import By, Check, NotAsRead
from webapp.actions.planning import Desk, load_desk
from webapp.auth.roles import Who
from webapp.exchange.api.base import Done
from webapp.exchange.api.floor import CheckDocument, LetPass, PointDocument, Ticked, Unticked
from webapp.problems import Refused
from webapp.routes.api.common import Key, noun, told
from webapp.routes.api.flasks import planned
from webapp.routes.doors import TheWho
from webapp.routes.edge import Db, TheSettings
from webapp.settings import Settings
from webapp.store.engine import Database, Session

router = noun("/flasks", "Checklists")
passing = noun("/flasks", "Checklists")
"""A manager lets the work go on."""
PauseName: TypeAlias = Literal["invest", "kiln", "melt", "pour", "quench"]


@router.get("/{key}/checks/{pause}", response_model=CheckDocument, summary="Read a checklist of a flask, as it stands")
def read(db: Db, settings: TheSettings, key: Key, pause: PauseName) -> Response:
    with db.read() as session:
        desk = load_desk(session, settings)
        planned(desk, key)
        found = actions.check_of(session, desk, key, Pause[pause.upper()])
    return told(_document(key, pause, found))


@router.post("/{key}/checks/{pause}/ticks", status_code=201, response_model=Done, summary="Tick a point that was done")
def tick(db: Db, settings: TheSettings, who: TheWho, key: Key, pause: PauseName, body: Ticked) -> Response:
    def work(session: Session, desk: Desk) -> str:
        at, by = Pause[pause.upper()], _by(who)
        return actions.tick(session, desk, key, at, body.point, reading=body.reading, read=body.read, by=by)

    return _done(db, settings, key, work)


@router.post("/{key}/checks/{pause}/back", status_code=201, response_model=Done, summary="Take a tick back")
def back(db: Db, settings: TheSettings, who: TheWho, key: Key, pause: PauseName, body: Unticked) -> Response:
    def work(session: Session, desk: Desk) -> str:
        return actions.take_back(session, desk, key, Pause[pause.upper()], body.point, by=_by(who))

    return _done(db, settings, key, work)


@passing.post("/{key}/checks/{pause}/pass", status_code=201, response_model=Done, summary="Let the work go on, with a reason")
def let_pass(db: Db, settings: TheSettings, who: TheWho, key: Key, pause: PauseName, body: LetPass) -> Response:
    def work(session: Session, desk: Desk) -> str:
        return actions.let_pass(session, desk, key, Pause[pause.upper()], reason=body.reason, read=body.read, by=_by(who))

    return _done(db, settings, key, work)


def _done(db: Database, settings: Settings, key: str, work: Callable[[Session, Desk], str]) -> Response:
    with db.write() as session:
        desk = load_desk(session, settings)
        planned(desk, key)
        try:
            return told(Done(said=work(session, desk)), 201)
        except NotAsRead as error:
            raise Refused(409, str(error), kind="overtaken") from None


def _by(who: Who) -> By:
    return By(name=who.name, account=who.account)


def _document(flask: str, pause: str, found: Check) -> CheckDocument:
    standing = found.standing
    return CheckDocument(
        flask=flask,
        pause=pause,
        closed=found.closed,
        holds_back=standing.holds_back and not found.closed,
        points=tuple(_point(found, state) for state in standing.states),
        read=actions.as_read(found.gate, standing.open),
    )


def _point(found: Check, state: State) -> PointDocument:
    point = state.point
    return PointDocument(
        id=point.id,
        number=state.number,
        text=point.text,
        why=point.why,
        required=point.required,
        second=point.second,
        reading=point.reading,
        unit=point.unit,
        done=state.done,
        passed=state.passed,
        who=state.tick.who if state.tick else "",
        read=actions.as_read(found.gate, (state,)),
    )
