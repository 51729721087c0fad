"""What the shop owns and knows, for other software: the same routes for every noun, each with its own document."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any

from fastapi import HTTPException, Query
from fastapi.responses import Response

from domain.shop.consumables import Consumable
from domain.shop.lots import Lot
from webapp.actions import shop as actions
from webapp.actions.recharging import recharge
from webapp.exchange.api.base import Changed, Kept, KeptList
from webapp.exchange.api.stock import AmountMoved, MassMoved
from webapp.routes.api.common import Key, noun, refuse_unless_done, told
from webapp.routes.edge import Db, TheSettings
from webapp.shop_nouns import NOUNS, Noun
from webapp.store import nouns
from webapp.store.engine import Session
from webapp.store.nouns import Stored

router = noun("/shop")
Route = Callable[..., Response]
OutOfUse = Annotated[bool, Query(description="True for what is out of use")]


def _listing(of: Noun) -> Route:
    def listing(db: Db, archived: OutOfUse = False) -> Response:
        with db.read() as session:
            stored = nouns.all_stored(session, of.kind, archived=archived)
        return told(KeptList(items=tuple(_kept(of, one) for one in stored)))

    return listing


def _read(of: Noun) -> Route:
    def read(db: Db, key: Key) -> Response:
        with db.read() as session:
            return told(_kept(of, _stored(session, of, key)))

    return read


def _add(of: Noun) -> Route:
    def add(db: Db, body: Any) -> Response:
        with db.write() as session:
            refuse_unless_done(actions.put_in(session, body.to_domain()))
            return told(_kept(of, nouns.all_stored(session, of.kind)[-1]), 201)

    return _taking(add, of.document)


def _change(of: Noun) -> Route:
    def change(db: Db, settings: TheSettings, key: Key, body: Any) -> Response:
        with db.write() as session:
            stored = _stored(session, of, key)
            refuse_unless_done(actions.save(session, stored, body.value.to_domain(), body.version, of.keeps), "value")
            if of.kind is Lot:
                recharge(session, settings, f"lot {key} is made of something else")
            return told(_kept(of, _stored(session, of, key)))

    return _taking(change, Changed[of.document])  # type: ignore[name-defined]


def _archive(of: Noun) -> Route:
    def archive(db: Db, key: Key) -> Response:
        with db.write() as session:
            _stored(session, of, key)
            actions.archive(session, of.kind, key)
            return told(_kept(of, _stored(session, of, key)))

    return archive


def _restore(of: Noun) -> Route:
    def restore(db: Db, key: Key) -> Response:
        with db.write() as session:
            _stored(session, of, key)
            actions.restore(session, of.kind, key)
            return told(_kept(of, _stored(session, of, key)))

    return restore


def _move(of: Noun) -> Route:
    def move(db: Db, settings: TheSettings, key: Key, body: Any) -> Response:
        with db.write() as session:
            _stored(session, of, key)
            amount = f"{body.amount.decimal('unit', 3)}" if of.kind is Consumable else f"{body.mass.decimal('g', 3)} g"
            words = {"kind": body.kind, "mass": amount, "note": body.note} | ({"reason": body.reason} if body.reason else {})
            refuse_unless_done(actions.move_stock(session, of.kind, key, words))
            if of.kind is Lot:
                recharge(session, settings, f"lot {key} holds another mass")
            return told(_kept(of, _stored(session, of, key)), 201)

    return _taking(move, AmountMoved if of.kind is Consumable else MassMoved)


def _taking(route: Route, body: type) -> Route:
    """The route with the document that is its body, which is another one for each noun."""
    route.__annotations__["body"] = body
    return route


def _stored(session: Session, of: Noun, key: str) -> Stored:
    found = nouns.find_stored(session, of.kind, key)
    if found is None:
        raise HTTPException(404)
    return found


def _kept(of: Noun, stored: Stored) -> Kept[Any]:
    value = of.document.from_domain(stored.value)
    return Kept(key=stored.key, version=stored.version, archived=stored.archived, value=value)


def _offer(of: Noun) -> None:
    document: Any = of.document
    one, many = f"/{of.slug}/{{key:path}}", f"/{of.slug}"
    told_as: dict[str, Any] = {"response_model": Kept[document], "tags": [f"Shop: {of.many.lower()}"]}
    all_of: dict[str, Any] = {**told_as, "response_model": KeptList[document]}
    a = f"{'an' if of.one[0] in 'aeiou' else 'a'} {of.one}"
    if of.single:
        a = f"the {of.one}"
    else:
        router.get(many, summary=f"List {of.many.lower()}", **all_of)(_listing(of))
        router.post(many, status_code=201, summary=f"Add {a}", **told_as)(_add(of))
        router.post(f"{one}/restore", summary=f"Take {a} into use again", **told_as)(_restore(of))
        router.delete(one, summary=f"Put {a} out of use", **told_as)(_archive(of))
    if of.in_stock:
        router.post(f"{one}/movements", status_code=201, summary=f"Write down what happened to {a}", **told_as)(_move(of))
    router.get(one, summary=f"Read {a}", **told_as)(_read(of))
    router.put(one, summary=f"Change {a}", **told_as)(_change(of))


for _each in NOUNS:
    _offer(_each)
