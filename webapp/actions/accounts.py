"""Signing in and out, and the accounts and tablets of the shop."""

from __future__ import annotations

import hmac
import secrets
import time

from domain.errors import DomainError, InvalidValue
from domain.saying import say
from domain.shop.casting import Person
from webapp.auth.keys import checked_password, checked_pin, is_secret, kept_secret, new_token
from webapp.auth.roles import Role, Who, may_manage
from webapp.store import accounts as store
from webapp.store import nouns
from webapp.store.accounts import AccountRow
from webapp.store.engine import Database, Session

DAY = 24 * 3600
LASTS = {Role.OWNER: 7 * DAY, Role.MANAGER: 7 * DAY, Role.CASTER: 7 * DAY, Role.BOARD: 365 * DAY}
"""Seconds that a sign-in with a password lasts."""
SHIFT = 12 * 3600
"""Seconds that a switch by PIN lasts."""
WRONG = say("The name or the password is not right.")


def first_code(db: Database) -> str:
    """A code for making the first owner, once; empty where there are accounts."""
    with db.read() as session:
        return "" if store.any_account(session) else secrets.token_hex(5)


def first_owner(db: Database, right_code: str, typed: dict[str, str], came_from: str) -> str:
    """Makes the first owner; returns the token of the sign-in."""
    with db.write() as session:
        _count(session, f"first:{came_from}")
    if not right_code or not hmac.compare_digest(right_code.encode(), typed.get("code", "").strip().lower().encode()):
        raise InvalidValue("code", say("this is not the code that the server printed when it started"))
    name, password = _name(typed), kept_secret(checked_password(typed.get("password", "")))
    with db.write() as session:
        if store.any_account(session):
            raise InvalidValue("code", say("the first owner's account is made already; sign in"))
        account = store.add_account(session, name, Role.OWNER, person=None, password=password, pin=None)
        return _token(session, account, None, LASTS[Role.OWNER])


def by_password(db: Database, typed: dict[str, str], came_from: str) -> str:
    """The token of a new sign-in. Five wrong tries for one name from one place, then each waits."""
    name = typed.get("name", "").strip()[:80]
    key = f"password:{came_from}:{name.casefold()}"
    with db.write() as session:
        _count(session, key)
        row = store.account_named(session, name)
    if not is_secret(typed.get("password", ""), row.password if row else None):
        raise InvalidValue("password", WRONG)
    assert row is not None
    assert row.id is not None  # a password was kept for it
    return _signed_in(db, key, row.id, None, LASTS[row.role])


def by_pin(db: Database, device: str, typed: dict[str, str]) -> str:
    """The same by PIN, on an enrolled tablet alone. Wrong tries count for this tablet and this account."""
    with db.read() as session:
        tablet = store.tablet_of(session, device)
        row = store.account(session, _number(typed.get("account", "")))
    if tablet is None:
        raise InvalidValue("pin", say("this device is not enrolled; a manager enrols it under People"))
    if row is None or row.id is None:
        raise InvalidValue("pin", say("choose who you are"))
    key = f"pin:{tablet.id}:{row.id}"
    with db.write() as session:
        _count(session, key)
    if not is_secret(typed.get("pin", ""), row.pin):
        raise InvalidValue("pin", say("The PIN is not right."))
    return _signed_in(db, key, row.id, tablet.id, SHIFT)


def signature(db: Database, device: str, typed: dict[str, str], came_from: str) -> AccountRow:
    """Who signs besides whoever is signed in: by PIN on an enrolled tablet, or by password. Wrong tries count with
    those of signing in. Raises ``InvalidValue`` for ``second`` or ``secret``."""
    with db.read() as session:
        tablet = store.tablet_of(session, device)
        row = store.account(session, _number(typed.get("second", "")))
    if row is None or row.id is None or row.role is Role.BOARD:
        raise InvalidValue("second", say("choose who signs"))
    key = f"pin:{tablet.id}:{row.id}" if tablet else f"password:{came_from}:{row.name.casefold()}"
    with db.write() as session:
        wait = store.count_try(session, key, now())
    if wait:
        raise InvalidValue("secret", say("too many wrong tries; {name} can sign in {wait} seconds", name=row.name, wait=wait))
    secret = typed.get("secret", "")
    if not (is_secret(secret, row.pin if tablet else None) or is_secret(secret, row.password)):
        raise InvalidValue(
            "secret",
            say("this is not {name}'s PIN or password", name=row.name)
            if tablet
            else say("this is not {name}'s password", name=row.name),
        )
    with db.write() as session:
        store.forget_tries(session, key)
    return row


def sign_out(db: Database, token: str) -> None:
    with db.write() as session:
        store.sign_out(session, token)


def add_account(db: Database, who: Who, typed: dict[str, str]) -> str:
    """What is reported. A caster may do with a PIN alone; everybody else has a password."""
    role = next((r for r in Role if r == typed.get("role")), None)
    if role is None or not may_manage(who, role):
        raise InvalidValue("role", say("choose a role that is yours to give"))
    name, person = _name(typed), typed.get("person", "") or None
    pin = kept_secret(checked_pin(typed["pin"])) if typed.get("pin") and role is Role.CASTER else None
    needs_password = bool(typed.get("password")) or pin is None
    password = kept_secret(checked_password(typed.get("password", ""))) if needs_password else None
    with db.write() as session:
        if person and person not in {p.id for p in nouns.all_of(session, Person)}:
            raise InvalidValue("person", say("choose one of the shop's people"))
        store.add_account(session, name, role, person=person, password=password, pin=pin)
    return say("{name} can sign in as {role}", name=name, role=say(role))


def change_secret(db: Database, who: Who, typed: dict[str, str], came_from: str, here: str) -> str:
    """Whoever is signed in (by the token ``here``) gives themselves another PIN (of a caster) or password, and is
    signed out everywhere else. Raises ``InvalidValue`` for ``current``, ``pin``, ``password`` or ``wait``."""
    if who.account is None:
        raise DomainError(say("Nobody is signed in here, so there is no PIN or password to change."))
    with db.read() as session:
        row = store.account(session, who.account)
    key = f"secret:{came_from}:{who.account}"
    with db.write() as session:
        _count(session, key)
    current = typed.get("current", "")
    if row is None or not any([is_secret(current, row.password), is_secret(current, row.pin)]):
        raise InvalidValue("current", say("this is not the PIN or password that you have now"))
    pin = kept_secret(checked_pin(typed["pin"])) if typed.get("pin") and row.role is Role.CASTER else None
    password = kept_secret(checked_password(typed["password"])) if typed.get("password") else None
    if pin is None and password is None:
        raise InvalidValue("pin" if row.role is Role.CASTER else "password", say("type the new one"))
    with db.write() as session:
        store.forget_tries(session, key)
        store.change_secret(session, who.account, pin=pin, password=password, here=here)
    new = say("PIN and a new password") if pin and password else say("PIN") if pin else say("password")
    return say("{name} has a new {secrets}.", name=who.name, secrets=new)


def end_account(db: Database, who: Who, id: int) -> str:
    with db.write() as session:
        row = store.account(session, id)
        if row is None:
            return say("That account has ended already")
        if not may_manage(who, row.role):
            raise DomainError(say("An account of the role {role} is the owner's to end", role=say(row.role)))
        owners = [a for a in store.accounts(session) if a.role is Role.OWNER]
        if row.role is Role.OWNER and len(owners) == 1:
            raise DomainError(say("The last owner's account cannot be ended; make another owner first"))
        store.end_account(session, row)
        return say("{name}'s account has ended, and is signed out everywhere", name=row.name)


def enrol(db: Database, name: str) -> str:
    """The token that the tablet's browser is to hold."""
    if not 1 <= len(name.strip()) <= 60:
        raise InvalidValue("device", say("give this tablet a name, such as Bench 1"))
    token = new_token()
    with db.write() as session:
        store.enrol(session, name.strip(), token)
    return token


def revoke(db: Database, id: int) -> str:
    with db.write() as session:
        name = store.revoke(session, id)
    return (
        say("{name} is withdrawn, and whoever was there by PIN is signed out", name=name)
        if name
        else say("There is no such tablet")
    )


def now() -> int:
    """Seconds since 1970: sign-ins and waits go by the server's real clock."""
    return int(time.time())


def _signed_in(db: Database, key: str, account: int, tablet: int | None, lasts: int) -> str:
    with db.write() as session:
        if store.account(session, account) is None:
            raise InvalidValue("password", WRONG)
        store.forget_tries(session, key)
        return _token(session, account, tablet, lasts)


def _token(session: Session, account: int, tablet: int | None, lasts: int) -> str:
    token = new_token()
    store.forget_sign_ins(session, now())
    store.sign_in(session, token, account, tablet, now() + lasts)
    return token


def _count(session: Session, key: str) -> None:
    wait = store.count_try(session, key, now())
    if wait:
        raise InvalidValue(
            "wait", say("Too many wrong tries. Wait {wait} seconds, then try again; others can sign in meanwhile.", wait=wait)
        )


def _name(typed: dict[str, str]) -> str:
    name = " ".join(typed.get("name", "").split())
    if not 1 <= len(name) <= 80 or not name.isprintable():
        raise InvalidValue("name", say("type a name of at most 80 letters"))
    return name


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else 0
