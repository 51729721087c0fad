"""Who asks, who may use the server, and its tablets, for other software."""

from __future__ import annotations

from fastapi.responses import Response

from webapp.actions import accounts as actions
from webapp.exchange.api.base import Done
from webapp.exchange.api.office import AccountWanted, TabletDocument, TabletList
from webapp.exchange.api.people import AccountOfPerson, PeopleList, WhoDocument
from webapp.routes.api.common import Number, noun, told
from webapp.routes.doors import TheWho
from webapp.routes.edge import Db
from webapp.store import accounts

me = noun("/who", "People")
router = noun("/people", "People")


@me.get("", response_model=WhoDocument, summary="Read as whom this token acts")
def who_asks(who: TheWho) -> Response:
    return told(WhoDocument(name=who.name, role=who.role))


@router.get("", response_model=PeopleList, summary="List the accounts")
def people(db: Db) -> Response:
    with db.read() as session:
        rows = accounts.accounts(session)
    items = (AccountOfPerson(number=row.id or 0, name=row.name, role=row.role, person=row.person) for row in rows)
    return told(PeopleList(items=tuple(items)))


@router.post("", status_code=201, response_model=Done, summary="Make an account, of a role that is yours to give")
def add(db: Db, who: TheWho, body: AccountWanted) -> Response:
    return told(Done(said=f"{actions.add_account(db, who, body.model_dump())}."), 201)


@router.get("/tablets", response_model=TabletList, summary="List the enrolled tablets")
def tablets(db: Db) -> Response:
    with db.read() as session:
        rows = accounts.tablets(session)
    return told(TabletList(items=tuple(TabletDocument(number=row.id or 0, name=row.name) for row in rows)))


@router.delete("/tablets/{number}", response_model=Done, summary="Withdraw a tablet, and sign out whoever is there by PIN")
def revoke(db: Db, number: Number) -> Response:
    return told(Done(said=f"{actions.revoke(db, number)}."))


@router.delete("/{number}", response_model=Done, summary="End an account, and sign it out everywhere")
def end(db: Db, who: TheWho, number: Number) -> Response:
    return told(Done(said=f"{actions.end_account(db, who, number)}."))
