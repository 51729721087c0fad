"""Who asks, who may use the server, and the shop's checklists, for other software to read."""

from __future__ import annotations

from fastapi.responses import Response

from domain.safety.catalogue import catalogue
from webapp.exchange.api.people import AccountOfPerson, ChecklistList, ListedPointDocument, PeopleList, WhoDocument
from webapp.routes.api.common import noun, told
from webapp.routes.doors import TheWho
from webapp.routes.edge import Db
from webapp.store import accounts, checklists

me = noun("/who", "People")
router = noun("/people", "People")
lists = noun("/checklists", "Checklists")


@me.get("", response_model=WhoDocument, summary="Read as whom this token acts")
def who_asks(who: TheWho) -> Response:
    return told(WhoDocument(name=who.name, role=who.role))


@router.get("", response_model=PeopleList, summary="List the accounts")
def people(db: Db) -> Response:
    with db.read() as session:
        rows = accounts.accounts(session)
    return told(PeopleList(items=tuple(AccountOfPerson(name=row.name, role=row.role, person=row.person) for row in rows)))


@lists.get("", response_model=ChecklistList, summary="List the points of the shop's checklists")
def points(db: Db) -> Response:
    with db.read() as session:
        listed = catalogue(checklists.changes(session))
    items = (
        ListedPointDocument(
            id=p.id, pause=p.pause, text=p.text, why=p.why, required=p.required, second=p.second, when=p.when, dropped=p.dropped
        )
        for p in listed
    )
    return told(ChecklistList(items=tuple(items)))
