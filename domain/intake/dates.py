"""Dates as people type them: in several orders, without a year, as a weekday, or as a hope."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

from domain.errors import InvalidValue
from domain.intake.numbers import LONGEST, Reading, shown
from domain.intake.questions import Answers, Form, Question, choose
from domain.intake.words import meanings, plain, words
from domain.saying import listed, say

EXAMPLE = "2026-12-31"
_ISO = re.compile(r"([0-9]{4})(?:[-/.]([0-9]{1,2})[-/.]([0-9]{1,2})|([0-9]{2})([0-9]{2}))(?:[T ]00:00(?::00)?(?:\.0+)?)?")
_PARTS = re.compile(r"([0-9]{1,2})([/.-])([0-9]{1,2})(?:\2([0-9]{4}|[0-9]{2})|\.)?")
_YEAR = r"(?:[ ,.-]+([0-9]{4}|[0-9]{2}))?"
_DAY_MONTH = re.compile(r"([0-9]{1,2})(?:st|nd|rd|th)?[ .-]*(?:of |de )?([^\W\d_]+)\.?" + _YEAR)
_MONTH_DAY = re.compile(r"([^\W\d_]+)\.?[ -]*([0-9]{1,2})(?:st|nd|rd|th)?" + _YEAR)

MONTHS = (
    *(say("January"), say("February"), say("March"), say("April"), say("May"), say("June")),
    *(say("July"), say("August"), say("September"), say("October"), say("November"), say("December")),
)


@dataclass(frozen=True, slots=True)
class DateForms:
    """Which orders the dates of a list prove, by form (``/4`` is slashes with a four-digit year):
    form → order (``day`` or ``month`` first) → a date that can only be read so."""

    proof: Mapping[str, Mapping[str, str]] = field(default_factory=dict)


def forms_of(texts: Iterable[str]) -> DateForms:
    """What the dates of a list prove about the order of day and month."""
    proof: dict[str, dict[str, str]] = {}
    for text in texts:
        match = _PARTS.fullmatch(text.strip())
        if match is None or match.group(2) == ".":
            continue
        first, second = int(match.group(1)), int(match.group(3))
        if first > 12 >= second or second > 12 >= first:
            proof.setdefault(_form(match), {}).setdefault("day" if first > 12 else "month", text.strip())
    return DateForms(proof)


def _form(match: re.Match[str]) -> str:
    return f"{match.group(2)}{len(match.group(4) or '')}"


@dataclass(frozen=True, slots=True)
class DateReader:
    """Reads the dates of one list. ``today`` settles nothing by itself: it words the choices."""

    today: date
    forms: DateForms
    answers: Answers

    def read(self, text: str, column: str) -> date:
        """The date that ``text`` means. Raises ``Asked`` where it has several readings and no answer
        tells, ``InvalidValue`` where it is no date."""
        if len(text) > LONGEST:
            raise InvalidValue(
                column, say("“{text}” is too long for a date; type it as {example}", text=shown(text), example=EXAMPLE)
            )
        clean = re.sub(r"\s+", " ", text).strip(" .,!")
        named, rest = _weekday_first(_without_by(clean))
        found = self._first_reading(rest or clean, column)
        if named is not None and rest and found.weekday() != named:
            raise InvalidValue(
                column,
                say(
                    "“{clean}”: {day} is another day of the week; type it as {example}",
                    clean=shown(clean),
                    day=found.isoformat(),
                    example=EXAMPLE,
                ),
            )
        return found

    def _first_reading(self, clean: str, column: str) -> date:
        for reader in (self._iso, self._numbers, self._named_month, self._weekday, self._today):
            found = reader(clean, column)
            if found is not None:
                return found
        raise InvalidValue(column, say("“{clean}” is not a date; type it as {example}", clean=shown(clean), example=EXAMPLE))

    def _iso(self, text: str, column: str) -> date | None:
        match = _ISO.fullmatch(text)
        if match is None:
            return None
        return _date(text, int(match[1]), int(match[2] or match[4]), int(match[3] or match[5]), column)

    def _numbers(self, text: str, column: str) -> date | None:
        match = _PARTS.fullmatch(text)
        if match is None:
            return None
        first, second = int(match[1]), int(match[3])
        if match[2] == "." or first > 12 or first == second:
            day, month = first, second
        elif second > 12 or self._order(text, match, column) == "month":
            day, month = second, first
        else:
            day, month = first, second
        return self._with_year(text, day, month, match[4], column)

    def _order(self, text: str, match: re.Match[str], column: str) -> str:
        form, proof = _form(match), self.forms.proof.get(_form(match), {})
        kind = f"date:{form}:{text}" if len(proof) == 2 else f"date:{form}"
        shape = {"4": say("a four-digit year"), "2": say("a two-digit year"), "0": say("no year")}[form[1]]
        readings = (
            Reading(
                "day", say("day first ({text} is {day} {month})", text=text, day=int(match[1]), month=_month_name(int(match[3])))
            ),
            Reading(
                "month",
                say("month first ({text} is {day} {month})", text=text, day=int(match[3]), month=_month_name(int(match[1]))),
            ),
        )
        hint = listed((_only(order, example) for order, example in proof.items()), "; ")
        prompt = say("“{text}”: dates with “{mark}” and {shape} are written …", text=text, mark=form[0], shape=shape)
        return choose(Question(kind=kind, text=prompt, readings=readings, hint=hint), self.answers, column)

    def _named_month(self, text: str, column: str) -> date | None:
        lower = text.lower()
        for pattern, day_at, month_at in ((_DAY_MONTH, 1, 2), (_MONTH_DAY, 2, 1)):
            match = pattern.fullmatch(lower)
            month = meanings("months").get(match[month_at]) if match else None
            if match is not None and month is not None:
                return self._with_year(text, int(match[day_at]), int(month), match[3], column)
        return None

    def _with_year(self, text: str, day: int, month: int, year: str | None, column: str) -> date:
        if year:
            return _date(text, int(year) + (2000 if len(year) == 2 else 0), month, day, column)
        _date(text, 2028, month, day, column)  # a leap year: the day exists in some year
        this, following = str(self.today.year), str(self.today.year + 1)
        readings = (
            Reading("next", say("the first such day from today on")),
            Reading(this, say("in {year}", year=this)),
            Reading(following, say("in {year}", year=following)),
        )
        said = choose(
            Question(kind="date:year", text=say("A day without a year, such as “{text}”, is …", text=text), readings=readings),
            self.answers,
            column,
        )
        if said != "next":
            return _date(text, int(said), month, day, column)
        later = (date(y, month, day) for y in range(self.today.year, self.today.year + 9) if _exists(y, month, day))
        return next(found for found in later if found >= self.today)

    def _weekday(self, text: str, column: str) -> date | None:
        said = plain(text).split()
        if len(said) == 2 and said[0] in words("days", "this"):
            said = said[1:]
        following = len(said) == 2 and said[0] in words("days", "next")
        name = said[1] if following else said[0] if len(said) == 1 else ""
        weekday = meanings("weekdays").get(name)
        if weekday is None:
            return None
        coming = self.today + timedelta(days=(int(weekday) - self.today.weekday() - 1) % 7 + 1)
        monday = self.today - timedelta(days=self.today.weekday())
        choices = {
            "coming": (coming, say("the first one after today")),
            "week": (coming + timedelta(days=7), say("the one a week after that")),
        }
        if following:
            choices["calendar"] = (monday + timedelta(days=7 + int(weekday)), say("the one in next week, Monday to Sunday"))
        elif coming == self.today + timedelta(days=7):
            choices = {"today": (self.today, say("today")), **choices}
        prompt = say("A bare weekday, such as “{text}”, is …", text=text) if not following else say("“{text}” is …", text=text)
        readings = tuple(
            Reading(key, say("{remark} ({text}: {day})", remark=remark, text=text, day=day))
            for key, (day, remark) in choices.items()
        )
        kind = "date:next-weekday" if following else "date:weekday"
        if self.answers.get(kind) == "today" and "today" not in choices:
            return coming
        return choices[choose(Question(kind=kind, text=prompt, readings=readings), self.answers, column)][0]

    def _today(self, text: str, _column: str) -> date | None:
        if text.lower() in words("days", "today"):
            return self.today
        return self.today + timedelta(days=1) if text.lower() in words("days", "tomorrow") else None


def hoped(text: str) -> str:
    """Whether a due date is only a hope: ``blank``, ``asap`` (and its like), or neither (empty)."""
    if len(text) > LONGEST:
        return ""
    if not plain(text) or plain(text) in words("days", "none"):
        return "blank"
    asap = {plain(word) for word in words("days", "asap")}
    said = [plain(part) for part in re.split(r"[-–/,;!]", text) if plain(part)]
    return "asap" if plain(text) in asap or all(part in asap for part in said) else ""


def hoped_date(text: str, hope: str, answers: Answers) -> date:
    """The date that the user gives to all due dates that are blank, or say only ``ASAP``."""
    prompt = (
        say("A job without a due date is due on …")
        if hope == "blank"
        else say("“{text}” as a due date is …", text=shown(text.strip()))
    )
    question = Question(kind=f"due:{hope}", text=prompt, form=Form.DATE)
    return date.fromisoformat(choose(question, answers, "due"))


def _without_by(text: str) -> str:
    """``by 5 Dec`` → ``5 Dec``: done on that day is in time."""
    lower = text.lower()
    word = next((by for by in words("days", "by") if lower.startswith(f"{by} ")), "")
    return text[len(word) :].strip() if word else text


def _weekday_first(text: str) -> tuple[int | None, str]:
    """A weekday before a date (``Fri 4 Dec``), and the date; none where no weekday leads."""
    match = re.fullmatch(r"([^\W\d_]+)[., ]+(.*[0-9].*)", text)
    weekday = meanings("weekdays").get(match[1].lower()) if match else None
    return (int(weekday), match[2]) if match is not None and weekday is not None else (None, text)


def _exists(year: int, month: int, day: int) -> bool:
    try:
        date(year, month, day)
    except ValueError:
        return False
    return True


def _date(text: str, year: int, month: int, day: int, column: str) -> date:
    if not _exists(year, month, day):
        raise InvalidValue(
            column, say("there is no day “{text}”; type a date of the calendar as {example}", text=shown(text), example=EXAMPLE)
        )
    return date(year, month, day)


def _month_name(month: int) -> str:
    return MONTHS[month - 1] if 1 <= month <= 12 else str(month)


def _only(order: str, example: str) -> str:
    if order == "day":
        return say("{example} can only be day first", example=example)
    return say("{example} can only be month first", example=example)
