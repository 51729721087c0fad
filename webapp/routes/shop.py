"""The shop: everything that stays from week to week."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, ClassVar
from uuid import uuid4

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import Response

from domain.books.accounts import COUNT_REASONS, Account, AccountKind
from domain.errors import InvalidValue
from domain.saying import say
from domain.shop.consumables import Consumable
from domain.shop.lots import Lot
from webapp import formats
from webapp.actions import shop as actions
from webapp.actions.recharging import recharge
from webapp.actions.references import choices
from webapp.forms import OPENED, Form, form_of, meet, opened_text, typed_from
from webapp.pages import Page, answer, see_other
from webapp.routes import checklists
from webapp.routes.edge import Db, TheSettings, Typed, version_in
from webapp.shop_nouns import BY_SLUG, NOUNS, Noun
from webapp.store import books, nouns, supplies
from webapp.store.engine import Session
from webapp.store.nouns import Stored
from webapp.store.week import load_rules
from webapp.views.books import MovementLine, movement_lines, supply_movements

router = APIRouter(prefix="/shop")
# before the routes below, which take any word for a noun
router.include_router(checklists.router)


HAPPENINGS = (
    ("receipt", say("received")),
    ("issue", say("taken out")),
    ("return", say("came back")),
    ("count", say("counted: this is what is there")),
    ("given back", say("given back to the customer whose metal it is")),
    ("refiner", say("put into the refiner's lot")),
)


@dataclass(frozen=True, kw_only=True)
class Card:
    noun: Noun
    count: int


@dataclass(frozen=True, kw_only=True)
class ShopPage(Page):
    template: ClassVar[str] = "shop/overview.html"
    here: ClassVar[str] = "shop"

    cards: tuple[Card, ...]


@dataclass(frozen=True, kw_only=True)
class Line:
    key: str
    cells: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class NounPage(Page):
    template: ClassVar[str] = "shop/list.html"
    here: ClassVar[str] = "shop"

    noun: Noun
    nouns: tuple[Noun, ...] = NOUNS
    slug: str
    lines: tuple[Line, ...]
    out_of_use: tuple[Line, ...]


@dataclass(frozen=True, kw_only=True)
class EditPage(Page):
    """``key``: none for a new one. ``movements``: the newest of its ledger, for metal and powder.
    ``move_key``: sent with a movement, so that a repeated request moves nothing twice."""

    template: ClassVar[str] = "shop/edit.html"
    here: ClassVar[str] = "shop"

    noun: Noun
    nouns: tuple[Noun, ...] = NOUNS
    slug: str
    key: str | None
    archived: bool
    version: int
    form: Form
    balance: Any = None
    movements: tuple[MovementLine, ...] = ()
    move_typed: dict[str, str]
    move_errors: dict[str, str]
    move_key: str
    happenings: tuple[tuple[str, str], ...] = HAPPENINGS
    reasons: tuple[str, ...] = COUNT_REASONS


@router.get("")
def overview(request: Request, db: Db) -> Response:
    with db.read() as session:
        cards = tuple(Card(noun=noun, count=len(nouns.all_stored(session, noun.kind))) for noun in NOUNS)
    return answer(request, ShopPage(title=say("Shop"), cards=cards))


@router.get("/{slug}")
def listing(request: Request, db: Db, slug: str) -> Response:
    noun = _noun(slug)
    with db.read() as session:
        lines, out_of_use = (_lines(session, noun, archived=archived) for archived in (False, True))
    if noun.single:
        return see_other(f"/shop/{slug}/1")
    return answer(request, NounPage(title=noun.many, slug=slug, noun=noun, lines=lines, out_of_use=out_of_use))


@router.get("/{slug}/new")
def new(request: Request, db: Db, slug: str) -> Response:
    noun = _noun(slug)
    with db.read() as session:
        return _edit(request, session, noun, None, {})


@router.post("/{slug}")
def add(request: Request, db: Db, slug: str, typed: Typed) -> Response:
    noun = _noun(slug)
    with db.write() as session:
        saved = actions.add(session, noun.kind, noun.document, typed)
    if saved.done:
        return see_other(f"/shop/{slug}", say("The {one} was added.", one=noun.one))
    with db.read() as session:
        return _edit(request, session, noun, None, typed, errors=dict(saved.errors))


@router.post("/{slug}/{key:path}/archive")
def archive(request: Request, db: Db, slug: str, key: str) -> Response:
    noun = _noun(slug)
    if noun.single:
        raise HTTPException(405)
    try:
        with db.write() as session:
            _stored(session, noun, key)
            actions.archive(session, noun.kind, key)
    except InvalidValue as error:
        with db.read() as session:
            stored = _stored(session, noun, key)
            typed = typed_from(noun.document, stored.value)
            return _edit(
                request, session, noun, stored, typed, errors={"": say("It cannot be put out of use: {error}.", error=error)}
            )
    return see_other(f"/shop/{slug}", say("The {one} is out of use. Nothing was deleted.", one=noun.one))


@router.post("/{slug}/{key:path}/restore")
def restore(db: Db, slug: str, key: str) -> Response:
    noun = _noun(slug)
    with db.write() as session:
        _stored(session, noun, key)
        actions.restore(session, noun.kind, key)
    return see_other(f"/shop/{slug}", say("The {one} is in use again.", one=noun.one))


@router.post("/{slug}/{key:path}/move")
def move(request: Request, db: Db, settings: TheSettings, slug: str, key: str, typed: Typed) -> Response:
    noun = _noun(slug)
    if not noun.in_stock:
        raise HTTPException(404)
    with db.write() as session:
        _stored(session, noun, key)
        saved = actions.move_stock(session, noun.kind, key, typed)
        moved = saved.done and noun.kind is Lot
        again = recharge(session, settings, say("lot {key} holds another mass", key=key)).words if moved else ""
    if saved.done:
        return see_other(f"/shop/{slug}/{key}", say("The movement was written down.{again}", again=again))
    with db.read() as session:
        stored = _stored(session, noun, key)
        return _edit(request, session, noun, stored, typed_from(noun.document, stored.value), moving=(typed, dict(saved.errors)))


@router.get("/{slug}/{key:path}")
def edit(request: Request, db: Db, slug: str, key: str) -> Response:
    noun = _noun(slug)
    with db.read() as session:
        stored = _stored(session, noun, key)
        return _edit(request, session, noun, stored, typed_from(noun.document, stored.value))


@router.post("/{slug}/{key:path}")
def change(request: Request, db: Db, settings: TheSettings, slug: str, key: str, typed: Typed) -> Response:
    noun = _noun(slug)
    with db.write() as session:
        stored = _stored(session, noun, key)
        version = version_in(typed)
        saved = actions.change(session, stored, noun.document, typed, version, noun.keeps)
        changed = saved.done and noun.kind is Lot
        again = recharge(session, settings, say("lot {key} is made of something else", key=key)).words if changed else ""
    if not saved.done:
        shown = saved.version if saved.overtaken else version
        with db.read() as session:
            stored = _stored(session, noun, key)
            errors = dict(saved.errors)
            return _edit(request, session, noun, stored, typed, errors=errors, overtaken=saved.overtaken, version=shown)
    return see_other(
        f"/shop/{slug}/{key}" if noun.single else f"/shop/{slug}", say("The {one} was saved.{again}", one=noun.one, again=again)
    )


def _noun(slug: str) -> Noun:
    if slug not in BY_SLUG:
        raise HTTPException(404)
    return BY_SLUG[slug]


def _lines(session: Session, noun: Noun, *, archived: bool) -> tuple[Line, ...]:
    stored = nouns.all_stored(session, noun.kind, archived=archived)
    return tuple(Line(key=s.key, cells=noun.cells(s.value)) for s in stored)


def _stored(session: Session, noun: Noun, key: str) -> Stored:
    stored = nouns.find_stored(session, noun.kind, key)
    if stored is None:
        raise HTTPException(404)
    return stored


def _edit(
    request: Request,
    session: Session,
    noun: Noun,
    stored: Stored | None,
    typed: dict[str, str],
    *,
    errors: dict[str, str] | None = None,
    moving: tuple[dict[str, str], dict[str, str]] = ({}, {}),
    overtaken: bool = False,
    version: int | None = None,
) -> Response:
    """``overtaken``: somebody else saved ``stored`` since the form was opened."""
    value: Any = stored.value if stored else None
    there = typed_from(noun.document, value) if stored else {}
    offered, sources, keeps = choices(session, noun.kind), getattr(value, "sources", {}), noun.keeps if stored else frozenset()

    def build(texts: Mapping[str, str]) -> Form:
        return form_of(noun.document, texts, errors, offered, sources, keeps)

    page = EditPage(
        title=_title(noun, value),
        slug=noun.slug,
        noun=noun,
        key=stored.key if stored else None,
        archived=stored is not None and stored.archived,
        version=version or (stored.version if stored else 0),
        form=meet(typed, there, build) if overtaken else build({OPENED: opened_text(there), **typed}),
        balance=_balance(value) if stored and noun.in_stock else None,
        movements=_movements(session, noun, stored),
        move_typed=moving[0],
        move_errors=moving[1],
        move_key=uuid4().hex,
    )
    return answer(request, page, 409 if overtaken else 422 if errors or moving[1] else 200)


def _title(noun: Noun, value: Any) -> str:
    if value is None:
        return say("New {one}", one=noun.one)
    return str(getattr(value, "name", "") or formats.begun(noun.one))


def _balance(value: Any) -> str:
    """In words."""
    if isinstance(value, Consumable):
        return formats.amount(value.amount, value.unit)
    return formats.mass(value.mass) if isinstance(value, Lot) else formats.bulk(value.mass, 2)


def _movements(session: Session, noun: Noun, stored: Stored | None) -> tuple[MovementLine, ...]:
    if stored is None or not noun.in_stock:
        return ()
    if noun.kind is Consumable:
        return supply_movements(supplies.moves(session, stored.key), stored.value.unit, load_rules(session).timezone)
    account = Account(AccountKind.LOT if noun.slug == "lots" else AccountKind.POWDER, stored.key)
    return movement_lines(books.entries(session, account=account), account, load_rules(session).timezone)
