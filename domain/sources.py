"""Where a number comes from. Every starting value carries one of these marks."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from domain.saying import Saying, listed, say


class Mark(StrEnum):
    PUBLISHED = "published"
    TRADE_PAGE = "trade page"
    COMMON_PRACTICE = "common practice, no source"
    FROM_MEMORY = "from memory"
    COMPUTED = "computed"
    SHOP = "the shop's own"


_WORDS = {
    Mark.PUBLISHED: say("published"),
    Mark.TRADE_PAGE: say("trade page"),
    Mark.COMMON_PRACTICE: say("common practice, no source"),
    Mark.FROM_MEMORY: say("from memory"),
    Mark.COMPUTED: say("computed"),
    Mark.SHOP: say("the shop's own"),
}


@dataclass(frozen=True, slots=True)
class Source:
    """``note`` names the publication, or says how a computed value was had."""

    mark: Mark
    note: str = ""

    def __str__(self) -> Saying:
        words = _WORDS[self.mark]
        return listed([words, self.note], ": ") if self.note else words

    def __html__(self) -> str:
        return self.__str__().__html__()
