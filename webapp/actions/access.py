"""Letting other software in by a token, and ending that."""

from __future__ import annotations

from domain.errors import DomainError, InvalidValue
from webapp.auth.keys import new_token
from webapp.auth.roles import Role, Who, may_let_in
from webapp.steady import utc_now
from webapp.store import access as store
from webapp.store.engine import Database

LONGEST_NAME = 60
MARK = "castweek_"
"""how every token begins, so that one that lies about is known for what it is"""


def give(db: Database, who: Who, typed: dict[str, str]) -> str:
    """The token of a new access, which nothing can tell again. Raises ``InvalidValue`` for ``name`` or ``role``."""
    name = " ".join(typed.get("name", "").split())
    if not 1 <= len(name) <= LONGEST_NAME or not name.isprintable():
        raise InvalidValue("name", f"say what will use it, in at most {LONGEST_NAME} letters, such as Order sheet")
    role = next((r for r in Role if r == typed.get("role")), None)
    if role is None or not may_let_in(who, role):
        raise InvalidValue("role", "choose a role that is yours to give")
    token = MARK + new_token()
    with db.write() as session:
        store.add_access(session, name, role, token, who.account)
    return token


def end(db: Database, who: Who, id: int) -> str:
    with db.write() as session:
        row = store.access(session, id)
        if row is None:
            return "That access has ended already"
        if not may_let_in(who, row.role):
            raise DomainError(f"An access of the role {row.role} is the owner's to end")
        name = row.name
        store.end_access(session, row)
    return f"The access of {name} has ended; its token opens nothing now"


def asks(db: Database, token: str) -> Who | None:
    """As whom a token acts; none where it is unknown or ended. Once a day it is written down that it was used."""
    if not token.startswith(MARK):
        return None
    today = utc_now().date().isoformat()
    with db.read() as session:
        found = store.who_asks(session, token)
    if found is None:
        return None
    row, who = found
    if row.used_on != today and row.id is not None:
        with db.write() as session:
            store.used(session, row.id, today)
    return who
