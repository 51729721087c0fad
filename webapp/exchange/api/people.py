"""Who may use the server."""

from __future__ import annotations

from pydantic import Field

from webapp.exchange.api.base import Told
from webapp.exchange.plain import Name, Text, Whole


class WhoDocument(Told):
    name: Name = Field(description="The name that stands in the record")
    role: Name = Field(description="owner, manager, caster or board")


class AccountOfPerson(Told):
    number: int = Field(description="Names the account in addresses")
    name: Name
    role: Name = Field(description="owner, manager, caster or board")
    person: Text | None = Field(description="Id of the person in the shop's list")


class PeopleList(Told):
    items: tuple[AccountOfPerson, ...]


class ListedPointDocument(Told):
    id: Name
    version: Whole = Field(description="Send it back with a change; 0 for a point as it started")
    pause: Name = Field(description="When work stops for it")
    text: Text = Field(description="What is to be done; in braces the flask fills in its own")
    why: Text = Field(description="What for")
    required: bool
    reading: Name = Field(description="What is read and kept with it")
    second: bool = Field(description="True where another person signs it")
    when: Text = Field(description="What calls for it; empty where every flask does")
    dropped: bool = Field(description="True where the shop leaves it out")


class ChecklistList(Told):
    items: tuple[ListedPointDocument, ...]
