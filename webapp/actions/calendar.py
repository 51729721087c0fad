"""The week for calendars outside: as a file, and under addresses that are made and withdrawn."""

from __future__ import annotations

from domain.errors import InvalidValue
from domain.saying import say
from webapp.actions.planning import load_desk
from webapp.auth.keys import new_token
from webapp.exchange.calendar import entries_of, nothing_planned, written
from webapp.settings import Settings
from webapp.steady import utc_now
from webapp.store import calendar_feeds as store
from webapp.store.engine import Database, Session
from webapp.store.plans import first_made

LONGEST_NAME = 60


def week_calendar(session: Session, settings: Settings) -> bytes:
    """The current plan. The moment of the shop's very first plan tells its entries from another shop's."""
    desk = load_desk(session, settings)
    born = first_made(session)
    if desk.plan is None or desk.stored is None or born is None or not desk.plan.flasks:
        return nothing_planned(desk.now.date(), utc_now())
    entries = entries_of(desk.problem, desk.plan)
    return written(entries, shop=f"{born:%Y%m%dT%H%M%S%f}", made_at=desk.stored.made_at, version=desk.version)


def fed(db: Database, settings: Settings, token: str) -> bytes | None:
    """The week for whoever has the address of a feed; none where it is unknown or withdrawn."""
    with db.read() as session:
        return week_calendar(session, settings) if store.is_feed(session, token) else None


def make_feed(db: Database, typed: dict[str, str]) -> str:
    """The token of a new feed, which nothing can tell again. Raises ``InvalidValue`` for ``name``."""
    name = " ".join(typed.get("name", "").split())
    if not 1 <= len(name) <= LONGEST_NAME or not name.isprintable():
        raise InvalidValue("name", say("say who will read it, in at most {most} letters, such as Bench tablet", most=LONGEST_NAME))
    token = new_token()
    with db.write() as session:
        store.add_feed(session, name, token)
    return token


def withdraw(db: Database, id: int) -> str:
    with db.write() as session:
        name = store.withdraw(session, id)
    if not name:
        return say("That feed was withdrawn already")
    return say("The feed {name} is withdrawn; its address leads nowhere now", name=name)
