"""Names of days and months, as the Unicode locale data has them."""

from __future__ import annotations

from datetime import date
from functools import lru_cache

from babel.dates import format_date, format_skeleton

from webapp.ways import Language


@lru_cache(maxsize=4096)
def day_in(language: Language, when: date, *, year: bool = False) -> str:
    """Do., 26. Nov., or jue, 26 nov; with its year where asked."""
    return format_skeleton("yMMMEd" if year else "MMMEd", when, locale=language.code)


@lru_cache(maxsize=256)
def short_day_in(language: Language, when: date) -> str:
    """Do., 26."""
    return format_skeleton("Ed", when, locale=language.code)


@lru_cache(maxsize=64)
def weekday_in(language: Language, when: date) -> str:
    """Donnerstag."""
    return format_date(when, "EEEE", locale=language.code)


@lru_cache(maxsize=256)
def month_in(language: Language, when: date) -> str:
    """Nov. 2026."""
    return format_skeleton("yMMM", when, locale=language.code)


@lru_cache(maxsize=256)
def long_month_in(language: Language, when: date) -> str:
    """November 2026."""
    return format_skeleton("yMMMM", when, locale=language.code)
