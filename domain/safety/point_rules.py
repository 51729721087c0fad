"""What a shop may write into its checklists, in words for whoever edits them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from string import Formatter
from typing import TypeVar

from domain.errors import InvalidValue
from domain.safety.catalogue import BLANKS
from domain.safety.condition_words import OF_OWN_POINTS, condition
from domain.safety.own_points import PointChange, start_row
from domain.safety.point_limits import overfull
from domain.safety.points import MOST_POINTS, Pause, Reading, source_of
from domain.saying import listed, say
from domain.sources import Mark

V = TypeVar("V")

LONGEST_TEXT, LONGEST_WHY, LONGEST_REASON = 89, 160, 300
"""Characters; what is longer is not read with gloves on. Common practice, no source."""
_BEGUN = {
    Pause.INVEST: say("Before investing"),
    Pause.KILN: say("Before kiln start"),
    Pause.MELT: say("Before melting"),
    Pause.POUR: say("Before the pour"),
    Pause.QUENCH: say("Before quench and devest"),
}


def normal(change: PointChange) -> PointChange:
    """Spaces tidied, and what a starting point has from the start not kept as a change."""
    tidy = replace(change, text=_tidy(change.text), why=_tidy(change.why), reason=" ".join(change.reason.split()))
    start = start_row(change.id)
    if start is not None:
        tidy = replace(
            tidy,
            text=_unless(start["text"], tidy.text),
            why=_unless(start["why"], tidy.why),
            required=_unless(start.get("required", True), tidy.required),
            reading=_unless(_start_reading(change), tidy.reading),
            second=_unless(start.get("second", False), tidy.second),
        )
    return tidy if tidy.dropped or not required(tidy) else replace(tidy, reason="")


def problems(
    after: PointChange, before: PointChange | None, changes: Iterable[PointChange], cautions: frozenset[str]
) -> dict[str, str]:
    """Messages by field for a change of ``before`` (none: a new point) into ``after``, which is normal.

    ``changes``: all that stand, ``cautions``: those that an alloy may carry. Under the empty name stands
    what concerns the whole pause: more than ``MOST_POINTS`` for some flask.
    """
    wrong = {**_wrong_words(after), **_wrong_conditions(after, cautions)}
    if needs_reason(before, after) and not after.reason:
        wrong["reason"] = say("say why: this point carries a caution, so the reason is kept with it")
    if len(after.reason) > LONGEST_REASON:
        wrong["reason"] = _too_long(after.reason, LONGEST_REASON)
    return wrong or _too_many(after, tuple(changes))


def required(change: PointChange) -> bool:
    """Whether the point must be ticked, as it stands."""
    start = start_row(change.id)
    standing = change.required if start is None or change.required is not None else start.get("required", True)
    return standing is not False


def reading(change: PointChange) -> Reading:
    """What the point asks to be written down, as it stands."""
    return change.reading or _start_reading(change)


def second(change: PointChange) -> bool:
    """Whether another person signs the point besides, as it stands."""
    start = start_row(change.id)
    standing = change.second if start is None or change.second is not None else start.get("second", False)
    return standing is True


def caution(change: PointChange) -> str:
    """Why leaving a point out is warned about, in words; empty where it carries no caution."""
    start = start_row(change.id)
    if start is not None and source_of(start).mark is Mark.PUBLISHED:
        return say(
            "This point rests on a published source ({source}), which asks for it whether the list does or not.",
            source=source_of(start).note,
        )
    if required(change) or (start is not None and start.get("required", True)):
        return say("This point must be ticked before the work goes on.")
    return ""


def needs_reason(before: PointChange | None, after: PointChange) -> bool:
    """Whether ``after`` weakens a point that carries a caution: one from a published source, or required."""
    if before is None:
        return False
    start = start_row(after.id)
    was_required = required(before) or (start is not None and bool(start.get("required", True)))
    return (after.dropped and bool(caution(before))) or (was_required and not required(after))


def _start_reading(change: PointChange) -> Reading:
    start = start_row(change.id)
    return Reading(start.get("reading", "none")) if start is not None else Reading.NONE


def _unless(starts: V, value: V | None) -> V | None:
    return None if value == starts else value


def _tidy(text: str | None) -> str | None:
    return None if text is None else " ".join(text.split())


def _wrong_words(change: PointChange) -> dict[str, str]:
    wrong: dict[str, str] = {}
    if change.text == "" or (change.own and change.text is None):
        wrong["text"] = say("say what is to be done")
    elif change.text is not None:
        wrong.update(_wrong_text(change.text))
    if change.why is not None and len(change.why) > LONGEST_WHY:
        wrong["why"] = _too_long(change.why, LONGEST_WHY)
    return wrong


def _too_long(text: str, most: int) -> str:
    return say("has {number} characters; at most {most}", number=len(text), most=most)


def _wrong_text(text: str) -> dict[str, str]:
    if len(text) > LONGEST_TEXT:
        return {
            "text": say(
                "has {number} characters; over {most} are not read at the bench: say it in fewer",
                number=len(text),
                most=LONGEST_TEXT,
            )
        }
    if not _blanks_known(text):
        return {
            "text": say("braces stand only for what the flask knows: {blanks}", blanks=", ".join(f"{{{name}}}" for name in BLANKS))
        }
    return {}


def _blanks_known(text: str) -> bool:
    """Whether braces hold only the names of blanks: nothing else reaches the formatting."""
    try:
        parts = list(Formatter().parse(text))
    except ValueError:
        return False
    return all(name is None or (name in BLANKS and not spec and conversion is None) for _, name, spec, conversion in parts)


def _wrong_conditions(change: PointChange, cautions: frozenset[str]) -> dict[str, str]:
    if change.conditions and not change.own:
        return {"": say("what calls for a point of the starting list stays as it is; add a point of your own")}
    wrong: dict[str, str] = {}
    for name, value in change.conditions.items():
        typed = ("yes" if value else "no") if isinstance(value, bool) else value
        try:
            condition(name, typed, cautions)
        except InvalidValue as error:
            wrong[name if name in OF_OWN_POINTS else ""] = str(error)
    return wrong


def _too_many(after: PointChange, changes: tuple[PointChange, ...]) -> dict[str, str]:
    others = tuple(change for change in changes if change.id != after.id)
    before = overfull(after.pause, changes)
    more = {who: n for who, n in overfull(after.pause, (*others, after)).items() if n > before.get(who, MOST_POINTS)}
    if not more:
        return {}
    who = listed([say("{flasks} ({number} points)", flasks=words, number=n) for words, n in more.items()], "; ")
    return {
        "": say(
            "{pause} at most {most} points are read; there would be more for these flasks: {who}. "
            "Leave out another point of this pause that these flasks are asked, or let this one be for other flasks only.",
            pause=_BEGUN[after.pause],
            most=MOST_POINTS,
            who=who,
        )
    }
