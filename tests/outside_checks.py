"""Lists the tests that check the product against something outside it.

A test carries ``@pytest.mark.outside("the published source")``. This script reads the marks from the
test files, without running them, and writes the table in DEVELOPERS.md:

    python tests/outside_checks.py            # print it
    python tests/outside_checks.py --write    # put it into DEVELOPERS.md
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
HEADING = "## Outside checks\n"


def outside_checks() -> Iterator[tuple[str, str, str]]:
    """(file, test, source) of every marked test, in the order of the files."""
    for path in sorted((ROOT / "tests").rglob("test_*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                for source in _sources(node):
                    yield str(path.relative_to(ROOT)), node.name, source


def _sources(test: ast.FunctionDef | ast.AsyncFunctionDef) -> Iterator[str]:
    for mark in test.decorator_list:
        if isinstance(mark, ast.Call) and isinstance(mark.func, ast.Attribute) and mark.func.attr == "outside":
            yield str(ast.literal_eval(mark.args[0]))


def table() -> str:
    lines = ["| checked against | test |", "| --- | --- |"]
    for path, name, source in outside_checks():
        words = name.removeprefix("test_").replace("_", " ")
        lines.append(f"| {source} | {words} (`{path.removeprefix('tests/')}`) |")
    return "\n".join(lines) + "\n"


def in_document(text: str) -> str:
    """The document with its table brought up to date; the table ends the document."""
    head, heading, _ = text.partition(HEADING)
    return f"{head}{heading}\n{table()}"


if __name__ == "__main__":
    if "--write" in sys.argv:
        document = ROOT / "DEVELOPERS.md"
        document.write_text(in_document(document.read_text(encoding="utf-8")), encoding="utf-8")
    else:
        print(table(), end="")
