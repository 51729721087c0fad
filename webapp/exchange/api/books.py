"""The books as other software reads them."""

from __future__ import annotations

from pydantic import Field

from webapp.exchange.api.base import Sent, Told
from webapp.exchange.plain import Integer, Name, Text, Whole


class PostingDocument(Told):
    kind: Name = Field(description="Kind of the account")
    ref: Text = Field(description="What the account is of: a lot, a flask, a job …; may be empty")
    mass: float = Field(description="What came into it, in g; less than 0 for what left it")
    elements: dict[str, Integer] = Field(description="The same by chemical symbol, in ng; powder has none")


class EntryDocument(Told):
    number: Whole
    at: Text = Field(description="When, in UTC")
    kind: Name = Field(description="What happened")
    flask: Text | None = Field(description="Id of the flask, where it is about one")
    alloy: Text | None = Field(description="Id of the alloy, where it is about one")
    who: Text
    note: Text
    reverses: Whole | None = Field(description="Number of the entry that it takes back")
    taken_back_by: Whole | None = Field(description="Number of the entry that takes it back")
    postings: tuple[PostingDocument, ...] = Field(description="They sum to nothing, in mass and in every element")


class EntryList(Told):
    items: tuple[EntryDocument, ...] = Field(description="Entries, the newest first")
    older: Whole | None = Field(description="Send it as “before” for the next part; none where there is no more")


class AccountDocument(Told):
    kind: Name
    ref: Text = Field(description="What it is of; may be empty")
    mass: float = Field(description="What it holds, in g; less than 0 for what came from outside")
    elements: dict[str, Integer] = Field(description="The same by chemical symbol, in ng")


class AccountList(Told):
    items: tuple[AccountDocument, ...]


class TakeBack(Sent):
    reason: Text = Field(description="Why it is taken back; kept with the counter-entry")
