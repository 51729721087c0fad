"""Lists of jobs that are being brought in, and what the shop remembers of lists before."""

from datetime import datetime
from typing import ClassVar

from sqlmodel import Field

from webapp.store.columns import InstantColumn, JsonOf, kept, utc_now
from webapp.store.tables.base import Table


class IntakeDraft(Table, table=True):
    """A list as it was typed, with the user's mapping and answers. Nothing of it is a job yet.

    ``records``: every row's cells. ``heading``: the row of the headings. ``columns``: field → column.
    ``answers``: question kind → (what was asked, answer, its label). ``version`` counts the edits.
    """

    __tablename__: ClassVar[str] = "intake_draft"

    id: str = Field(primary_key=True)
    name: str
    brought_at: datetime = kept(InstantColumn, default_factory=utc_now)
    version: int = 1
    delimiter: str
    encoding: str
    heading: int | None = None
    records: list[list[str]] = kept(JsonOf(list[list[str]]))
    columns: dict[str, int] = kept(JsonOf(dict[str, int]))
    answers: dict[str, tuple[str, str, str]] = kept(JsonOf(dict[str, tuple[str, str, str]]))


class IntakeMemory(Table, table=True):
    """What lists before have taught: ``kind`` ``heading`` (heading → field) or ``alloy`` (question
    kind → alloy). ``asked`` and ``label`` say it in words."""

    __tablename__: ClassVar[str] = "intake_memory"

    kind: str = Field(primary_key=True)
    word: str = Field(primary_key=True)
    meaning: str
    asked: str = ""
    label: str = ""
