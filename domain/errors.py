"""Errors of the trade, worded for the person at the bench."""

from domain.saying import say


class DomainError(Exception):
    """Something the trade does not allow. ``str(error)`` may be shown to a user as it is."""


class InvalidValue(DomainError):
    """One value is missing, malformed or out of range.

    ``field`` names the value in the user's terms, so that the message can stand beside it.
    """

    def __init__(self, field: str, message: str) -> None:
        super().__init__(message)
        self.field = field


class CannotCompose(DomainError):
    """No charge can be composed: ``blocker`` names the element, lot or limit in the way and
    ``remedy`` what would mend it."""

    def __init__(self, blocker: str, remedy: str) -> None:
        super().__init__(say("{blocker}. {remedy}", blocker=blocker, remedy=remedy))
        self.blocker = blocker
        self.remedy = remedy
