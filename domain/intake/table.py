"""Bytes or pasted text → a table of cells, whatever the encoding and the delimiter."""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TypeAlias

from domain.errors import InvalidValue
from domain.intake.columns import best_known, heading_row
from domain.saying import say

Cells: TypeAlias = tuple[str, ...]
DELIMITERS = ",;\t|"
_LONGEST_RECORD = 60
MOST_ROWS = 5_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """``records``: every record of the list, blank ones and headings too; row *n* is
    ``records[n - 1]``. ``heading``: the row that holds the headings, if any does."""

    records: tuple[Cells, ...]
    heading: int | None
    delimiter: str = ","
    encoding: str = "utf-8"

    @property
    def headings(self) -> Cells:
        """The headings, or names for the columns where the list has none."""
        if self.heading is not None:
            return self.records[self.heading - 1]
        return tuple(say("column {number}", number=n + 1) for n in range(max(map(len, self.records), default=0)))

    def with_record(self, row: int, cells: Cells) -> Table:
        """The table with one row typed anew."""
        return replace(self, records=(*self.records[: row - 1], cells, *self.records[row:]))

    def with_column(self, heading: str) -> tuple[Table, int]:
        """The table with a new column behind all cells, and its index; rows keep their cells."""
        index = max(len(self.headings), max(map(len, self.records), default=0))
        if self.heading is None:
            return self, index
        headings = (*self.headings, *[""] * (index - len(self.headings)), heading)
        return self.with_record(self.heading, headings), index


def read_table(data: bytes | str) -> Table:
    """The table in ``data``. Raises ``InvalidValue`` for a spreadsheet or other binary file, and for
    more than ``MOST_ROWS`` rows."""
    text, encoding = (data, "text") if isinstance(data, str) else _decoded(data)
    lines = _lines(text.replace("\x00", "").removeprefix("\ufeff"))
    delimiter, named = _delimiter(lines)
    return table_of(tuple(_records(lines, delimiter)), encoding, delimiter, named)


def table_of(records: tuple[Cells, ...], encoding: str, delimiter: str = ",", named: bool = False) -> Table:
    """The table of these records; in it the row of the headings is found. ``named``: the first record names the
    delimiter. Raises ``InvalidValue`` for more than ``MOST_ROWS`` rows."""
    if len(records) > MOST_ROWS:
        raise InvalidValue(
            "list",
            say("the list has {records} rows; bring in at most {most} at a time", records=len(records), most=MOST_ROWS),
        )
    heading = heading_row(records[1:] if named else records)
    return Table(records=records, heading=heading + 1 if named and heading else heading, delimiter=delimiter, encoding=encoding)


_BINARY = {
    b"PK\x03\x04": say("a zip file"),
    b"\xd0\xcf\x11\xe0": say("an old spreadsheet file"),
    b"%PDF": say("a PDF file"),
    b"\x89PNG": say("a picture"),
    b"\xff\xd8\xff": say("a picture"),
}
_BOMS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)


def _decoded(data: bytes) -> tuple[str, str]:
    for start, what in _BINARY.items():
        if data.startswith(start):
            raise InvalidValue(
                "list", say("this is {what}; save the list as CSV text, or copy its cells and paste them", what=what)
            )
    encoding = next((name for bom, name in _BOMS if data.startswith(bom)), None) or _guessed_encoding(data)
    return data.decode(encoding, errors="replace"), encoding


def _guessed_encoding(data: bytes) -> str:
    """UTF-16 shows by its zeros; what is not UTF-8 comes from an older Western system."""
    sample = data[:2000]
    if len(sample) >= 4 and sample[1::2].count(0) > len(sample) // 4:
        return "utf-16-le"
    if len(sample) >= 4 and sample[0::2].count(0) > len(sample) // 4:
        return "utf-16-be"
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


def _lines(text: str) -> list[str]:
    found = re.findall(r"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+$", text)
    return [line.rstrip("\r\n") for line in found]


def _delimiter(lines: list[str]) -> tuple[str, bool]:
    """The delimiter, and whether the first line names it (``sep=;``)."""
    named = re.fullmatch(r"sep=(.)", lines[0].strip(" "), re.IGNORECASE) if lines else None
    if named:
        return named.group(1), True
    best = max(DELIMITERS, key=lambda d: _fitness(lines[:80], d))
    return best, False


def _fitness(lines: list[str], delimiter: str) -> tuple[int, float, int]:
    """Known headings count most, then how many records have as many cells as most do."""
    records = [r for r in _records(lines, delimiter) if any(r)]
    widths = Counter(len(r) for r in records if len(r) > 1)
    if not widths:
        return (0, 0.0, 0)
    width, count = widths.most_common(1)[0]
    return (best_known(records), count / len(records), width)


def _records(lines: list[str], delimiter: str) -> list[Cells]:
    """Every record; one whose quotes do not close stays a record of its own line."""
    records: list[Cells] = []
    at = 0
    while at < len(lines):
        cells, used = _record(lines[at : at + _LONGEST_RECORD], delimiter)
        records.append(tuple(_unmarked(cell) for cell in cells))
        at += used
    return records


def _record(lines: list[str], delimiter: str) -> tuple[list[str], int]:
    if '"' not in lines[0]:
        return (lines[0].split(delimiter) if lines[0] else []), 1
    reader = csv.reader((line + "\n" for line in lines), delimiter=delimiter, strict=True)
    try:
        return next(reader), reader.line_num
    except (csv.Error, StopIteration):
        return lines[0].split(delimiter), 1


_NUMBER = re.compile(r"-\d+(\.\d+)?")
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def safe_cell(text: str) -> str:
    """A cell for an exported list: what a spreadsheet would run as a formula is marked as text. A number is none."""
    return f"'{text}" if text.startswith(_FORMULA_STARTS) and not _NUMBER.fullmatch(text) else text


def _unmarked(cell: str) -> str:
    """A cell as it was before ``safe_cell``, without blanks around it."""
    bare = cell.strip()
    return bare[1:] if bare.startswith("'") and bare[1:].startswith(_FORMULA_STARTS) else bare


def written(records: Iterable[Cells]) -> str:
    """The records as CSV text that ``read_table`` reads and no spreadsheet runs."""
    file = io.StringIO(newline="")
    csv.writer(file).writerows([safe_cell(cell) for cell in cells] for cells in records)
    return file.getvalue()
