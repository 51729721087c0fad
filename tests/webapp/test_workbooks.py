"""Lists as workbooks: written ones read by another reader, brought ones as safely as text."""

from __future__ import annotations

import io
import zipfile
from datetime import date, datetime

import httpx
import openpyxl
import pytest
import python_calamine
from lists import ANSWERS, begin, jobs, post, with_alloys

from domain.errors import InvalidValue
from domain.intake.table import MOST_ROWS, read_table
from webapp.exchange.workbook import LARGEST_INSIDE, records_of, workbook
from webapp.store.engine import Database

HEADS = ("Job", "Item", "Metal", "Qty", "Wax wt", "Size", "Due")


@pytest.fixture(autouse=True)
def shop(db: Database) -> Database:
    return with_alloys(db)


def packed(*rows: tuple[object, ...]) -> bytes:
    book, file = openpyxl.Workbook(), io.BytesIO()
    for row in rows:
        book.active.append(row)
    book.save(file)
    return file.getvalue()


def other_reader(data: bytes) -> list[list[object]]:
    return python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(data)).get_sheet_by_index(0).to_python()


@pytest.mark.outside("python-calamine, another reader of workbooks")
def test_numbers_and_days_are_what_they_are_and_no_text_is_a_formula() -> None:
    cells = ("12", "-0.25", "007", "2030-01-31", "2030-02-31", "=1+1", "+49 30", "1e5", "ring ✓\x00", "12345678901234567890")
    read = other_reader(workbook([tuple("abcdefghij"), cells]))
    assert read[0] == list("abcdefghij")
    assert read[1][:6] == [12, -0.25, "007", date(2030, 1, 31), "2030-02-31", "=1+1"]
    assert read[1][6:] == ["+49 30", "1e5", "ring ✓", "12345678901234567890"]
    sheet = zipfile.ZipFile(io.BytesIO(workbook([("a",), ("=1+1",)]))).read("xl/worksheets/sheet1.xml")
    assert b"<f>" not in sheet


def test_cells_read_as_a_person_would_type_them() -> None:
    row = (41, 2.5, 0.1 + 0.2, date(2030, 1, 31), datetime(2030, 1, 31, 7, 5), True, "  x ", None, "#N/A", 3.0, None, None)
    assert records_of(packed(row, (), ("end",), (), ())) == (
        ("41", "2.5", "0.3", "2030-01-31", "2030-01-31 07:05", "yes", "x", "", "", "3"),
        (),
        ("end",),
    )


def test_the_first_sheet_that_shows_anything_is_read() -> None:
    book, file = openpyxl.Workbook(), io.BytesIO()
    book.active.sheet_state = "hidden"
    book.active.append(("hidden",))
    book.create_sheet("empty")
    book.create_sheet("list").append(("shown",))
    book.save(file)
    assert records_of(file.getvalue()) == (("shown",),)


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"PK\x03\x04 and no more", "cannot be read"),
        (packed(("a",))[:-400], "cannot be read"),
        (packed(*[(1,)] * (MOST_ROWS + 1)), f"more than {MOST_ROWS} rows"),
    ],
)
def test_what_is_no_list_is_refused_in_words(data: bytes, told: str) -> None:
    with pytest.raises(InvalidValue, match=told):
        records_of(data)


def _with_part(name: str, content: bytes) -> bytes:
    file = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(packed(("a",)))) as old, zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as new:
        for part in old.namelist():
            new.writestr(part, content if part == name else old.read(part))
        if name not in old.namelist():
            new.writestr(name, content)
    return file.getvalue()


def test_what_unpacks_to_too_much_is_refused_before_it_is_unpacked() -> None:
    bomb = _with_part("xl/media/big.bin", b"\x00" * (LARGEST_INSIDE + 1))
    assert len(bomb) < 100_000
    with pytest.raises(InvalidValue, match="unpacks to more than 40 MB"):
        records_of(bomb)


def test_entities_are_refused() -> None:
    laughs = b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;">]><x>&b;</x>'
    for part in ("xl/worksheets/sheet1.xml", "xl/sharedStrings.xml", "[Content_Types].xml"):
        with pytest.raises(InvalidValue, match="document type"):
            records_of(_with_part(part, laughs))


def test_a_sheet_that_claims_a_million_rows_and_columns_is_read_as_it_is() -> None:
    sheet = (
        b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><dimension ref="A1:XFD1048576"/><sheetData>'
        b'<row r="1"><c r="A1"><v>7</v></c><c r="XFD1"><v>8</v></c></row><row r="1048576"><c r="A1048576"><v>9</v></c></row>'
        b"</sheetData></worksheet>"
    )
    assert records_of(_with_part("xl/worksheets/sheet1.xml", sheet)) == (("7",),)


async def test_a_workbook_is_brought_in_like_text_and_twice_makes_no_duplicate(client: httpx.AsyncClient, db: Database) -> None:
    row = ("J-7", "ring", "silver 925", 2, "7 g", "22 x 18 x 12 mm", date(2026, 3, 20))
    for added in (1, 1):
        answer = await client.post("/intake", files={"file": ("list.xlsx", packed(("the shop's list",), HEADS, row))})
        assert answer.status_code == 303, answer.text
        address = answer.headers["location"]
        await post(client, address, "answers", **ANSWERS)
        await post(client, address, "take-in")
        assert len(jobs(db)) == added
    job = jobs(db)["J-7"]
    assert (job.quantity, job.due, job.alloy) == (2, "2026-03-20", "silver-925")


async def test_a_workbook_that_is_damaged_is_refused_beside_the_list(client: httpx.AsyncClient) -> None:
    answer = await client.post("/intake", files={"file": ("list.xlsx", packed(("a",))[:300])})
    assert answer.status_code == 422
    assert "spreadsheet cannot be read" in answer.text


async def test_the_list_of_jobs_is_brought_in_again_as_it_was_taken_out(client: httpx.AsyncClient, db: Database) -> None:
    address = await begin(client, "Job,Item,Metal,Qty,Wax wt,Size,Due\nJ-7,=ring,silver 925,2,7 g,22 x 18 x 12 mm,2026-03-20\n")
    await post(client, address, "answers", **ANSWERS)
    await post(client, address, "take-in")
    before = jobs(db)["J-7"]
    for form in ("csv", "xlsx"):
        file = await client.get(f"/jobs/list.{form}")
        assert file.headers["content-disposition"] == f'attachment; filename="jobs.{form}"'
        answer = await client.post("/intake", files={"file": (f"jobs.{form}", file.content)})
        address = answer.headers["location"]
        await post(client, address, "answers", **ANSWERS)
        await post(client, address, "take-in")
        assert jobs(db) == {"J-7": before}, form
    assert (await client.get("/jobs/list.ods")).status_code == 404


async def test_each_list_stands_in_a_workbook_as_in_its_text(client: httpx.AsyncClient) -> None:
    for address in ("/books/entries", "/metal/order", "/metal/consumables/list", "/jobs/list", "/week/flasks"):
        text = read_table((await client.get(f"{address}.csv")).content).records
        sheet = other_reader((await client.get(f"{address}.xlsx")).content)
        assert [str(cell) for cell in sheet[0]] == list(text[0])
        assert len(sheet) == len(text)
