"""What all documents share: they carry exactly the fields of one domain value."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import fields
from typing import Any, Generic, Self, TypeVar, cast

from pydantic import BaseModel, ConfigDict, ValidationError, model_validator
from pydantic_core import InitErrorDetails

from domain.errors import DomainError, InvalidValue
from webapp.exchange.fields import refuse

D = TypeVar("D")
Path = tuple[str | int, ...]
Problem = tuple[Path, str]
"""Where, and what is wrong there."""


def errors_at(title: str, problems: Iterable[Problem]) -> ValidationError:
    """One error with every problem at its path."""
    lines = [InitErrorDetails(type=refuse(message), loc=path, input=None) for path, message in problems]
    return ValidationError.from_exception_data(title, lines)


def repeated(path: Path, field: str, entries: Iterable[Any]) -> list[Problem]:
    """Entries of the list at ``path`` whose ``field`` another has before them."""
    seen: set[str] = set()
    problems: list[Problem] = []
    for i, entry in enumerate(entries):
        key = getattr(entry, field)
        if key in seen:
            problems.append(((*path, i, field), f"“{key}” appears twice"))
        seen.add(key)
    return problems


class Document(BaseModel, Generic[D]):
    """A form or document of a domain value ``D``: the same field names, checked values.

    ``model_validate`` takes plain data or the domain value itself. Errors name the field's path.
    """

    model_config = ConfigDict(extra="forbid", use_attribute_docstrings=False)

    @classmethod
    def domain_class(cls) -> type[D]:
        """The domain class that this document describes."""
        for base in cls.__mro__:
            arguments = getattr(base, "__pydantic_generic_metadata__", {}).get("args")
            if arguments:
                return cast(type[D], arguments[0])
        raise TypeError(f"{cls.__name__} names no domain class")

    @classmethod
    def from_domain(cls, value: D) -> Self:
        return cls.model_validate(value)

    def to_domain(self) -> D:
        """The domain value. Raises ``DomainError`` where the domain does not allow it."""
        return self.domain_class()(**{f.name: _plain(getattr(self, f.name)) for f in fields(cast(Any, self.domain_class()))})

    @model_validator(mode="before")
    @classmethod
    def _take_apart(cls, value: Any) -> Any:
        return taken_apart(value) if isinstance(value, cls.domain_class()) else value

    @model_validator(mode="after")
    def _allowed_by_the_trade(self) -> Self:
        try:
            self.to_domain()
        except InvalidValue as error:
            path: Path = (error.field,) if error.field in type(self).model_fields else ()
            raise errors_at(type(self).__name__, [(path, str(error))]) from None
        except DomainError as error:
            raise refuse(str(error)) from None
        return self


def taken_apart(value: object) -> dict[str, Any]:
    """The fields of a domain value by name, not any deeper."""
    return {f.name: getattr(value, f.name) for f in fields(cast(Any, value))}


def _plain(value: Any) -> Any:
    if isinstance(value, Document):
        return value.to_domain()
    if isinstance(value, tuple):
        return tuple(_plain(item) for item in value)
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    return value
