"""When it is wanted, when it can begin, and what a day late counts."""

from __future__ import annotations

from datetime import date, timedelta

from domain.errors import InvalidValue
from domain.intake.columns import Field
from domain.intake.dates import hoped, hoped_date
from domain.intake.numbers import Reading
from domain.intake.questions import Findings, Form, Question, choose
from domain.intake.row import ListRow
from domain.intake.words import plain, says, words
from domain.saying import say

FAR_AHEAD = timedelta(days=730)
"""A due date further ahead is taken for a slip of the pen (common practice, no source)."""


def due_of(row: ListRow) -> date:
    """The due date; dates that have passed, are missing or only hoped for are asked."""
    text = row.cell(Field.DUE)
    hope = hoped(text)
    if hope:
        return hoped_date(text, hope, row.answers)
    due, today = row.the_list.dates.read(text, Field.DUE), row.vocabulary.today
    if due > today + FAR_AHEAD:
        raise InvalidValue(
            Field.DUE,
            say(
                "“{text}” is {day}, more than two years ahead; type the date that is meant",
                text=text,
                day=due.isoformat(),
            ),
        )
    if due >= today:
        return due
    readings = (
        Reading("keep", say("they are overdue, and planned as late")),
        Reading("retype", say("they are wrong, and will be typed anew")),
    )
    question = Question(kind="due:past", text=say("Due dates that have passed: …"), readings=readings)
    if choose(question, row.answers, Field.DUE) == "retype":
        raise InvalidValue(
            Field.DUE,
            say(
                "“{text}” has passed; type the date wanted, such as {day}",
                text=text,
                day=(today + timedelta(days=7)).isoformat(),
            ),
        )
    return due


def ready_of(row: ListRow) -> date:
    """The day from which the patterns are there: today where the list does not say otherwise."""
    text = row.cell(Field.READY)
    today = row.vocabulary.today
    if not text or plain(text) in ("ready", "yes", "y", "ja", "here", "da", "oui", "sì", "sí", "x", "ok"):
        return today
    return row.the_list.dates.read(text, Field.READY)


def weight_of(row: ListRow, found: Findings) -> int | None:
    """What a day late counts: 1, or the most that the notes, a column and the due date make of it."""
    rushed = found.attempt(Field.RUSH, row.cell(Field.RUSH), lambda: _rushed(row))
    hope = hoped(row.cell(Field.DUE)) == "asap"
    each = say("counts, for each day late, as much as so many ordinary jobs:")
    rush = (
        found.attempt(
            Field.NOTES, row.note, lambda: _weight_of(row, "rush", say("A job marked “{rushed}” {each}", rushed=rushed, each=each))
        )
        if rushed
        else 1
    )
    asap = (
        found.attempt(Field.DUE, row.cell(Field.DUE), lambda: _weight_of(row, "asap", say("A job due “ASAP” {each}", each=each)))
        if hope
        else 1
    )
    return None if rushed is None or rush is None or asap is None else max(rush, asap)


def _rushed(row: ListRow) -> str:
    """The word that makes the job a rush, from the notes or a column of its own; empty if none."""
    text = row.cell(Field.RUSH)
    word = says(row.note, "notes", "rush") or says(text, "notes", "rush")
    if word or not plain(text) or plain(text) in words("yes", "no"):
        return word
    if plain(text) in words("yes", "yes"):
        return "rush"
    readings = (Reading("rush", say("a rush")), Reading("ordinary", say("ordinary work")))
    question = Question(kind=f"rush:{plain(text)[:40]}", text=say("As urgency, “{text}” means …", text=text), readings=readings)
    return "rush" if choose(question, row.answers, Field.RUSH) == "rush" else ""


def _weight_of(row: ListRow, kind: str, text: str) -> int:
    return int(choose(Question(kind=f"weight:{kind}", text=text, form=Form.NUMBER), row.answers, Field.NOTES))
