"""The books: what moved, what every account holds, where metal came from and where it went."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar
from urllib.parse import urlencode

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, JSONResponse, Response

from domain.books.accounts import Account, AccountKind
from domain.errors import InvalidValue
from domain.saying import say
from domain.units import Mass, Share, total
from webapp.actions import books as actions
from webapp.actions import melts
from webapp.formats import begun
from webapp.pages import Page, answer, see_other
from webapp.routes.downloads import table_file
from webapp.routes.edge import Db, Typed
from webapp.store import books, reservations
from webapp.store.books import Entry
from webapp.store.engine import Session
from webapp.store.reservations import Reservation
from webapp.store.week import load_rules
from webapp.views import books as view
from webapp.views.books import AccountLink, EntryLine, Held, WhereLine

router = APIRouter(prefix="/books")

ENDS, STEPS = 50, 100
"""on a page of where metal came from or went"""


@dataclass(frozen=True, kw_only=True)
class BooksPage(Page):
    """``of``: the kind of accounts that are listed, ``kind`` as in addresses; both empty for the newest entries.
    ``accounts``: by name, what each holds; ``named``: how their names begin. ``older``: the address of the next page,
    empty where there is none."""

    template: ClassVar[str] = "books/books.html"
    here: ClassVar[str] = "metal"

    part: str = "books"
    held: Held
    of: str
    kind: str
    named: str
    accounts: tuple[tuple[AccountLink, Mass], ...]
    lines: tuple[EntryLine, ...]
    older: str


@dataclass(frozen=True, kw_only=True)
class AccountPage(Page):
    """``kind`` and ``ref`` as in addresses. ``reserved``: for planned charges, of a lot. ``coming``: mass and day of
    a lot that is on its way."""

    template: ClassVar[str] = "books/account.html"
    here: ClassVar[str] = "metal"

    kind: str
    ref: str
    mass: Mass
    elements: tuple[tuple[str, Mass, Share], ...]
    reserved: tuple[Reservation, ...]
    available: Mass
    coming: tuple[Mass, str] | None
    lines: tuple[EntryLine, ...]
    older: str


@dataclass(frozen=True, kw_only=True)
class TakeBackPage(Page):
    template: ClassVar[str] = "books/take_back.html"
    here: ClassVar[str] = "metal"

    line: EntryLine
    key: str
    reason: str
    error: str


@dataclass(frozen=True, kw_only=True)
class WherePage(Page):
    """``back``: whether it is followed to where it came from. ``address``: of this page. ``others``: how many ends
    are not named, ``others_mass`` what they hold together. ``first`` to ``last`` of ``count`` steps are shown;
    ``earlier`` and ``later``: the pages beside, empty where there are none."""

    template: ClassVar[str] = "books/where.html"
    here: ClassVar[str] = "metal"

    back: bool
    account: AccountLink
    mass: Mass
    whole: bool
    ends: tuple[tuple[AccountLink, Mass, Share], ...]
    others: int
    others_mass: Mass
    steps: tuple[WhereLine, ...]
    first: int
    last: int
    count: int
    earlier: str
    later: str
    address: str
    other_way: str


@router.get("")
def listing(request: Request, db: Db, of: str = "", named: str = "", after: str = "", before: int | None = None) -> HTMLResponse:
    with db.read() as session:
        zone = load_rules(session).timezone
        kind = actions.account_of(of, "").kind if of else None
        listed, next_name = actions.accounts_of(session, kind, named, after) if kind else ([], "")
        found = () if kind else books.entries(session, before=before, newest=actions.PAGE + 1)
        page = BooksPage(
            title=say("Books"),
            held=view.held(books.totals(session), books.powder_outside(session), books.lost_in_cleaning(session)),
            of=view.ALL.get(kind, str(kind)) if kind else "",
            kind=of,
            named=named,
            accounts=tuple((view.account_link(account), mass) for account, mass in listed),
            lines=view.entry_lines(found[: actions.PAGE], zone),
            older=_more(of, named, next_name) if kind else _older(found),
        )
    return answer(request, page)


def _more(of: str, named: str, after: str) -> str:
    return f"/books?{urlencode({'of': of, 'named': named, 'after': after})}" if after else ""


def _older(found: Sequence[Entry]) -> str:
    return f"/books?before={found[actions.PAGE - 1].id}" if len(found) > actions.PAGE else ""


@router.get("/entries.{form}")
def export(db: Db, form: str) -> Response:
    with db.read() as session:
        return table_file(actions.entry_records(reversed(books.entries(session, newest=None))), "books", form)


@router.get("/entries/{entry:int}/take-back")
def ask_back(request: Request, db: Db, entry: int) -> HTMLResponse:
    with db.read() as session:
        return answer(request, _take_back_page(session, entry))


@router.post("/entries/{entry:int}/take-back")
def take_back(request: Request, db: Db, entry: int, typed: Typed) -> Response:
    try:
        with db.write() as session:
            written = melts.take_back(session, entry, typed.get("reason", ""), typed.get("key") or None)
    except InvalidValue as error:
        with db.read() as session:
            return answer(request, _take_back_page(session, entry, typed.get("reason", ""), str(error)), 422)
    return see_other(
        "/books", say("Entry {entry} is taken back by entry {other}. Nothing was deleted.", entry=entry, other=written.entry)
    )


@router.get("/account/{kind}/{ref:path}")
def account(request: Request, db: Db, kind: str, ref: str, before: int | None = None) -> HTMLResponse:
    asked = actions.account_of(kind, ref)
    with db.read() as session:
        content = books.balance(session, asked)
        found = books.entries(session, account=asked, before=before, newest=actions.PAGE + 1)
        reserved = reservations.reservations(session, asked.ref) if asked.kind is AccountKind.LOT else ()
        coming = actions.on_its_way(session, asked)
        zone = load_rules(session).timezone
    there = coming[0] if coming else content.mass
    page = AccountPage(
        title=begun(view.account_words(asked)),
        kind=kind,
        ref=ref,
        mass=content.mass,
        elements=view.element_lines(content),
        reserved=reserved,
        available=Mass(there.base - sum(one.mass.base for one in reserved)),
        coming=coming,
        lines=view.entry_lines(found[: actions.PAGE], zone),
        older=f"?before={found[actions.PAGE - 1].id}" if len(found) > actions.PAGE else "",
    )
    return answer(request, page)


@router.get("/where/{direction}/{kind}/{ref:path}")
def where(request: Request, db: Db, direction: str, kind: str, ref: str, form: str = "", page: int = 1) -> Response:
    if direction not in ("back", "forth"):
        raise HTTPException(404)
    asked = actions.account_of(kind, ref)
    with db.read() as session:
        followed = actions.follow(session, asked, back=direction == "back")
        zone = load_rules(session).timezone
    name = f"custody-{direction}-{kind}"
    if form in ("csv", "xlsx"):
        return table_file(actions.custody_records(followed), name, form)
    if form == "json":
        return JSONResponse(actions.custody_document(followed), headers=_download(f"{name}.json"))
    return answer(request, _where_page(asked, followed, zone, page))


def _where_page(account: Account, followed: actions.Followed, zone: str, page: int) -> WherePage:
    link, trace, back = view.account_link(account), followed.trace, followed.back
    rest = link.href.removeprefix("/books/account/")
    address = f"/books/where/{'back' if back else 'forth'}/{rest}"
    ends, steps = view.end_lines(trace, back=back), view.where_lines(trace, followed.moments, zone)
    shown = min(max(1, page), -(-len(steps) // STEPS) or 1)
    first, last = (shown - 1) * STEPS, min(shown * STEPS, len(steps))
    return WherePage(
        title=say("Where the metal of {account} came from", account=link.text)
        if back
        else say("Where the metal of {account} went", account=link.text),
        back=back,
        account=link,
        mass=trace.mass,
        whole=trace.whole,
        ends=ends[:ENDS],
        others=max(0, len(ends) - ENDS),
        others_mass=total(Mass, (mass for _, mass, _ in ends[ENDS:])),
        steps=steps[first:last],
        first=first + 1,
        last=last,
        count=len(steps),
        earlier=f"{address}?page={shown - 1}" if first else "",
        later=f"{address}?page={shown + 1}" if last < len(steps) else "",
        address=address,
        other_way=f"/books/where/{'forth' if back else 'back'}/{rest}",
    )


def _take_back_page(session: Session, entry: int, reason: str = "", error: str = "") -> TakeBackPage:
    found = books.find(session, entry)
    if found is None:
        raise HTTPException(404)
    (line,) = view.entry_lines([found], load_rules(session).timezone)
    return TakeBackPage(
        title=say("Take entry {entry} back", entry=entry), line=line, key=secrets.token_urlsafe(12), reason=reason, error=error
    )


def _download(name: str) -> dict[str, str]:
    return {"Content-Disposition": f'attachment; filename="{name}"', "Cache-Control": "no-store"}
