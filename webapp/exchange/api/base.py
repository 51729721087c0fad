"""Bodies that are sent, answers that are told, and how a refusal is told."""

from __future__ import annotations

from typing import Generic, TypeVar

from pydantic import BaseModel, ConfigDict, Field

from webapp.exchange.plain import Whole

D = TypeVar("D", bound=BaseModel)


class Sent(BaseModel):
    """A body. What it does not know is refused and not passed over."""

    model_config = ConfigDict(extra="forbid")


class Told(BaseModel):
    """An answer."""

    model_config = ConfigDict(extra="forbid", from_attributes=True)


class FieldProblem(Told):
    field: str = Field(description="Path of the field in what was sent, such as size.width; empty for the whole")
    detail: str = Field(description="What is wrong there, and what to send instead")


class Problem(Told):
    """Why a request was refused, as RFC 9457 has it (application/problem+json)."""

    type: str = Field("about:blank", description="What kind of refusal it is")
    title: str = Field(description="The refusal in a few words")
    status: int = Field(description="The HTTP status")
    detail: str = Field("", description="What happened and what to do")
    errors: tuple[FieldProblem, ...] = Field((), description="What is wrong, field by field")
    open: tuple[str, ...] = Field((), description="Points of a checklist that hold the work back")
    sure: str = Field("", description="Send this text back as “sure” to say yes to what was asked")
    version: int | None = Field(None, description="The newest version, where somebody else was faster")


class Done(Told):
    said: str = Field(description="What was done, in words")


class Kept(Told, Generic[D]):
    """Something that is kept, with what is needed to change it."""

    key: str = Field(description="Its key in addresses")
    version: Whole = Field(description="Send it back with a change, so that nobody's work is overwritten unseen")
    archived: bool = Field(description="True for what is out of use; nothing is ever deleted")
    value: D


class KeptList(Told, Generic[D]):
    items: tuple[Kept[D], ...]


class Changed(Sent, Generic[D]):
    """A change: all of it anew, as it was read, with what is to be different."""

    version: Whole = Field(description="The version that was read")
    value: D
