"""What came in as typed can be planned: every job in flasks, or left out with its reason."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

from domain.intake.columns import guess_columns
from domain.intake.questions import Form, Question
from domain.intake.rows import Intake, Vocabulary, read_rows
from domain.intake.table import read_table
from domain.planning.check import check
from domain.planning.manager import plan_by_hand
from domain.week.build import problem_of
from webapp.demo import demo_week

TODAY = date(2026, 11, 25)
CHOSEN = {
    "unit:size": "mm",
    "gr": "gr",
    "date:/4": "month",
    "date:/2": "day",
    "due:past": "retype",
    "size:missing": "20 x 15 x 5 mm",
}
BY_FORM = {Form.DATE: "2026-12-05", Form.NUMBER: "3"}


def answered(path: Path, vocabulary: Vocabulary) -> Intake:
    """The list with every question answered as it comes up, with its first reading where any will do."""
    table = read_table(path.read_bytes())
    answers: dict[str, str] = {}
    intake = read_rows(table, guess_columns(table.headings), answers, vocabulary)
    while intake.questions:
        answers |= {question.kind: _answer(question) for question in intake.questions}
        intake = read_rows(table, guess_columns(table.headings), answers, vocabulary)
    return intake


def _answer(question: Question) -> str:
    return CHOSEN.get(question.kind) or BY_FORM.get(question.form) or question.readings[0].key


def test_the_list_as_typed_becomes_a_week_that_keeps_the_rules_of_the_mould(shared_data: Path) -> None:
    week = demo_week(TODAY)
    vocabulary = Vocabulary(alloys=week.shop.alloys, materials=week.shop.materials, today=TODAY)
    intake = answered(shared_data / "jobs-as-typed.csv", vocabulary)
    assert len(intake.jobs) == 99
    problem = problem_of(replace(week, jobs=intake.jobs, previous=None, pinned=frozenset()))
    plan = plan_by_hand(problem)
    assert check(problem, plan, metal=False) == ()
    in_flasks = {job for flask in plan.flasks for job in flask.contents}
    left_out = {entry.job for entry in plan.left_out}
    assert in_flasks | left_out == {job.id for job in intake.jobs}
    assert "2484" in left_out
