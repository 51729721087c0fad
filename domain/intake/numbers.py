"""Numbers as people type them, with point or comma, with thousands, or as workshop fractions."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeAlias

from domain.errors import InvalidValue
from domain.saying import say

Choices: TypeAlias = Mapping[str, str]
"""What the user has said about words with two readings: kind of question → key of the reading."""

NO_CHOICES: Choices = {}
LONGEST = 60
MOST_DIGITS = 9


@dataclass(frozen=True, slots=True)
class Reading:
    """One way to read a text. ``key`` is what ``Choices`` holds, ``label`` is shown."""

    key: str
    label: str


class Ambiguous(InvalidValue):
    """A text with more than one reading. ``kind`` names what is in doubt (the same for all texts
    that one answer settles): answer with ``{kind: reading.key}``."""

    def __init__(self, field: str, kind: str, message: str, readings: tuple[Reading, ...]) -> None:
        super().__init__(field, message)
        self.kind = kind
        self.readings = readings


_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3"}
_FRACTION = re.compile(r"(?:([0-9]+)[\s-]+)?([0-9]+)\s*/\s*([0-9]+)")
_GROUPED_BY_SPACE = re.compile(r"[0-9]{1,3}(?:[ '’][0-9]{3})+(?:[.,][0-9]+)?")
_PLAIN = re.compile(r"[0-9]*(?:[.,][0-9]+)*[.,]?")
_NUMBER_FIRST = re.compile(r"([+-]?\s*[.,]?[0-9](?:[0-9.,'’\s/-]*[0-9])?\.?)(.*)", re.DOTALL)


def cleaned(text: str) -> str:
    """The text with plain spaces, an ASCII minus and fractions spelled out."""
    for sign, spelled in _VULGAR.items():
        text = text.replace(sign, f" {spelled}")
    text = re.sub(r"[−–—](?=\s*[0-9.,])", "-", text.replace("⁄", "/"))
    return re.sub(r"\s+", " ", text).strip()


def split_number(text: str, field: str) -> tuple[str, str]:
    """The number at the start of ``text`` and what follows it. Raises ``InvalidValue`` without one."""
    clean = cleaned(text)
    if not clean:
        raise InvalidValue(field, say("nothing is typed here; type a number"))
    match = _NUMBER_FIRST.fullmatch(clean) if len(clean) <= LONGEST else None
    if match is None:
        raise InvalidValue(field, say("“{clean}” does not start with a number; type one, such as 12.5", clean=shown(clean)))
    return match.group(1).strip(), match.group(2).strip()


def shown(text: str) -> str:
    """The text, short enough to stand in a message."""
    return text if len(text) <= LONGEST else text[: LONGEST - 1] + "…"


def read_number(text: str, field: str = "number", choices: Choices = NO_CHOICES) -> Fraction:
    """An exact number: ``12.5``, ``12,5``, ``1,234.5``, ``1.234,5``, ``1 234,5``, ``7/8``, ``1 1/8``.

    ``1,234`` has two readings and raises ``Ambiguous`` of kind ``decimal`` until ``choices`` says
    ``point`` or ``comma``; so does ``1.234`` where ``choices`` says ``ask``. At most nine digits
    before the decimal mark. Raises ``InvalidValue`` for everything else.
    """
    clean = cleaned(text)
    if not clean or len(clean) > LONGEST:
        raise InvalidValue(field, say("“{clean}” is not a number; type one, such as 12.5", clean=shown(clean)))
    sign = -1 if clean.startswith("-") else 1
    body = clean[1:].strip() if clean[0] in "+-" else clean
    value = _unsigned(body, field, choices)
    if value >= 10**MOST_DIGITS:
        raise InvalidValue(
            field,
            say(
                "“{clean}” is too large a number; type one with at most {most} digits",
                clean=shown(clean),
                most=MOST_DIGITS,
            ),
        )
    return sign * value


def _unsigned(body: str, field: str, choices: Choices) -> Fraction:
    fraction = _FRACTION.fullmatch(body)
    if fraction is not None:
        return _workshop_fraction(body, fraction, field)
    if _GROUPED_BY_SPACE.fullmatch(body):
        return Fraction(re.sub(r"[ '’]", "", body).replace(",", "."))
    if not _PLAIN.fullmatch(body) or not re.search("[0-9]", body):
        raise InvalidValue(field, say("“{body}” is not one number; type one, such as 12.5", body=body))
    return _decimal(body.rstrip("."), field, choices)


def _workshop_fraction(body: str, match: re.Match[str], field: str) -> Fraction:
    whole, top, bottom = int(match.group(1) or 0), int(match.group(2)), int(match.group(3))
    if bottom == 0:
        raise InvalidValue(field, say("“{body}” divides by zero; type a fraction such as 7/8", body=body))
    return whole + Fraction(top, bottom)


def _decimal(body: str, field: str, choices: Choices) -> Fraction:
    marks = [c for c in body if c in ".,"]
    if not marks:
        return Fraction(body)
    last = marks[-1]
    if len(marks) == 1:
        return _one_mark(body, last, field, choices)
    other = "," if last == "." else "."
    if set(marks) == {last}:
        return _thousands(body, last, field)
    head, _, tail = body.rpartition(last)
    if last in head or not tail:
        raise _not_a_number(body, field)
    return _thousands(head, other, field) + Fraction("0." + tail)


def _one_mark(body: str, mark: str, field: str, choices: Choices) -> Fraction:
    head, _, tail = body.partition(mark)
    could_be_thousands = len(tail) == 3 and 1 <= len(head) <= 3 and not head.startswith("0")
    if not could_be_thousands:
        return Fraction(f"{head or 0}.{tail or 0}")
    said = choices.get("decimal")
    if said in ("point", "comma"):
        is_decimal = (mark == ".") == (said == "point")
        return Fraction(f"{head}.{tail}") if is_decimal else Fraction(head + tail)
    if mark == "." and said is None:
        return Fraction(f"{head}.{tail}")
    raise Ambiguous(
        field,
        "decimal",
        say(
            "“{body}” may be {whole} or {head} and a part; type {whole}, or {head}.{tail}0",
            body=body,
            whole=head + tail,
            head=head,
            tail=tail,
        ),
        (
            Reading(
                "point",
                say(
                    "the point is the decimal mark, a comma parts thousands ({head},{tail} is {whole})",
                    head=head,
                    tail=tail,
                    whole=head + tail,
                ),
            ),
            Reading(
                "comma",
                say(
                    "the comma is the decimal mark, a point parts thousands ({head}.{tail} is {whole})",
                    head=head,
                    tail=tail,
                    whole=head + tail,
                ),
            ),
        ),
    )


def _thousands(body: str, mark: str, field: str) -> Fraction:
    head, *groups = body.split(mark)
    if not 1 <= len(head) <= 3 or any(len(group) != 3 for group in groups):
        raise _not_a_number(body, field)
    return Fraction(head + "".join(groups))


def _not_a_number(body: str, field: str) -> InvalidValue:
    return InvalidValue(field, say("“{body}” is not a number; type one with a single decimal mark, such as 1.23", body=body))
