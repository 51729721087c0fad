"""What the books keep as words of their own, as pages say it."""

from __future__ import annotations

from domain.books.accounts import KINDS, REASONS, AccountKind
from domain.books.entries import EntryKind
from domain.saying import Saying, say
from domain.shop.consumables import UsedPer
from webapp.store.supplies import SupplyMove

WORDS = {
    AccountKind.SUPPLIER: say("supplier"),
    AccountKind.CUSTOMER: say("customer of job"),
    AccountKind.LOT: say("lot"),
    AccountKind.POWDER: say("powder"),
    AccountKind.MELT: say("melt of flask"),
    AccountKind.JOB: say("pieces of job"),
    AccountKind.RETURNS: say("button and sprues of flask"),
    AccountKind.LOSS: say("loss of flask"),
    AccountKind.MOULD: say("mould of flask"),
    AccountKind.REFINER: say("refiner"),
    AccountKind.ADJUSTMENT: say("adjustment"),
}
REFINER = {"pot": say("refiner's lot, in the house"), "sent": say("sent to the refiner")}

ENTRIES = {
    EntryKind.OPENING: say("opening"),
    EntryKind.RECEIPT: say("received"),
    EntryKind.CHARGE: say("charged"),
    EntryKind.CAST: say("cast"),
    EntryKind.SHELVED: say("back on the shelf"),
    EntryKind.ISSUE: say("taken out"),
    EntryKind.RETURN: say("came back"),
    EntryKind.COUNT: say("counted"),
    EntryKind.ASSAY: say("assayed"),
    EntryKind.GIVEN_BACK: say("given back"),
    EntryKind.REFINER: say("to the refiner"),
    EntryKind.INVESTED: say("invested"),
    EntryKind.CORRECTION: say("taken back"),
}
SUPPLIES = {
    SupplyMove.OPENING: say("opening"),
    SupplyMove.RECEIVED: say("received"),
    SupplyMove.TAKEN_OUT: say("taken out"),
    SupplyMove.CAME_BACK: say("came back"),
    SupplyMove.COUNTED: say("counted"),
    SupplyMove.USED: say("used"),
    SupplyMove.CORRECTION: say("taken back"),
}
USES = {
    UsedPer.FLASK: say("flask invested"),
    UsedPer.LOAD: say("kiln load started"),
    UsedPer.CAST: say("flask cast"),
}
REASON_WORDS: dict[str, Saying] = {str(reason): words for reason, words in REASONS.items()}
SOURCES: dict[str, Saying] = REASON_WORDS | {str(AccountKind.SUPPLIER): KINDS[AccountKind.SUPPLIER]}
"""Where consumables came from or went."""
