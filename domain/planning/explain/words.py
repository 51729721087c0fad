"""Days and times as people write them."""

from __future__ import annotations

from datetime import date

from domain.planning.clock import Clock, Minute


def day_words(day: date | str) -> str:
    """Such as “Fri 27 Nov”; a text is an ISO date."""
    known = date.fromisoformat(day) if isinstance(day, str) else day
    return f"{known:%a} {known.day} {known:%b}"


def moment_words(clock: Clock, at: Minute) -> str:
    """Such as “Fri 27 Nov 14:30”."""
    local = clock.local(at)
    return f"{day_words(local.date())} {local:%H:%M}"
