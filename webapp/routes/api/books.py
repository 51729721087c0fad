"""The books for other software."""

from __future__ import annotations

from typing import Annotated

from fastapi import HTTPException, Path, Query
from fastapi.responses import Response

from domain.books.accounts import Account, AccountKind
from webapp.actions import books as actions
from webapp.actions import melts
from webapp.exchange.api.base import Done
from webapp.exchange.api.books import AccountDocument, AccountList, EntryDocument, EntryList, PostingDocument, TakeBack
from webapp.routes.api.common import Before, Number, noun, told
from webapp.routes.edge import Db
from webapp.store import books
from webapp.store.books import Entry

router = noun("/books", "Books")
Kind = Annotated[AccountKind, Path(description="Kind of the accounts")]
Ref = Annotated[str, Query(max_length=200, pattern=r"^[^\x00]*$", description="Only of the account with this kind and ref")]
OfKind = Annotated[AccountKind | None, Query(description="Only of the account of this kind, with this ref")]
Of = Annotated[str, Query(max_length=200, pattern=r"^[^\x00]*$", description="Only of the flask with this id")]


@router.get("/entries", response_model=EntryList, summary="Read the entries of the books, the newest first")
def entries(db: Db, kind: OfKind = None, ref: Ref = "", flask: Of = "", before: Before = None) -> Response:
    account = Account(kind, ref) if kind else None
    with db.read() as session:
        found = books.entries(session, account=account, flask=flask or None, before=before, newest=actions.PAGE + 1)
    page = found[: actions.PAGE]
    older = page[-1].id if len(found) > actions.PAGE else None
    return told(EntryList(items=tuple(map(_entry, page)), older=older))


@router.get("/accounts/{kind}", response_model=AccountList, summary="Read what the accounts of a kind hold")
def accounts(db: Db, kind: Kind) -> Response:
    with db.read() as session:
        held = books.balances(session, kind)
    listed = (
        AccountDocument(kind=kind, ref=ref, mass=float(content.mass.to("g")), elements=dict(content.elements))
        for ref, content in held.items()
    )
    return told(AccountList(items=tuple(listed)))


@router.post("/entries/{number}/take-back", status_code=201, response_model=Done, summary="Take an entry back, with a reason")
def take_back(db: Db, number: Number, body: TakeBack) -> Response:
    with db.write() as session:
        if books.find(session, number) is None:
            raise HTTPException(404)
        written = melts.take_back(session, number, body.reason)
    return told(Done(said=f"Entry {number} is taken back by entry {written.entry}. Nothing was deleted."), 201)


def _entry(entry: Entry) -> EntryDocument:
    return EntryDocument(
        number=entry.id,
        at=entry.at.isoformat(timespec="seconds"),
        kind=entry.kind,
        flask=entry.flask,
        alloy=entry.alloy,
        who=entry.who,
        note=entry.note,
        reverses=entry.reverses,
        taken_back_by=entry.taken_back_by,
        postings=tuple(
            PostingDocument(
                kind=posting.account.kind,
                ref=posting.account.ref,
                mass=float(posting.content.mass.to("g")),
                elements=dict(posting.content.elements),
            )
            for posting in entry.postings
        ),
    )
