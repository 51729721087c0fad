"""What saving a form comes to, the same for jobs and for the shop's nouns."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from domain.errors import InvalidValue
from domain.shop.lots import Lot, Metal
from webapp.actions.references import unknown
from webapp.exchange.references import WHOLE_TOLERANCE
from webapp.store import nouns
from webapp.store.engine import Session

OVERTAKEN = (
    "Somebody else saved a newer version while you were typing. What you changed is still here as you typed it; what you "
    "left alone now shows theirs. Look it over, then save again to keep it as it stands below."
)


@dataclass(frozen=True, slots=True)
class Saved:
    """``errors``: messages by field, none when it was saved. ``overtaken``: somebody else was faster;
    ``version`` is then the newest one."""

    key: str = ""
    errors: Mapping[str, str] = field(default_factory=dict)
    overtaken: bool = False
    version: int = 0

    @property
    def done(self) -> bool:
        return not self.errors


def add(session: Session, entity: Any, key: str) -> Saved:
    """Add a new one."""
    return _guarded(session, entity, lambda: nouns.add(session, entity), key)


def change(session: Session, key: str, entity: Any, version: int) -> Saved:
    """Save an edit of what was read as ``version``; a newer version is never overwritten unseen."""
    try:
        return _guarded(session, entity, lambda: nouns.change(session, key, entity, version), key)
    except nouns.Edited:
        newest = nouns.find_stored(session, type(entity), key)
        return Saved(key, {"": OVERTAKEN}, overtaken=True, version=newest.version if newest else 0)


def _guarded(session: Session, entity: Any, save: Callable[[], None], key: str) -> Saved:
    wrong = {**unknown(session, entity), **_composition_error(entity)}
    if wrong:
        return Saved(key, wrong)
    try:
        save()
    except InvalidValue as error:
        return Saved(key, {error.field: str(error)})
    return Saved(key)


def _composition_error(entity: Any) -> dict[str, str]:
    if not isinstance(entity, Lot | Metal):
        return {}
    whole = sum(share.base for share in entity.composition.values())
    if abs(whole - 1_000_000) <= WHOLE_TOLERANCE:
        return {}
    return {"composition": f"the shares add up to {whole / 10_000:g} %, not to 100 %"}


def key_from(name: str, taken: Callable[[str], bool]) -> str:
    """A key for addresses from a name: ``Kiln No. 2`` → ``kiln-no-2``, with a number if it is taken."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    base = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60] or "unnamed"
    key, count = base, 1
    while taken(key):
        count += 1
        key = f"{base}-{count}"
    return key
