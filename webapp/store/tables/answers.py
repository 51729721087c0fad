"""What changes that carried a key were answered."""

from datetime import datetime
from typing import ClassVar

from sqlalchemy import Text
from sqlmodel import Field

from webapp.store.columns import InstantColumn, kept
from webapp.store.tables.base import Table


class KeptAnswer(Table, table=True):
    """``key``: made by the client. ``who``: the account, empty where nobody is asked. ``digest``: of what was typed.
    ``location`` and ``said``: where the answer leads and what it reports; ``body``: what it shows where it leads nowhere."""

    __tablename__: ClassVar[str] = "kept_answer"

    key: str = Field(primary_key=True)
    path: str
    who: str
    digest: str
    status: int
    location: str = ""
    said: str = ""
    body: str = kept(Text, default="")
    at: datetime = kept(InstantColumn, index=True)
