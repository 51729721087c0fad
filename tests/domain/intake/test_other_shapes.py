"""Lists of other shapes are read by the same means."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from domain.errors import InvalidValue
from domain.intake.columns import Field, guess_columns
from domain.intake.rows import Intake, State, Vocabulary, read_rows
from domain.intake.table import MOST_ROWS, read_table
from domain.shop.alloy import Section
from domain.units import Length, Mass

GERMAN = """Auftragsnr.;Kunde;Bezeichnung;Legierung;Stückzahl;Wachsgewicht (g);Maße (mm);Liefertermin;Bemerkungen;Farbe
1001;Kd 7;Ring;Silber 925;4;3,25;22 x 18,5 x 6;05.12.2026;;blank
1002;Kd 8;Anhänger;14kt gelb;2;1.234;20 x 12 x 4;7. Dezember 2026;eilt, dünn;
1003;Kd 9;Brosche;18kt weiß Pd;1 Paar;0,9;Durchm. 25, 2,5 dick;09.12.26;nicht teilen;
1004;Kd 9;Knopf;Feinsilber;;2,00;15 x 15 x 4;9.12.2026;gedruckt;
Summe;;;;7;;;;;
"""
GERMAN_ANSWERS = {
    "decimal": "comma",
    "pair": "2",
    "weight:rush": "3",
    "material:usual": "injection-wax",
    "section:usual": "medium",
    "heavier-than-box": "keep",
}

TABBED = (
    "Needed by\tNotes\tPieces\tMetal\tWt\tDescription\tOrder #\n"
    "2026-12-10\theavy\t3\tsterling\t2.5 g\tring\tA-1\n"
    "2026-12-11\tprinted\tx2\t18KR\t0.8 dwt\tband\tA-2\n"
    "\t\t5\tSi bronze\t12 g\tknob\tA-3\n"
)
TABBED_ANSWERS = {
    "size:missing": "25 x 20 x 8 mm",
    "due:blank": "2026-12-20",
    "material:usual": "carving-wax",
    "section:usual": "thin",
}


def read(text: str, answers: dict[str, str], vocabulary: Vocabulary) -> Intake:
    table = read_table(text)
    return read_rows(table, guess_columns(table.headings), answers, vocabulary)


def test_semicolons_decimal_commas_and_german_headings() -> None:
    table = read_table(GERMAN.encode("cp1252"))
    assert table.delimiter == ";"
    columns = guess_columns(table.headings)
    assert {field: table.headings[index] for field, index in columns.items()} == {
        Field.JOB: "Auftragsnr.",
        Field.CUSTOMER: "Kunde",
        Field.ITEM: "Bezeichnung",
        Field.ALLOY: "Legierung",
        Field.QUANTITY: "Stückzahl",
        Field.PATTERN_MASS: "Wachsgewicht (g)",
        Field.SIZE: "Maße (mm)",
        Field.DUE: "Liefertermin",
        Field.NOTES: "Bemerkungen",
    }


def test_a_point_before_three_digits_is_asked_among_decimal_commas(vocabulary: Vocabulary) -> None:
    intake = read(GERMAN, {}, vocabulary)
    assert "decimal" in {question.kind for question in intake.questions}
    assert {question.kind for question in intake.questions} == set(GERMAN_ANSWERS)


def test_the_german_list_gives_its_jobs(vocabulary: Vocabulary) -> None:
    intake = read(GERMAN, {**GERMAN_ANSWERS, "decimal": "point"}, vocabulary)
    assert intake.questions == ()
    assert [row.state for row in intake.rows] == [State.SKIPPED, *[State.READY] * 3, State.ERROR, State.SKIPPED]
    ring, pendant, brooch = intake.jobs
    assert (ring.pattern_mass, ring.size.width, ring.due) == (Mass.g("3.25"), Length.mm("18.5"), "2026-12-05")
    assert ring.notes == "Farbe: blank"
    assert (pendant.pattern_mass, pendant.section, pendant.weight) == (Mass.g("1.234"), Section.THIN, 3)
    assert (brooch.alloy, brooch.quantity, brooch.may_split, brooch.size.height) == (
        "18kt-white-palladium",
        2,
        False,
        Length.mm(25),
    )
    assert intake.rows[4].problems[0].column == Field.QUANTITY


def test_a_comma_convention_reads_1_234_as_a_thousand_and_does_not_believe_it(vocabulary: Vocabulary) -> None:
    intake = read(GERMAN, GERMAN_ANSWERS, vocabulary)
    assert intake.rows[2].state is State.ERROR
    assert "1234.00 g" in intake.rows[2].problems[0].message


def test_tabs_another_order_and_no_size_column(vocabulary: Vocabulary) -> None:
    asked = read(TABBED, {}, vocabulary)
    assert {question.kind for question in asked.questions} == set(TABBED_ANSWERS)
    intake = read(TABBED, TABBED_ANSWERS, vocabulary)
    assert (intake.questions, len(intake.jobs)) == ((), 3)
    ring, band, knob = intake.jobs
    assert (ring.id, ring.alloy, ring.section, ring.material) == ("A-1", "silver-925", Section.HEAVY, "carving-wax")
    assert (band.quantity, band.pattern_mass, band.material) == (2, Mass.of("0.8", "dwt"), "castable-resin")
    assert (knob.due, knob.size.height) == ("2026-12-20", Length.mm(25))


def test_three_columns_make_a_size(vocabulary: Vocabulary) -> None:
    text = "Ref|Piece|Alloy|Qty|Weight|Length (mm)|Width (mm)|Thickness (mm)|Due\n7|ring|925|1|2 g|24|15|8|2026-12-10\n"
    intake = read(text, {"material:usual": "injection-wax", "section:usual": "medium"}, vocabulary)
    assert [job.size.reach for job in intake.jobs] == [Length.mm(8)]


def test_karat_colour_and_rush_columns_are_read(vocabulary: Vocabulary) -> None:
    text = "Order #\tPiece\tKarat\tColor\tPcs\tWax (g)\tSize (mm)\tShip Date\tRush?\n"
    text += "1\tring\t14K\tYellow\t2\t0.9\t22x18x9\t2026-12-08\tY\n2\tring\t18KT\tRose\tdozen\t0.9\t22x18x9\t2026-12-08\tmaybe\n"
    answers = {"weight:rush": "4", "material:usual": "injection-wax", "section:usual": "medium"}
    asked = read(text, answers, vocabulary)
    assert [question.kind for question in asked.questions] == ["rush:maybe"]
    yellow, red = read(text, {**answers, "rush:maybe": "ordinary"}, vocabulary).jobs
    assert (yellow.alloy, yellow.weight, yellow.quantity) == ("14kt-yellow", 4, 2)
    assert (red.alloy, red.weight, red.quantity) == ("18kt-red", 1, 12)


def test_a_list_without_numbers_gets_the_same_ones_again(vocabulary: Vocabulary) -> None:
    text = "Item,Alloy,Qty,Weight (g),Size (mm),Due\nring,925,1,2,20x15x8,2026-12-10\nband,925,1,2,20x15x8,2026-12-10\n"
    answers = {"number:missing": "make", "material:usual": "injection-wax", "section:usual": "medium"}
    first, again = read(text, answers, vocabulary), read(text, answers, vocabulary)
    assert len({job.id for job in first.jobs}) == 2
    assert [job.id for job in again.jobs] == [job.id for job in first.jobs]


def test_a_row_with_a_cell_too_many_is_an_error(vocabulary: Vocabulary) -> None:
    text = "Job,Item,Alloy,Qty,Notes\n1,ring,925,3,97 g,more\n"
    assert "quotes" in read(text, {}, vocabulary).rows[1].problems[0].message


CELLS = st.sampled_from(
    [
        "",
        "x",
        "1",
        "=1",
        "12/05/2026",
        "05.12.",
        "next Tues",
        "ASAP",
        "14k",
        "SS",
        "2 pr",
        "1/2 dz",
        "1,234",
        "71 gr",
        "3 oz",
        "dia 3",
        "1x2x3",
        "TOTAL",
    ]
) | st.text(max_size=12)


@given(
    records=st.lists(st.lists(CELLS, max_size=11), max_size=8),
    answers=st.dictionaries(st.sampled_from([*GERMAN_ANSWERS, "gr", "date:/4"]), CELLS),
)
def test_no_list_and_no_answer_breaks_the_reading(
    records: list[list[str]], answers: dict[str, str], vocabulary: Vocabulary
) -> None:
    heading = "Job;Item;Metal;Qty;Wax wt;Size;Due;Ready;Notes\n"
    body = "\n".join(";".join(cell.replace('"', "").replace("\n", " ").replace("\r", " ") for cell in record) for record in records)
    table = read_table(heading + body)
    intake = read_rows(table, guess_columns(table.headings), answers, vocabulary)
    assert [row.cells for row in intake.rows] == list(table.records)
    for row in intake.rows:
        assert (row.job is not None) == (row.state is State.READY)
        assert bool(row.problems) == (row.state is State.ERROR)
        assert row.why or row.state in (State.READY, State.ERROR, State.QUESTION)
    assert {kind for row in intake.rows for kind in row.waits_for} == {question.kind for question in intake.questions}


def test_endless_cells_are_errors(vocabulary: Vocabulary) -> None:
    endless = ["a, " * 20_000, "1 x " * 20_000, "14k " * 20_000, ". ," * 20_000]
    for cell in endless:
        row = ";".join(["1", "ring", cell, cell, cell, cell, cell, "x"])
        intake = read(f"Job;Item;Metal;Qty;Wax wt;Size;Due;Notes\n{row}\n", {}, vocabulary)
        assert {problem.column for problem in intake.rows[1].problems} == {"alloy", "quantity", "pattern_mass", "size", "due"}


def test_a_list_of_too_many_rows_is_refused() -> None:
    with pytest.raises(InvalidValue, match="at most"):
        read_table("Job;Item\n" + "1;ring\n" * MOST_ROWS)


@given(text=st.text(max_size=200))
def test_no_text_breaks_the_reading(text: str, vocabulary: Vocabulary) -> None:
    table = read_table(text)
    intake = read_rows(table, guess_columns(table.headings), {}, vocabulary)
    assert len(intake.rows) == len(table.records)
