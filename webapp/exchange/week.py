"""The week as one self-contained document: the shop, its stock, its jobs and what is already fixed."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from domain.planning.clock import Clock
from domain.week.week import Week
from webapp.exchange.document import Document, errors_at, taken_apart
from webapp.exchange.jobs import JobDocument
from webapp.exchange.plain import InOrder, LocalMoment, Name
from webapp.exchange.plan import PlanDocument
from webapp.exchange.references import broken_references
from webapp.exchange.shop import ShopDocument
from webapp.exchange.stock import ConsumableDocument, LotDocument, PowderDocument


class WeekDocument(Document[Week]):
    format: Literal["castweek-week"] = Field(description="Marks the document as a week")
    version: Literal[1] = Field(description="Version of this description")
    shop: ShopDocument = Field(description="Everything that stays from week to week")
    jobs: tuple[JobDocument, ...] = Field(description="What customers want cast")
    lots: tuple[LotDocument, ...] = Field((), description="Metal on the shelf and on its way, in g")
    powders: tuple[PowderDocument, ...] = Field((), description="Investment powder on the shelf, in g")
    consumables: tuple[ConsumableDocument, ...] | None = Field(
        None, description="What casting uses up beside metal and powder; none: those that are known stay as they are"
    )
    now: LocalMoment = Field(description="Local time of the shop without offset; nothing is planned before it")
    previous: PlanDocument | None = Field(None, description="The plan that people have read")
    pinned: Annotated[frozenset[Name], InOrder] = Field(
        frozenset(), description="Ids of the previous plan's flasks that do not move"
    )
    weighed: Annotated[frozenset[Name], InOrder] = Field(
        frozenset(), description="Ids of pinned flasks whose charge was weighed; the lots do not hold its metal any more"
    )

    @classmethod
    def from_domain(cls, value: Week) -> Self:
        """The document of a week."""
        values = taken_apart(value)
        if value.previous is not None:
            values["previous"] = PlanDocument.of(value.previous, clock_of(value))
        return cls.model_validate({"format": "castweek-week", "version": 1, **values})

    def to_domain(self) -> Week:
        plain = self.model_copy(update={"previous": None})
        week = super(WeekDocument, plain).to_domain()
        if self.previous is None:
            return week
        return replace(week, previous=self.previous.on_clock(clock_of(week)))

    @model_validator(mode="after")
    def _refers_to_what_is_there(self) -> Self:
        problems = broken_references(self)
        if problems:
            raise errors_at("WeekDocument", problems)
        return self


def clock_of(week: Week) -> Clock:
    """The clock of the week's plans: minute 0 is local midnight of ``now``'s day."""
    return Clock(week.now.date(), week.shop.rules.timezone)
