"""Days and times as people write them."""

from __future__ import annotations

from domain.days import day_words
from domain.planning.clock import Clock, Minute
from domain.saying import Saying, say

__all__ = ["day_words", "moment_words"]


def moment_words(clock: Clock, at: Minute) -> Saying:
    """Such as “Fri 27 Nov 14:30”."""
    local = clock.local(at)
    return say("{day} {time}", day=day_words(local.date()), time=f"{local:%H:%M}")
