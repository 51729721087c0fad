"""What the pages of things to order have in common: metal, and powder with the other consumables."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import ClassVar, TypedDict

from domain.errors import InvalidValue
from domain.units import Money
from webapp.actions.planning import Desk
from webapp.pages import Page
from webapp.views.prints import SheetHead


@dataclass(frozen=True, slots=True)
class Refused:
    """A form that was not right: of what (``ref``), why, and as it was typed."""

    ref: str
    error: InvalidValue
    typed: Mapping[str, str]


@dataclass(frozen=True, kw_only=True)
class OrderingPage(Page):
    """``cost``: of all lines. ``key``: sent with an order, so that it is made once. ``wrong``: whose form was not right;
    ``errors`` and ``typed`` are that form's."""

    here: ClassVar[str] = "metal"

    planned: bool
    currency: str
    cost: Money
    today: str
    key: str
    wrong: str = ""
    errors: Mapping[str, str] = field(default_factory=dict)
    typed: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class DraftPage(Page):
    """An order on paper, for the supplier."""

    here: ClassVar[str] = "metal"

    head: SheetHead
    currency: str
    cost: Money


class Ordering(TypedDict):
    """The fields of an ``OrderingPage``."""

    planned: bool
    currency: str
    cost: Money
    today: str
    key: str
    wrong: str
    errors: Mapping[str, str]
    typed: Mapping[str, str]


class Draft(TypedDict):
    """The fields of a ``DraftPage``."""

    head: SheetHead
    currency: str
    cost: Money


def ordering(desk: Desk, cost: Money, refused: Refused | None) -> Ordering:
    return Ordering(
        planned=desk.stored is not None,
        currency=desk.problem.rules.currency,
        cost=cost,
        today=desk.now.date().isoformat(),
        key=secrets.token_urlsafe(12),
        wrong=refused.ref if refused else "",
        errors={refused.error.field: str(refused.error)} if refused else {},
        typed=refused.typed if refused else {},
    )


def draft_of(desk: Desk, about: str, cost: Money) -> Draft:
    head = SheetHead(about=about, day=desk.now.date(), version=desk.version, printed=desk.now)
    return Draft(head=head, currency=desk.problem.rules.currency, cost=cost)
