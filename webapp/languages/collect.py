"""All that is said: in the code by ``say``, in templates as sentences and by ``_`` and ``count``, in tables of words."""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path

import jinja2
from jinja2 import nodes

from webapp.languages.segments import sentences

TABLES = {
    "domain/terms.toml": ("word", "means"),
    "domain/floor/defects.toml": ("name", "causes", "correction", "note"),
    "domain/floor/expected.toml": ("note",),
    "domain/intake/words.toml": ("ss", "s s"),
    "domain/metallurgy/elements.toml": ("name",),
    "domain/safety/checklist.toml": ("text", "why", "source"),
    "domain/safety/cautions.toml": ("text", "source"),
    "webapp/guides.toml": ("title", "about", "points"),
}
"""Words that are data: the fields of each table that people read."""
TERMINAL = ("webapp/cli.py", "webapp/care.py")
"""Commands speak English."""


def said(root: Path) -> dict[str, str]:
    """Each pattern and the file that says it first, for a checkout."""
    found: dict[str, str] = {}
    for folder in ("domain", "webapp"):
        for file in sorted((root / folder).rglob("*.py")):
            if str(file.relative_to(root)) in TERMINAL:
                continue
            _note(found, file.relative_to(root), _in_code(file.read_text(encoding="utf-8")))
    for file in sorted((root / "templates").rglob("*.html")):
        _note(found, file.relative_to(root), in_template(file.read_text(encoding="utf-8")))
    for name, fields in TABLES.items():
        _note(found, Path(name), _in_table(tomllib.loads((root / name).read_text(encoding="utf-8")), set(fields)))
    return found


def _note(found: dict[str, str], file: Path, patterns: Iterable[str]) -> None:
    for pattern in patterns:
        if re.search(r"[^\W\d_]", re.sub(r"\{\w+\}", "", pattern)):
            found.setdefault(pattern, str(file))


def _in_code(source: str) -> Iterator[str]:
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call):
            called = "" if _is_read(node.func) else getattr(node.func, "id", getattr(node.func, "attr", ""))
            words = [a.value for a in node.args if isinstance(a, ast.Constant) and isinstance(a.value, str)]
            yield from _patterns(called, words)


def _is_read(called: ast.expr) -> bool:
    """``reading.count`` reads what was typed and says nothing."""
    return isinstance(called, ast.Attribute) and isinstance(called.value, ast.Name) and called.value.id == "reading"


def _patterns(called: str, words: list[str]) -> Iterator[str]:
    """``count`` says one and many."""
    if called == "say" or called == "_":
        yield from words[:1]
    elif called == "count" and words:
        yield from ("{number} " + words[0], "{number} " + (words[1] if len(words) > 1 else words[0] + "s"))


@cache
def _bare() -> jinja2.Environment:
    return jinja2.Environment(autoescape=True)


def in_template(source: str) -> Iterator[str]:
    """Its sentences, and the words marked within its expressions."""
    yield from sentences(source)
    tree = _bare().parse(source)
    for call in tree.find_all(nodes.Call):
        yield from _patterns(getattr(call.node, "name", ""), _constants(call.args))
    for used in tree.find_all(nodes.Filter):
        yield from _patterns(used.name, _constants(used.args))


def _constants(arguments: list[nodes.Expr]) -> list[str]:
    return [one.value for one in arguments if isinstance(one, nodes.Const) and isinstance(one.value, str)]


def _in_table(table: object, fields: set[str]) -> Iterator[str]:
    if isinstance(table, dict):
        for key, value in table.items():
            if key in fields and isinstance(value, str):
                yield value
            elif key in fields and isinstance(value, list):
                yield from (one for one in value if isinstance(one, str))
            yield from _in_table(value, fields)
    elif isinstance(table, list):
        for one in table:
            yield from _in_table(one, fields)
