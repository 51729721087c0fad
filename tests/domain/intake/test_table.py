"""A list is read whatever its encoding, delimiter and quotes, and every record stays a row."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from domain.errors import InvalidValue
from domain.intake.columns import Field, field_of, guess_columns, heading_unit
from domain.intake.table import read_table, safe_cell, written

LIST = "Job,Item,Metal,Qty\n1,ring,weiß,2\n"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252", "utf-32"])
def test_encodings_are_recognised(encoding: str) -> None:
    assert read_table(LIST.encode(encoding)).records[1] == ("1", "ring", "weiß", "2")


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_delimiters_are_recognised(delimiter: str) -> None:
    table = read_table(LIST.replace(",", delimiter))
    assert (table.delimiter, table.records[0]) == (delimiter, ("Job", "Item", "Metal", "Qty"))


def test_decimal_commas_do_not_pass_for_delimiters() -> None:
    table = read_table("Auftrag;Gewicht\n1;3,97\n2;4,00\n")
    assert table.records[1:] == (("1", "3,97"), ("2", "4,00"))


def test_quoted_newlines_and_delimiters_stay_in_their_cell() -> None:
    table = read_table('Job,Item,Notes\r\n1,ring,"see sketch\r\nboth ""sides"", polished"\r\n2,band,\r\n')
    assert len(table.records) == 3
    assert table.records[1][2] == 'see sketch\nboth "sides", polished'


def test_a_quote_that_never_closes_spoils_its_own_line_only() -> None:
    table = read_table('Job,Item,Size\n1,ring,"3/4" x 3/8"\n2,band,5\n3,"open,6\n4,leaf,7\n')
    assert [r[0] for r in table.records] == ["Job", "1", "2", "3", "4"]
    assert table.records[4] == ("4", "leaf", "7")


def test_blank_lines_are_rows_and_titles_stand_above_the_headings() -> None:
    table = read_table("Jobs of the week\n\nJob,Item,Metal\n1,ring,925\n\n2,band,925\n")
    assert (len(table.records), table.heading) == (6, 3)


def test_a_line_that_names_the_delimiter_is_obeyed() -> None:
    table = read_table("sep=|\nJob|Item\n1|a,b\n")
    assert (table.delimiter, table.heading, table.records[2]) == ("|", 2, ("1", "a,b"))


@pytest.mark.parametrize("data", [b"PK\x03\x04rest", b"%PDF-1.7", b"\xd0\xcf\x11\xe0rest"])
def test_other_files_say_what_to_bring_instead(data: bytes) -> None:
    with pytest.raises(InvalidValue, match="CSV"):
        read_table(data)


@given(st.text(max_size=300) | st.binary(max_size=300))
def test_any_text_is_a_table_of_as_many_rows(data: str | bytes) -> None:
    try:
        table = read_table(data)
    except InvalidValue:
        assert isinstance(data, bytes)
        return
    if isinstance(data, str) and '"' not in data and "\x00" not in data:
        lines = data.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
        assert len(table.records) == len(lines.removesuffix("\n").split("\n")) * bool(lines)


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1+2", "@x", "\tx"])
def test_formulas_are_exported_as_text(text: str) -> None:
    assert safe_cell(text) == "'" + text
    assert safe_cell("ring") == "ring"


def test_a_written_list_reads_back_as_it_was() -> None:
    records = (("Job", "Item", "Qty"), ("1", "=1+1", "-2"), ("2", 'a "b", c\nd', ""))
    text = written(records)
    assert "'=1+1" in text
    assert read_table(text).records == records


@pytest.mark.parametrize(
    ("heading", "field"),
    [
        ("Job #", Field.JOB),
        ("Auftragsnr.", Field.JOB),
        ("Cust", Field.CUSTOMER),
        ("Bezeichnung", Field.ITEM),
        ("Metal / Alloy", Field.ALLOY),
        ("Customer / Item", None),
        ("Legierung", Field.ALLOY),
        ("Stückzahl", Field.QUANTITY),
        ("Wax wt (g)", Field.PATTERN_MASS),
        ("Wachsgewicht g", Field.PATTERN_MASS),
        ("Masse", Field.PATTERN_MASS),
        ("Maße", Field.SIZE),
        ("Size [mm]", Field.SIZE),
        ("Liefertermin", Field.DUE),
        ("Échéance", Field.DUE),
        ("Metal wt", None),
        ("Colour", None),
    ],
)
def test_headings_name_their_field(heading: str, field: Field | None) -> None:
    assert field_of(heading)[0] is field


def test_a_heading_may_name_the_unit() -> None:
    assert [heading_unit(h) for h in ("Wax wt (g)", "Size [mm]", "Gewicht dwt", "Notes")] == ["g", "mm", "dwt", ""]


def test_material_means_the_metal_unless_another_column_does() -> None:
    assert guess_columns(("Material", "Menge")) == {Field.ALLOY: 0, Field.QUANTITY: 1}
    assert guess_columns(("Material", "Metal")) == {Field.ALLOY: 1, Field.MATERIAL: 0}


def test_a_colour_is_the_alloys_where_the_alloys_column_holds_only_karats() -> None:
    assert guess_columns(("Karat", "Color")) == {Field.ALLOY: 0, Field.COLOUR: 1}
    assert guess_columns(("Alloy", "Color")) == {Field.ALLOY: 0}


def test_a_remembered_mapping_goes_first() -> None:
    headings = ("Wt", "Metal wt", "Ref")
    assert guess_columns(headings) == {Field.PATTERN_MASS: 0, Field.JOB: 2}
    remembered = {"wt": "", "metal wt": "pattern_mass"}
    assert guess_columns(headings, remembered) == {Field.PATTERN_MASS: 1, Field.JOB: 2}


@pytest.mark.parametrize("word", ["Name", "NAME", "Nom", "Nome", "Naam"])
def test_a_bare_name_is_the_item_where_no_other_column_is(word: str) -> None:
    table = read_table(f"Week 12\n\n{word};Qty\nband;2\n")
    assert table.heading == 3
    assert guess_columns(table.records[2]) == {Field.ITEM: 0, Field.QUANTITY: 1}
    assert guess_columns([word, "Item", "Qty"]) == {Field.ITEM: 1, Field.QUANTITY: 2}
    assert Field.ITEM not in guess_columns([word, "Qty"], {word.lower(): ""})


@pytest.mark.parametrize("heading", ["Customer name", "client name", "Kundenname", "Nom du client", "Nome cliente", "Klantnaam"])
def test_the_name_of_a_customer_is_the_customer(heading: str) -> None:
    assert guess_columns([heading, "Name", "Qty"]) == {Field.CUSTOMER: 0, Field.ITEM: 1, Field.QUANTITY: 2}
    assert Field.ITEM not in guess_columns([heading, "Qty"])
