"""Days as sentences of the domain name them, in the language of whoever reads."""

from __future__ import annotations

from datetime import date

from domain.saying import Saying, say

SHORT = (say("Mon"), say("Tue"), say("Wed"), say("Thu"), say("Fri"), say("Sat"), say("Sun"))
DATES = tuple(
    told.pattern
    for told in (
        say("Mon {number} {month}", number=1, month=""),
        say("Tue {number} {month}", number=1, month=""),
        say("Wed {number} {month}", number=1, month=""),
        say("Thu {number} {month}", number=1, month=""),
        say("Fri {number} {month}", number=1, month=""),
        say("Sat {number} {month}", number=1, month=""),
        say("Sun {number} {month}", number=1, month=""),
    )
)
"""By weekday, how a day is written."""
MONTHS = (
    *(say("Jan"), say("Feb"), say("Mar"), say("Apr"), say("May"), say("Jun")),
    *(say("Jul"), say("Aug"), say("Sep"), say("Oct"), say("Nov"), say("Dec")),
)


def weekday_words(day: date) -> Saying:
    """Such as “Fri”."""
    return SHORT[day.weekday()]


def day_words(day: date | str) -> Saying:
    """Such as “Fri 27 Nov”; a text is an ISO date."""
    known = date.fromisoformat(day) if isinstance(day, str) else day
    return say(DATES[known.weekday()], number=known.day, month=MONTHS[known.month - 1])
