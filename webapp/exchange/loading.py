"""From the text of a file to a document, calmly: everything wrong with it is named by its path."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, NoReturn, TypeVar

from pydantic import ValidationError

from webapp.exchange.document import Document

D = TypeVar("D", bound=Document[Any])
LARGEST = 20_000_000
"""Bytes. A week of two thousand jobs is about a tenth of it."""
DEEPEST = 40
"""Levels; a plan has eight."""


@dataclass(frozen=True, slots=True)
class Problem:
    """``path``: such as ``jobs[3].pattern_mass``; empty for the document as a whole."""

    path: str
    message: str

    def __str__(self) -> str:
        return f"{self.path}: {self.message}" if self.path else self.message

    def within(self, file: str) -> Problem:
        """The same problem, with the file's name before it."""
        return Problem(f"{file}: {self.path}" if self.path else file, self.message)


class WrongDocument(Exception):
    """The file is not the document that it should be."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))

    @classmethod
    def single(cls, message: str) -> WrongDocument:
        """One thing wrong with the document as a whole."""
        return cls([Problem("", message)])


def load_document(kind: type[D], data: bytes) -> D:
    """The document in ``data`` (UTF-8 JSON). Raises ``WrongDocument``."""
    tree = parse(data)
    try:
        return kind.model_validate(tree)
    except ValidationError as error:
        raise WrongDocument(problems_of(error)) from None


def parse(data: bytes) -> Any:
    """Plain data from UTF-8 JSON of reasonable size and depth, with each name once and no NaN."""
    if len(data) > LARGEST:
        raise WrongDocument.single(f"the file is larger than {LARGEST:,} bytes, which is too large for a document")
    try:
        tree = json.loads(data.decode("utf-8-sig"), object_pairs_hook=_once_each, parse_constant=_no_constant)
    except UnicodeDecodeError as error:
        raise WrongDocument.single(f"the file is not UTF-8 text (byte {error.start})") from None
    except RecursionError:
        raise WrongDocument.single("the file is nested too deeply") from None
    except json.JSONDecodeError as error:
        raise WrongDocument.single(f"not JSON: {error.msg} in line {error.lineno}, column {error.colno}") from None
    except ValueError as error:
        raise WrongDocument.single(f"not JSON that can be read: {error}") from None
    _not_too_deep(tree)
    return tree


def problems_of(error: ValidationError) -> list[Problem]:
    """Every error at its path, in words."""
    return [Problem(path_text(line["loc"]), words_of(line["type"], line["msg"])) for line in error.errors(include_url=False)]


def path_text(path: Iterable[str | int]) -> str:
    """``("jobs", 3, "pattern_mass")`` is ``jobs[3].pattern_mass``."""
    text = ""
    for step in path:
        if isinstance(step, int):
            text += f"[{step}]"
        elif step != "[key]":
            text += f".{step}" if text else step
    return text


WORDS = {
    "missing": "is missing",
    "extra_forbidden": "is not a field of this document",
    "string_type": "must be a text",
    "int_type": "must be a whole number",
    "int_parsing": "must be a whole number",
    "int_from_float": "must be a whole number",
    "bool_type": "must be true or false",
    "bool_parsing": "must be true or false",
    "tuple_type": "must be a list",
    "frozen_set_type": "must be a list",
    "dict_type": "must be an object",
    "model_type": "must be an object",
    "model_attributes_type": "must be an object",
    "finite_number": "must be a finite number",
    "string_unicode": "must be a text of whole characters",
}


def words_of(kind: str, message: str) -> str:
    """What is wrong, from the kind of an error and its message."""
    return WORDS.get(
        kind,
        message.replace("Input should be", "must be")
        .replace("greater than or equal to", "at least")
        .replace("less than or equal to", "at most"),
    )


def _once_each(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    result = dict(pairs)
    if len(result) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise ValueError(f"“{twice}” appears twice in one object")
    return result


def _no_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is not a number")


def _not_too_deep(tree: Any) -> None:
    level, depth = [tree], 0
    while level:
        depth += 1
        if depth > DEEPEST:
            raise WrongDocument.single("the file is nested too deeply")
        level = [child for node in level for child in _children(node)]


def _children(node: Any) -> list[Any]:
    if isinstance(node, dict):
        return list(node.values())
    return node if isinstance(node, list) else []
