"""Durations and times of day as people type them."""

from __future__ import annotations

import re

DURATION = re.compile(r"(?:(\d+(?:[.,]\d+)?)\s*(?:h|hr|hrs|hours?))?\s*(?:(\d+)\s*(?:m|min|mins|minutes?)?)?", re.IGNORECASE)
TIME = re.compile(r"(\d{1,2})(?:[:.h](\d{2}))?\s*(am|pm)?", re.IGNORECASE)


def read_minutes(text: str) -> int | None:
    """Whole minutes: ``90``, ``90 min``, ``1.5 h``, ``1 h 30 min``, ``1:30``. None for anything else."""
    clean = text.strip()
    if re.fullmatch(r"\d{1,4}:[0-5]\d", clean):
        hours, minutes = clean.split(":")
        return int(hours) * 60 + int(minutes)
    match = DURATION.fullmatch(clean)
    if not clean or match is None:
        return None
    hours_typed = float((match[1] or "0").replace(",", "."))
    return round(hours_typed * 60) + int(match[2] or 0)


def minutes_text(minutes: int) -> str:
    """A duration with its unit as ``read_minutes`` reads it back: ``45 min``, ``2 h``, ``1 h 30 min``."""
    hours, rest = divmod(minutes, 60)
    parts = [f"{hours} h"] if hours else []
    return " ".join([*parts, f"{rest} min"] if rest or not hours else parts)


def read_time(text: str) -> int | None:
    """Minutes after midnight: ``8``, ``8:30``, ``08.30``, ``4:30 pm``, ``24:00``. None for anything else."""
    match = TIME.fullmatch(text.strip())
    if match is None:
        return None
    hour, minute, half = int(match[1]), int(match[2] or 0), (match[3] or "").lower()
    if half and not 1 <= hour <= 12:
        return None
    hour = hour % 12 + (12 if half == "pm" else 0) if half else hour
    total = hour * 60 + minute
    return total if minute < 60 and total <= 1440 else None
