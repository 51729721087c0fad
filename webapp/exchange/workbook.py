"""Tables as spreadsheet workbooks (Office Open XML, ISO/IEC 29500), written and read."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterable, Iterator
from datetime import date, datetime, time
from typing import Any

from openpyxl import Workbook, load_workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.styles import Font

from domain.errors import InvalidValue
from domain.intake.table import MOST_ROWS, Cells

MEDIA_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
MOST_LINES = 1_048_576
"""Rows of a sheet (ISO/IEC 29500 leaves it open; what programs read)."""
LARGEST_INSIDE = 40 * 1024 * 1024
"""Bytes of a workbook's parts together, unpacked."""
MOST_PARTS = 500
WIDEST = 120
"""Columns that are read; a job list has a dozen."""

_NUMBER = re.compile(r"-?(0|[1-9]\d{0,13})(\.\d{1,9})?")
_DAY = re.compile(r"\d{4}-\d\d-\d\d")
_NOT_IN_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")


def workbook(records: Iterable[Cells]) -> bytes:
    """A workbook of one sheet; the first record holds the headings. Numbers and ISO days become what they are, all
    else is text, which nothing runs as a formula. Raises ``InvalidValue`` for more rows than a sheet has."""
    book = Workbook(write_only=True)
    sheet = book.create_sheet("Castweek")
    sheet.freeze_panes = "A2"
    for number, cells in enumerate(records):
        if number == MOST_LINES:
            raise InvalidValue("list", f"a sheet holds {MOST_LINES} rows and this list has more; take it as CSV")
        sheet.append([_heading(sheet, cell) if number == 0 else _cell(sheet, cell) for cell in cells])
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def _cell(sheet: Any, text: str) -> WriteOnlyCell:
    if _NUMBER.fullmatch(text):
        return WriteOnlyCell(sheet, float(text) if "." in text else int(text))
    if _DAY.fullmatch(text):
        try:
            return WriteOnlyCell(sheet, date.fromisoformat(text))
        except ValueError:
            pass  # it only looks like a day
    cell = WriteOnlyCell(sheet, _NOT_IN_XML.sub("", text))
    cell.data_type = "s"  # “=1+1” stays what it reads
    return cell


def _heading(sheet: Any, text: str) -> WriteOnlyCell:
    cell = WriteOnlyCell(sheet, text)
    cell.data_type, cell.font = "s", Font(bold=True)
    return cell


def is_workbook(data: bytes | str) -> bool:
    """Whether it is packed as a workbook is; what is in it is not looked at."""
    return isinstance(data, bytes) and data.startswith(b"PK\x03\x04")


def records_of(data: bytes) -> tuple[Cells, ...]:
    """The cells of the first sheet that shows any, as a person would type them; of formulas, what they came to. Raises
    ``InvalidValue`` where it cannot be read, unpacks to too much, or has more than ``MOST_ROWS`` rows."""
    try:
        _refuse_a_bomb(data)
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True, keep_links=False)
        sheets = [sheet for sheet in book.worksheets if sheet.sheet_state == "visible"]
        return next((rows for sheet in sheets if (rows := _rows(sheet))), ())
    except InvalidValue:
        raise
    except Exception as error:  # a damaged file fails anywhere in the library that reads it
        raise InvalidValue("list", "this spreadsheet cannot be read; save it again as XLSX or as CSV text") from error


def _refuse_a_bomb(data: bytes) -> None:
    """The unpacked size that a ZIP names bounds what is read from it; entities would make more of less."""
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        parts = packed.infolist()
        if len(parts) > MOST_PARTS or sum(part.file_size for part in parts) > LARGEST_INSIDE:
            most = LARGEST_INSIDE // (1024 * 1024)
            raise InvalidValue("list", f"this spreadsheet unpacks to more than {most} MB; save the list alone, or as CSV text")
        for part in parts:
            with packed.open(part) as file:
                if b"<!DOCTYPE" in file.read(4096).replace(b"\x00", b""):
                    raise InvalidValue("list", "this spreadsheet defines a document type, which none needs; save it anew")


def _rows(sheet: Any) -> tuple[Cells, ...]:
    rows = list(_read(sheet))
    while rows and not any(rows[-1]):
        rows.pop()
    return tuple(rows)


def _read(sheet: Any) -> Iterator[Cells]:
    sheet.reset_dimensions()  # what the file says of its size need not be so
    blank = 0
    for number, row in enumerate(sheet.iter_rows(max_col=WIDEST, values_only=True), 1):
        cells = tuple(map(_typed, row))
        while cells and not cells[-1]:
            cells = cells[:-1]
        blank = 0 if cells else blank + 1
        if number > MOST_ROWS and cells:
            raise InvalidValue("list", f"the list has more than {MOST_ROWS} rows; bring in at most {MOST_ROWS} at a time")
        if blank > MOST_ROWS:
            return
        yield cells


def _typed(value: object) -> str:
    if value is None or (isinstance(value, str) and value.startswith("#") and value.endswith(("!", "?", "/A"))):
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time() else value.isoformat(" ", "minutes")
    if isinstance(value, float):
        return f"{value:.10g}" if abs(value) < 1e10 else f"{value:.0f}"
    return str(value).strip()
