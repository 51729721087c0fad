"""Where a number comes from. Every starting value carries one of these marks."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Mark(StrEnum):
    PUBLISHED = "published"
    TRADE_PAGE = "trade page"
    COMMON_PRACTICE = "common practice, no source"
    FROM_MEMORY = "from memory"
    COMPUTED = "computed"
    SHOP = "the shop's own"


@dataclass(frozen=True, slots=True)
class Source:
    """``note`` names the publication, or says how a computed value was had."""

    mark: Mark
    note: str = ""

    def __str__(self) -> str:
        return f"{self.mark}: {self.note}" if self.note else str(self.mark)
