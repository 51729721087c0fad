"""A list as shops type it: every row ends as a job, an error, a question or a named leftover."""

from collections import Counter
from pathlib import Path

import pytest

from domain.intake.columns import guess_columns
from domain.intake.rows import Intake, Row, State, Vocabulary, read_rows
from domain.intake.table import Table, read_table
from domain.shop.alloy import Section
from domain.shop.jobs import Job
from domain.units import Length, Mass, Volume

ANSWERS = {
    "alloy:platinum 950": "platinum-950-ru",
    "alloy:gold 585": "14kt-yellow",
    "alloy:gold white": "14kt-white-nickel",
    "alloy:ss": "silver-925",
    "alloy:brass": "yellow-brass",
    "unit:size": "mm",
    "unit:pattern_mass": "g",
    "gr": "gr",
    "pair": "2",
    "material:usual": "injection-wax",
    "material:wax": "injection-wax",
    "wax-or-resin": "resin",
    "section:usual": "medium",
    "size:missing": "20 x 15 x 5 mm",
    "date:year": "next",
    "date:/4": "month",
    "date:/2": "day",
    "date:weekday": "coming",
    "date:next-weekday": "calendar",
    "due:asap": "2026-12-01",
    "due:blank": "2026-12-18",
    "due:past": "retype",
    "weight:rush": "5",
    "weight:asap": "10",
    "own-metal": "stock",
    "heavier-than-box": "keep",
    "same-number": "all",
}
"""One answer for each kind of doubt in the list."""


@pytest.fixture(scope="module")
def table(shared_data: Path) -> Table:
    return read_table((shared_data / "jobs-as-typed.csv").read_bytes())


@pytest.fixture(scope="module")
def unanswered(table: Table, vocabulary: Vocabulary) -> Intake:
    return read_rows(table, guess_columns(table.headings), {}, vocabulary)


@pytest.fixture(scope="module")
def answered(table: Table, vocabulary: Vocabulary) -> Intake:
    return read_rows(table, guess_columns(table.headings), ANSWERS, vocabulary)


def row_of(intake: Intake, job: str) -> Row:
    return next(row for row in intake.rows if row.cells[:1] == (job,))


def job_of(intake: Intake, job_id: str) -> Job:
    return next(job for job in intake.jobs if job.id == job_id)


def test_every_record_is_accounted_for(table: Table, unanswered: Intake) -> None:
    assert [row.cells for row in unanswered.rows] == list(table.records)
    counts = Counter(row.state for row in unanswered.rows)
    assert counts == {State.QUESTION: 102, State.ERROR: 17, State.SKIPPED: 6, State.DUPLICATE: 1}
    assert sum(row.cells[:1] != ("",) and bool(row.cells) and row.cells[0].isdigit() for row in unanswered.rows) == 120


def test_leftovers_say_why_they_are_no_jobs(unanswered: Intake) -> None:
    reasons = Counter(row.why for row in unanswered.in_state(State.SKIPPED))
    assert reasons == {"the headings": 1, "the headings again": 1, "blank line": 3, "a total, not a job": 1}
    twin = unanswered.in_state(State.DUPLICATE)[0]
    assert (twin.cells[0], unanswered.rows[(twin.twin or 0) - 1].cells[0]) == ("2440", "2440")


def test_each_doubt_is_asked_once_for_all_its_rows(unanswered: Intake) -> None:
    kinds = [question.kind for question in unanswered.questions]
    assert len(kinds) == len(set(kinds))
    assert set(kinds) == set(ANSWERS)
    rows = {question.kind: len(question.rows) for question in unanswered.questions}
    assert (rows["gr"], rows["pair"], rows["alloy:gold 585"], rows["alloy:gold white"], rows["own-metal"]) == (7, 13, 4, 2, 12)
    assert (rows["due:asap"], rows["due:blank"], rows["date:/2"], rows["date:weekday"], rows["date:next-weekday"]) == (
        7,
        7,
        4,
        2,
        1,
    )


def test_both_orders_of_slash_dates_are_told_apart(unanswered: Intake) -> None:
    hints = {question.kind: question.hint for question in unanswered.questions}
    assert "month first" in hints["date:/4"]
    assert "day first" not in hints["date:/4"]
    assert "day first" in hints["date:/2"]


@pytest.mark.parametrize(
    ("job", "column", "says"),
    [
        ("2402", "alloy", "steel"),
        ("2404", "alloy", "steel"),
        ("2404", "pattern_mass", "no weight"),
        ("2427", "pattern_mass", "no weight"),
        ("2455", "quantity", "“0”"),
        ("2456", "quantity", "“-2”"),
        ("2457", "quantity", "a few"),
        ("2463", "due", "2026-02-30"),
        ("2465", "alloy", "???"),
        ("2469", "alloy", "???"),
        ("2470", "pattern_mass", "1.2.3"),
        ("2471", "pattern_mass", "9999"),
        ("2464", "due", "2025-12-04"),
        ("2499", "pattern_mass", "no weight"),
    ],
)
def test_errors_name_the_cell_and_what_to_type(answered: Intake, job: str, column: str, says: str) -> None:
    row = row_of(answered, job)
    assert row.state is State.ERROR
    problem = next(p for p in row.problems if p.column == column)
    assert says in problem.message
    assert "type" in problem.message


def test_answers_leave_no_question_and_99_jobs(answered: Intake) -> None:
    assert answered.questions == ()
    counts = Counter(row.state for row in answered.rows)
    assert counts == {State.READY: 99, State.ERROR: 20, State.SKIPPED: 6, State.DUPLICATE: 1}
    assert len({job.id for job in answered.jobs}) == 99


def test_jobs_hold_what_was_typed(answered: Intake) -> None:
    silver = job_of(answered, "2403")
    assert (silver.alloy, silver.pattern_mass, silver.may_split) == ("fine-silver", Mass.of("1.48", "dwt"), False)
    assert (silver.size.height, silver.size.width, silver.size.reach) == (Length.mm(24), Length.mm(15), Length.mm("8.3"))
    assert silver.due == "2026-12-14"
    assert job_of(answered, "2413").pattern_mass == Mass.of(71, "gr")
    assert job_of(answered, "2413").section is Section.THIN
    assert job_of(answered, "2407").metal_volume == Volume.mm3(4894)
    assert job_of(answered, "2407").material == "castable-resin"
    assert job_of(answered, "2405").size.height == Length(28_575)
    assert (job_of(answered, "2412").quantity, job_of(answered, "2401").quantity, job_of(answered, "2405").quantity) == (4, 6, 12)
    assert job_of(answered, "2400").size.width == job_of(answered, "2400").size.height == Length.mm(30)
    assert job_of(answered, "2400").section is Section.HEAVY
    assert (job_of(answered, "2415").size.height, job_of(answered, "2415").due) == (Length.mm(20), "2026-12-18")


def test_due_dates_follow_the_answers(answered: Intake) -> None:
    due = {job.id: job.due for job in answered.jobs}
    assert (due["2409"], due["2444"], due["2401"], due["2411"]) == ("2026-12-05", "2026-12-06", "2026-12-12", "2026-12-01")
    assert (due["2512"], due["2502"]) == ("2026-12-02", "2026-12-01")


def test_rush_and_asap_weigh_more(answered: Intake) -> None:
    weights = {job.id: job.weight for job in answered.jobs}
    assert (weights["2401"], weights["2411"], weights["2494"], weights["2400"]) == (5, 10, 10, 1)


def test_one_number_for_two_jobs_keeps_both(answered: Intake) -> None:
    assert job_of(answered, "2416").item == "cufflink"
    assert job_of(answered, "2416-2").item == "signet"


def test_a_piece_too_large_for_any_flask_is_a_job(answered: Intake) -> None:
    assert job_of(answered, "2484").size.height == Length.mm(150)


def test_hostile_cells_stay_plain_text(answered: Intake) -> None:
    assert job_of(answered, "2477").item == '=HYPERLINK("x")'
    assert job_of(answered, "2478").item == "<script>alert(1)</script>"


def test_grams_for_gr_show_as_too_heavy(table: Table, vocabulary: Vocabulary) -> None:
    answers = {kind: said for kind, said in ANSWERS.items() if kind != "heavier-than-box"}
    columns = guess_columns(table.headings)
    grains = read_rows(table, columns, answers, vocabulary).questions[0]
    grams = read_rows(table, columns, {**answers, "gr": "g"}, vocabulary).questions[0]
    assert (grains.kind, grams.kind) == ("heavier-than-box", "heavier-than-box")
    heavier_as_grams = {table.records[row - 1][0] for row in set(grams.rows) - set(grains.rows)}
    assert heavier_as_grams == {"2452", "2453"}


def test_jobs_may_wait_for_the_customers_metal(table: Table, vocabulary: Vocabulary) -> None:
    intake = read_rows(table, guess_columns(table.headings), {**ANSWERS, "own-metal": "hold"}, vocabulary)
    held = [row for row in intake.in_state(State.SKIPPED) if "customer's metal" in row.why]
    assert len(held) + len(intake.jobs) == 99
    assert row_of(intake, "2405").state is State.SKIPPED


def test_the_same_list_again_makes_no_jobs(table: Table, answered: Intake, vocabulary: Vocabulary) -> None:
    known = {job.id: job for job in answered.jobs}
    later = Vocabulary(alloys=vocabulary.alloys, materials=vocabulary.materials, today=vocabulary.today, known=known)
    again = read_rows(table, guess_columns(table.headings), ANSWERS, later)
    assert again.jobs == ()
    assert len(again.in_state(State.DUPLICATE)) == 100


def test_a_changed_job_replaces_the_saved_one_only_when_told(table: Table, answered: Intake, vocabulary: Vocabulary) -> None:
    known = {"2403": answered.jobs[2]}
    later = Vocabulary(alloys=vocabulary.alloys, materials=vocabulary.materials, today=vocabulary.today, known=known)
    changed = table.with_record(5, (*table.records[4][:4], "7", *table.records[4][5:]))
    columns = guess_columns(table.headings)
    asked = read_rows(changed, columns, ANSWERS, later)
    assert [question.kind for question in asked.questions] == ["known-differs"]
    assert job_of(read_rows(changed, columns, {**ANSWERS, "known-differs": "replace"}, later), "2403").quantity == 7
    assert row_of(read_rows(changed, columns, {**ANSWERS, "known-differs": "keep"}, later), "2403").state is State.SKIPPED


def test_an_answer_that_does_not_fit_is_asked_again_with_the_reason(table: Table, vocabulary: Vocabulary) -> None:
    wrong = {**ANSWERS, "due:asap": "soon", "weight:rush": "0", "size:missing": "5", "pair": "3", "own-metal": "perhaps"}
    intake = read_rows(table, guess_columns(table.headings), wrong, vocabulary)
    problems = {question.kind: question.problem for question in intake.questions}
    assert set(problems) == {"due:asap", "weight:rush", "size:missing", "pair", "own-metal"}
    assert "2026-12-31" in problems["due:asap"]
    assert "20 x 15 x 5 mm" in problems["size:missing"]
