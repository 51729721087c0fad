"""The week and the plan leave the app as JSON documents, and a week comes in as one."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any, TypeAlias

from pydantic import ValidationError

from domain.errors import DomainError
from domain.planning.names import renamed
from domain.saying import say
from domain.week.week import Week
from webapp.actions.planning import shop_now
from webapp.exchange.documents import PlanDocument, WeekDocument
from webapp.exchange.loading import load_document, problems_of
from webapp.settings import Settings
from webapp.store import flasks, nouns, plans
from webapp.store.engine import Database, Session
from webapp.store.replacing import copy_of
from webapp.store.week import load_week, save_week

KEPT_UPLOADS = 5

ById: TypeAlias = Mapping[str, Any]
KINDS: tuple[tuple[str, Callable[[Week], Iterable[Any]]], ...] = (
    (say("jobs"), lambda week: week.jobs),
    (say("metal lots"), lambda week: week.lots),
    (say("powders"), lambda week: week.powders),
    (say("consumables"), lambda week: week.consumables or ()),
    (say("alloys"), lambda week: week.shop.alloys),
    (say("pattern materials"), lambda week: week.shop.materials),
    (say("flask sizes"), lambda week: week.shop.sizes),
    (say("investments"), lambda week: week.shop.investments),
    (say("burnout programs"), lambda week: week.shop.programs),
    (say("kilns"), lambda week: week.shop.kilns),
    (say("machines"), lambda week: week.shop.machines),
    (say("people"), lambda week: week.shop.people),
    (say("metals to buy"), lambda week: week.shop.metals),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What a list would become: ids that are new, that differ, that are archived; how many stay."""

    what: str
    new: tuple[str, ...]
    changed: tuple[str, ...]
    gone: tuple[str, ...]
    same: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Preview:
    """A week that was sent and is sound, but not yet loaded. ``key`` finds it again."""

    key: str
    made_for: datetime
    jobs: int
    changes: tuple[Change, ...]
    rules_change: bool
    closures_change: bool
    plan_comes: bool
    plan_goes: bool


def week_document(db: Database, settings: Settings) -> WeekDocument:
    """The week as it stands now. Raises ``DomainError`` where it contradicts itself."""
    with db.read() as session:
        week = load_week(session, shop_now(session, settings))
    try:
        return WeekDocument.from_domain(week)
    except ValidationError as error:
        first = problems_of(error)[0]
        raise DomainError(say("The week contradicts itself, so it cannot be written as a file: {first}.", first=first)) from None


def plan_document(db: Database) -> PlanDocument | None:
    """The current plan, none where there is none yet."""
    with db.read() as session:
        stored = plans.current_plan(session)
    return None if stored is None else PlanDocument.of(stored.plan, stored.clock)


def preview_week(db: Database, settings: Settings, data: bytes) -> Preview:
    """Reads a week document, keeps it aside and says what loading it would change.

    Raises ``WrongDocument`` with every error by its path.
    """
    week = load_document(WeekDocument, data).to_domain()
    key = _set_aside(settings, data)
    with db.read() as session:
        there = load_week(session, shop_now(session, settings))
        plan_there = plans.current_plan(session) is not None
    return Preview(
        key=key,
        made_for=week.now,
        jobs=len(week.jobs),
        changes=_changes(there, week),
        rules_change=there.shop.rules != week.shop.rules,
        closures_change=there.shop.closures != week.shop.closures,
        plan_comes=week.previous is not None,
        plan_goes=plan_there and week.previous is None,
    )


def _changes(there: Week, comes: Week) -> tuple[Change, ...]:
    """A week that says nothing of consumables changes none."""
    comes = replace(comes, consumables=there.consumables) if comes.consumables is None else comes
    return tuple(_change(what, _by_id(of(there)), _by_id(of(comes))) for what, of in KINDS)


def load_previewed(db: Database, settings: Settings, key: str) -> Path:
    """Loads what was previewed, in one step; returns the copy of what was there before.

    Raises ``DomainError`` where it is not there any more or no copy can be made; nothing has then
    changed.
    """
    path = _aside(settings) / f"{key}.json"
    if not re.fullmatch("[0-9a-f]{64}", key) or not path.is_file():
        raise DomainError(say("The file that you looked at is not kept any more. Choose it once more."))
    week = load_document(WeekDocument, path.read_bytes()).to_domain()
    with db.write() as session:
        copy = copy_of(db, settings.folder / "copies", shop_now(session, settings))
        replace_week(session, week)
    return copy


def replace_week(session: Session, week: Week) -> None:
    """Makes the store hold this week. What is not in it is archived; without a previous plan no plan
    is current."""
    week = _with_names_of_its_own(session, week)
    for flask in flasks.pins(session).keys() - week.pinned:
        flasks.unpin(session, flask)
    if week.previous is None:
        plans.retire_current(session)
    save_week(session, week)


def _with_names_of_its_own(session: Session, week: Week) -> Week:
    """The week with other ids for those of its flasks whose ids stand in the record of another flask."""
    if week.previous is None:
        return week
    there = load_week(session, week.now).previous
    same = {flask.id for flask in there.flasks if flask in week.previous.flasks} if there else set()
    taken = flasks.happened(session).keys() - same
    ids = {flask.id for flask in week.previous.flasks}
    names = {flask: _free(flask, taken | ids) for flask in ids & taken}
    return replace(
        week,
        previous=renamed(week.previous, lambda flask: names.get(flask, flask)),
        pinned=frozenset(names.get(flask, flask) for flask in week.pinned),
    )


def _free(flask: str, used: set[str]) -> str:
    count = 2
    while f"{flask}-{count}" in used:
        count += 1
    return f"{flask}-{count}"


def _change(what: str, there: ById, comes: ById) -> Change:
    return Change(
        what=what,
        new=tuple(key for key in comes if key not in there),
        changed=tuple(key for key in comes if key in there and comes[key] != there[key]),
        gone=tuple(key for key in there if key not in comes),
        same=sum(1 for key in comes if there.get(key) == comes[key]),
    )


def _by_id(entities: Iterable[Any]) -> ById:
    return {nouns.key_text(entity): entity for entity in entities}


def _aside(settings: Settings) -> Path:
    return settings.folder / "sent"


def _set_aside(settings: Settings, data: bytes) -> str:
    """Keeps what was sent until it is confirmed; only the newest few."""
    key, folder = hashlib.sha256(data).hexdigest(), _aside(settings)
    folder.mkdir(parents=True, exist_ok=True)
    (folder / f"{key}.json").write_bytes(data)
    for old in sorted(folder.glob("*.json"), key=lambda path: path.stat().st_mtime, reverse=True)[KEPT_UPLOADS:]:
        old.unlink(missing_ok=True)
    return key
