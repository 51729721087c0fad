"""Accounts, tablets, sign-ins and wrong tries in the database."""

from __future__ import annotations

from sqlmodel import col, delete, select

from domain.errors import InvalidValue
from webapp.auth.keys import token_digest
from webapp.auth.roles import Role, Who
from webapp.store.engine import Session
from webapp.store.tables.access import AccessRow
from webapp.store.tables.accounts import AccountRow, SignInRow, TabletRow, WrongTriesRow

__all__ = ["AccountRow", "TabletRow"]

FREE_TRIES = 5
FIRST_WAIT, LONGEST_WAIT = 30, 900
"""Seconds"""


def any_account(session: Session) -> bool:
    return session.exec(select(AccountRow.id).limit(1)).first() is not None


def accounts(session: Session) -> tuple[AccountRow, ...]:
    """Those that are not ended, by role and name."""
    rows = session.exec(select(AccountRow).where(col(AccountRow.ended).is_(False))).all()
    return tuple(sorted(rows, key=lambda row: (list(Role).index(row.role), row.name.casefold())))


def account(session: Session, id: int) -> AccountRow | None:
    row = session.get(AccountRow, id)
    return None if row is None or row.ended else row


def account_named(session: Session, name: str) -> AccountRow | None:
    return next((row for row in accounts(session) if row.name.casefold() == name.strip().casefold()), None)


def add_account(session: Session, name: str, role: Role, *, person: str | None, password: str | None, pin: str | None) -> int:
    """``password`` and ``pin`` as they are kept. A name is free again only after its account has ended."""
    if account_named(session, name) is not None:
        raise InvalidValue("name", f"there is an account named {name} already; choose another name")
    former = session.exec(select(AccountRow).where(AccountRow.name == name)).first()
    if former is not None:
        former.name = f"{name} (ended {former.id})"
        session.flush()
    row = AccountRow(name=name, role=role, person=person, password=password, pin=pin)
    session.add(row)
    session.flush()
    assert row.id is not None  # the database has just given it
    return row.id


def end_account(session: Session, row: AccountRow) -> None:
    """With all its sign-ins and the accesses that it gave to other software."""
    row.ended, row.password, row.pin = True, None, None
    session.exec(delete(AccessRow).where(col(AccessRow.maker) == row.id))
    session.exec(delete(SignInRow).where(col(SignInRow.account) == row.id))


def sign_in(session: Session, token: str, account: int, tablet: int | None, until: int) -> None:
    session.add(SignInRow(token=token_digest(token), account=account, tablet=tablet, until=until))


def forget_sign_ins(session: Session, now: int) -> None:
    """Those that are over."""
    session.exec(delete(SignInRow).where(col(SignInRow.until) <= now))


def change_secret(session: Session, id: int, *, pin: str | None, password: str | None, here: str) -> None:
    """As they are kept; none stays as it is. Its sign-ins end, but for the one whose token is ``here``."""
    row = session.get(AccountRow, id)
    if row is not None:
        row.pin, row.password = pin or row.pin, password or row.password
        others = delete(SignInRow).where(col(SignInRow.account) == id, col(SignInRow.token) != token_digest(here))
        session.exec(others)


def sign_out(session: Session, token: str) -> None:
    session.exec(delete(SignInRow).where(col(SignInRow.token) == token_digest(token)))


def signed_in(session: Session, token: str, now: int) -> Who | None:
    """Who holds this token; none where it is unknown, over, or its account or tablet has ended."""
    found = session.get(SignInRow, token_digest(token)) if token else None
    if found is None or found.until <= now:
        return None
    row = account(session, found.account)
    tablet = session.get(TabletRow, found.tablet) if found.tablet else None
    if row is None or row.id is None or (found.tablet and (tablet is None or tablet.revoked)):
        return None
    return Who(account=row.id, name=row.name, role=row.role, person=row.person, tablet=found.tablet)


def tablets(session: Session) -> tuple[TabletRow, ...]:
    return tuple(session.exec(select(TabletRow).where(col(TabletRow.revoked).is_(False)).order_by(col(TabletRow.id))).all())


def tablet_of(session: Session, token: str) -> TabletRow | None:
    if not token:
        return None
    row = session.exec(select(TabletRow).where(TabletRow.token == token_digest(token))).first()
    return None if row is None or row.revoked else row


def enrol(session: Session, name: str, token: str) -> None:
    session.add(TabletRow(name=name, token=token_digest(token)))


def revoke(session: Session, id: int) -> str | None:
    """Its name; its sign-ins end with it."""
    row = session.get(TabletRow, id)
    if row is None:
        return None
    row.revoked = True
    session.exec(delete(SignInRow).where(col(SignInRow.tablet) == id))
    return row.name


def count_try(session: Session, key: str, now: int) -> int:
    """Counts a try as wrong before it is looked at, so that many at once gain nothing. Returns the seconds
    to wait: 0 where the try may be looked at."""
    row = session.get(WrongTriesRow, key) or WrongTriesRow(key=key)
    if row.until > now:
        return row.until - now
    row.wrong += 1
    if row.wrong >= FREE_TRIES:
        row.until = now + min(LONGEST_WAIT, FIRST_WAIT * 2 ** min(10, row.wrong - FREE_TRIES))
    session.add(row)
    return 0


def forget_tries(session: Session, key: str) -> None:
    session.exec(delete(WrongTriesRow).where(col(WrongTriesRow.key) == key))
