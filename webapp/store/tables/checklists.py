"""What the shop has made of the starting checklist: one row for each point that it changed or added."""

from collections.abc import Mapping
from typing import ClassVar

from domain.safety.points import Pause, Reading
from webapp.store.columns import JsonOf, at_least, checks, kept, one_of
from webapp.store.tables.base import Entity


class ChecklistPointRow(Entity, table=True):
    """For a point of the starting list, an empty column means: as it starts. ``dropped``: left out of
    the list, but never gone. ``reason``: why a point with a caution is left out or optional."""

    __tablename__: ClassVar[str] = "checklist_point"
    __table_args__ = (
        *at_least(0, "position"),
        *checks(
            text_is_short="length(text) BETWEEN 1 AND 89",
            why_is_short="length(why) <= 160",
            own_is_whole="substr(id, 1, 4) <> 'own-' OR (text IS NOT NULL AND required IS NOT NULL AND reading IS NOT NULL)",
        ),
    )

    pause: Pause = kept(one_of(Pause))
    text: str | None = None
    why: str | None = None
    required: bool | None = None
    reading: Reading | None = kept(one_of(Reading), nullable=True, default=None)
    second: bool | None = None
    dropped: bool = False
    reason: str = ""
    conditions: Mapping[str, str | bool] = kept(JsonOf(dict[str, bool | str]), default_factory=dict)
