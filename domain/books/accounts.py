"""The accounts between which metal moves."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from domain.saying import Saying, say


class AccountKind(StrEnum):
    """What an account stands for; in brackets what its ``ref`` names.

    supplier (metal or investment id) · customer (job whose metal it is) · lot (lot) · powder (investment
    kind) · melt (flask) · job (job) · returns: buttons and sprues weighed, not yet back on the shelf
    (flask) · loss (flask) · mould: powder that was used (flask, or empty) · refiner (``pot`` in the house,
    ``sent``) · adjustment (a ``Reason``)
    """

    SUPPLIER = "supplier"
    CUSTOMER = "customer"
    LOT = "lot"
    POWDER = "powder"
    MELT = "melt"
    JOB = "job"
    RETURNS = "returns"
    LOSS = "loss"
    MOULD = "mould"
    REFINER = "refiner"
    ADJUSTMENT = "adjustment"


MAY_OWE = frozenset({AccountKind.SUPPLIER, AccountKind.CUSTOMER, AccountKind.ADJUSTMENT})
"""Accounts outside the house: what came from them is less than nothing there. No other ever is."""

OWNED = frozenset({AccountKind.LOT, AccountKind.MELT, AccountKind.RETURNS})
"""Accounts that hold either the shop's metal or one customer's, never both."""


class Reason(StrEnum):
    """Why a count differs from the books, or metal left or came without a flask."""

    OPENING = "opening balance"
    WEIGHING = "weighing"
    SPILLAGE = "spillage and filings"
    UNRECORDED_RETURN = "return not written down"
    UNRECORDED_USE = "use not written down"
    MISSING = "missing, not explained"
    ASSAY = "assay"
    OTHER_USE = "other use"
    OTHER = "other"


REASONS = {
    Reason.OPENING: say("opening balance"),
    Reason.WEIGHING: say("weighing"),
    Reason.SPILLAGE: say("spillage and filings"),
    Reason.UNRECORDED_RETURN: say("return not written down"),
    Reason.UNRECORDED_USE: say("use not written down"),
    Reason.MISSING: say("missing, not explained"),
    Reason.ASSAY: say("assay"),
    Reason.OTHER_USE: say("other use"),
    Reason.OTHER: say("other"),
}
KINDS = {
    AccountKind.SUPPLIER: say("supplier"),
    AccountKind.CUSTOMER: say("customer"),
    AccountKind.LOT: say("lot"),
    AccountKind.POWDER: say("powder"),
    AccountKind.MELT: say("melt"),
    AccountKind.JOB: say("job"),
    AccountKind.RETURNS: say("returns"),
    AccountKind.LOSS: say("loss"),
    AccountKind.MOULD: say("mould"),
    AccountKind.REFINER: say("refiner"),
    AccountKind.ADJUSTMENT: say("adjustment"),
}
COUNT_REASONS = (
    Reason.WEIGHING,
    Reason.SPILLAGE,
    Reason.UNRECORDED_RETURN,
    Reason.UNRECORDED_USE,
    Reason.MISSING,
    Reason.OTHER,
)
"""What a person may choose after a count; other asks for words."""


@dataclass(frozen=True, slots=True, order=True)
class Account:
    kind: AccountKind
    ref: str = ""

    def __str__(self) -> str:
        return f"{self.kind} {self.ref}".strip()

    @property
    def words(self) -> Saying:
        """The same, to be said."""
        return say("{kind} {ref}", kind=KINDS[self.kind], ref=self.ref) if self.ref else KINDS[self.kind]


POT = Account(AccountKind.REFINER, "pot")
SENT = Account(AccountKind.REFINER, "sent")


def lot(ref: str) -> Account:
    return Account(AccountKind.LOT, ref)


def melt(flask: str) -> Account:
    return Account(AccountKind.MELT, flask)


def returns(flask: str) -> Account:
    return Account(AccountKind.RETURNS, flask)


def adjustment(reason: Reason) -> Account:
    return Account(AccountKind.ADJUSTMENT, reason)
