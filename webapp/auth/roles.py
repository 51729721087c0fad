"""Roles, and who is asking."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Role(StrEnum):
    """``BOARD``: a screen on the wall that only shows the week."""

    OWNER = "owner"
    MANAGER = "manager"
    CASTER = "caster"
    BOARD = "board"


@dataclass(frozen=True, slots=True, kw_only=True)
class Who:
    """``account``: none where nobody signed in because the server is for this machine alone.
    ``person``: the caster of the shop that the account belongs to. ``tablet``: the enrolled device. ``access``: the
    name of the access through which other software acts, empty for a person."""

    account: int | None
    name: str
    role: Role
    person: str | None = None
    tablet: int | None = None
    access: str = ""


THIS_MACHINE = Who(account=None, name="This machine", role=Role.OWNER)
"""Who asks where no sign-in is asked for."""


def may_manage(who: Who, role: Role) -> bool:
    """Whether accounts of ``role`` are theirs to make and to end."""
    return who.role is Role.OWNER or (who.role is Role.MANAGER and role in (Role.CASTER, Role.BOARD))


def may_let_in(who: Who, role: Role) -> bool:
    """Whether other software may get ``role`` from them: never one above their own."""
    return who.role is Role.OWNER or (who.role is Role.MANAGER and role is not Role.OWNER)
