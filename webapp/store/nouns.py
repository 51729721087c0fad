"""The shop's nouns: which domain class is kept in which table, and the few queries all of them share."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, TypeVar, cast

from sqlalchemy import func
from sqlalchemy.exc import IntegrityError
from sqlmodel import col, select

from domain.errors import InvalidValue
from domain.shop.alloy import Alloy
from domain.shop.burnout import BurnoutProgram, Kiln, Outage
from domain.shop.casting import CastingMachine, Person
from domain.shop.consumables import Consumable
from domain.shop.flask import FlaskSize
from domain.shop.investment import InvestmentKind
from domain.shop.jobs import Job
from domain.shop.lots import Lot, Metal, Powder
from domain.shop.pattern import PatternMaterial
from domain.shop.shop import ShopRules
from webapp.store import stock, supplies
from webapp.store.columns import utc_now
from webapp.store.convert import copy_into, new_row, to_domain
from webapp.store.engine import Session
from webapp.store.tables import (
    AlloyRow,
    ClosureRow,
    ConsumableRow,
    FlaskSizeRow,
    InvestmentKindRow,
    JobRow,
    Kept,
    KilnRow,
    LotRow,
    MachineRow,
    MaterialRow,
    MetalRow,
    PersonRow,
    PowderRow,
    ProgramRow,
    RulesRow,
)
from webapp.store.trouble import broken_rule

D = TypeVar("D")

TABLES: dict[type[Any], type[Kept]] = {
    Alloy: AlloyRow,
    PatternMaterial: MaterialRow,
    FlaskSize: FlaskSizeRow,
    InvestmentKind: InvestmentKindRow,
    BurnoutProgram: ProgramRow,
    Kiln: KilnRow,
    CastingMachine: MachineRow,
    Person: PersonRow,
    Outage: ClosureRow,
    Metal: MetalRow,
    Lot: LotRow,
    Powder: PowderRow,
    Consumable: ConsumableRow,
    ShopRules: RulesRow,
    Job: JobRow,
}


class Edited(Exception):
    """Somebody else saved a newer version in the meantime."""


@dataclass(frozen=True, slots=True)
class Stored:
    """A domain value with the key and version of its row."""

    key: str
    version: int
    value: Any
    archived: bool = False


def all_of(session: Session, kind: type[D]) -> tuple[D, ...]:
    """All that are not archived, in the shop's order."""
    return tuple(to_domain(row, kind) for row in _rows(session, kind))


def all_stored(session: Session, kind: type[Any], *, archived: bool = False) -> tuple[Stored, ...]:
    """All in use, or all that are archived, with their keys and versions."""
    return tuple(_stored(row, kind) for row in _rows(session, kind, archived=archived))


def find(session: Session, kind: type[D], key: str | int) -> D | None:
    """One by its key, archived ones too: old plans refer to them."""
    row = session.get(TABLES[kind], _key(kind, str(key)))
    return None if row is None else to_domain(row, kind)


def find_all(session: Session, kind: type[D], keys: Iterable[str]) -> dict[str, D | None]:
    """Several by their keys, archived ones too, asked for at once; none where there is none such."""
    asked = {key: _key(kind, key) for key in keys}
    (primary,) = TABLES[kind].__table__.primary_key.columns  # type: ignore[attr-defined]
    rows = session.exec(select(TABLES[kind]).where(primary.in_(asked.values()))).all() if asked else ()
    found = {_key_of(row): to_domain(row, kind) for row in rows}
    return {key: found.get(one) for key, one in asked.items()}


def find_stored(session: Session, kind: type[Any], key: str) -> Stored | None:
    row = session.get(TABLES[kind], _key(kind, key))
    return None if row is None else _stored(row, kind)


def add(session: Session, entity: Any) -> None:
    """A new one at the end of its list. Raises ``InvalidValue`` when its key is taken."""
    table = TABLES[type(entity)]
    row = new_row(table, entity)
    key = _key_of(row)
    if key is not None and session.get(table, key) is not None:
        raise InvalidValue("id", f"“{key}” is taken (perhaps by something archived); choose another")
    row.position = _next_position(session, table)
    with _worded(session):
        session.add(row)
        session.flush()
        _settle(session, row)


def change(session: Session, key: str, entity: Any, version: int) -> None:
    """Save an edit of what was read as ``version``. Raises ``Edited`` when it is not the newest."""
    kind = type(entity)
    row = session.get(TABLES[kind], _key(kind, key))
    if row is None or row.version != version:
        raise Edited
    with _worded(session):
        _settle(session, row, entity)


def put(session: Session, entity: Any) -> None:
    """Add it, or make the one that is there equal to it, and bring it back from the archive."""
    table = TABLES[type(entity)]
    key = _key_of(new_row(table, entity))
    row = None if key is None else session.get(table, key)
    if row is None:
        add(session, entity)
        return
    with _worded(session):
        row.archived_at = None
        _settle(session, row, entity)


def archive(session: Session, kind: type[Any], key: str) -> bool:
    """Take it out of the lists; it is never deleted. False when there is none such."""
    row = session.get(TABLES[kind], _key(kind, key))
    if row is None:
        return False
    row.archived_at = utc_now()
    session.flush()
    return True


def restore(session: Session, kind: type[Any], key: str) -> bool:
    """Bring it back from the archive. False when there is none such."""
    row = session.get(TABLES[kind], _key(kind, key))
    if row is None:
        return False
    row.archived_at = None
    session.flush()
    return True


def archive_others(session: Session, kind: type[Any], keep: set[str]) -> None:
    """Archive all of a kind whose keys are not in ``keep``."""
    for row in _rows(session, kind):
        if str(_key_of(row)) not in keep:
            row.archived_at = utc_now()


def set_order(session: Session, kind: type[Any], keys: list[str]) -> None:
    """Put the list into the order of ``keys``."""
    for position, key in enumerate(keys):
        row = session.get(TABLES[kind], _key(kind, key))
        if row is not None:
            row.position = position
    session.flush()


def key_text(entity: Any) -> str:
    """The key of a domain value as it stands in addresses."""
    return str(entity.investment if isinstance(entity, Powder) else entity.id)


def _settle(session: Session, row: Kept, entity: Any = None) -> None:
    """Make a row equal to ``entity``. A mass, a composition or an owner that comes with it is an entry of
    the books: they stay whole."""
    made_of = row.composition if isinstance(row, LotRow) else None
    if entity is not None:
        copy_into(row, entity)
        session.flush()
    if isinstance(row, LotRow | PowderRow):
        stock.settled(session, row)
    if isinstance(row, ConsumableRow):
        supplies.settled(session, row)
    if isinstance(row, LotRow) and row.composition != made_of:
        stock.reassayed(session, row)


@contextmanager
def _worded(session: Session) -> Iterator[None]:
    """What the database refuses is taken back, and said in the words of its rule's name."""
    try:
        with session.begin_nested():
            yield
    except IntegrityError as error:
        rule = broken_rule(error).replace("_", " ")
        raise InvalidValue("", f"these values do not go together ({rule})") from error


def _rows(session: Session, kind: type[Any], *, archived: bool = False) -> list[Kept]:
    table = TABLES[kind]
    (primary,) = table.__table__.primary_key.columns  # type: ignore[attr-defined]
    when = col(table.archived_at)
    query = select(table).where(when.is_not(None) if archived else when.is_(None)).order_by(col(table.position), primary)
    return list(session.exec(query).all())


def _stored(row: Kept, kind: type[Any]) -> Stored:
    return Stored(str(_key_of(row)), row.version, to_domain(row, kind), row.archived_at is not None)


def _key_of(row: Kept) -> str | int | None:
    name = "investment" if isinstance(row, PowderRow) else "id"
    return cast("str | int | None", getattr(row, name, None))


def _key(kind: type[Any], key: str) -> str | int:
    """Closures and the rules have whole numbers for keys."""
    if kind in (Outage, ShopRules):
        return int(key) if key.isascii() and key.isdigit() and len(key) < 19 else -1
    return key


def _next_position(session: Session, table: type[Kept]) -> int:
    highest = session.exec(select(func.max(table.position))).one()
    return 0 if highest is None else highest + 1
