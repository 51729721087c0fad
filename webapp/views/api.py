"""The description of the JSON interface as a page shows it: addresses, who may, what to send, what comes back."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

METHODS = ("get", "post", "put", "delete")


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldLine:
    """``path``: such as size.width, or items[].job. ``kind``: in a word or two, with its unit."""

    path: str
    kind: str
    required: bool
    about: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CallLine:
    """``status``: of the answer when all goes well. ``example``: what to type in a shell."""

    method: str
    path: str
    summary: str
    anchor: str
    roles: tuple[str, ...]
    asked: tuple[FieldLine, ...]
    sent: tuple[FieldLine, ...]
    back: tuple[FieldLine, ...]
    status: str
    example: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Chapter:
    key: str
    title: str
    calls: tuple[CallLine, ...]


def chapters(description: Mapping[str, Any], server: str) -> tuple[Chapter, ...]:
    """By noun, in the order of the description. ``server``: its address, for the examples."""
    found: dict[str, list[CallLine]] = {}
    for path, methods in description["paths"].items():
        for method in METHODS:
            if method in methods:
                call = methods[method]
                found.setdefault(call["tags"][0], []).append(_call(description, path, method, call, server))
    return tuple(Chapter(key=_key(tag), title=tag, calls=tuple(calls)) for tag, calls in found.items())


def _key(tag: str) -> str:
    return tag.casefold().replace(":", "").replace(" ", "-")


def _call(description: Mapping[str, Any], path: str, method: str, call: Mapping[str, Any], server: str) -> CallLine:
    status, good = next((code, answer) for code, answer in call["responses"].items() if code.startswith("2"))
    body = call.get("requestBody", {}).get("content", {}).get("application/json", {}).get("schema", {})
    schema = good.get("content", {}).get("application/json", {}).get("schema", {})
    parameters = (
        FieldLine(path=p["name"], kind=_kind(description, p["schema"]), required=p["required"], about=p.get("description", ""))
        for p in call.get("parameters", ())
    )
    return CallLine(
        method=method.upper(),
        path=path,
        summary=call["summary"],
        anchor=call["operationId"],
        roles=tuple(call.get("x-roles", ())),
        asked=tuple(parameters),
        sent=tuple(_fields(description, body)),
        back=tuple(_fields(description, schema)),
        status=status,
        example=_example(path, method, bool(body), server),
    )


def _example(path: str, method: str, sends: bool, server: str) -> str:
    parts = ["curl", "" if method == "get" else f"-X {method.upper()}", '-H "Authorization: Bearer $TOKEN"']
    parts += ["--json @body.json"] if sends else []
    return " ".join([part for part in parts if part] + [f'"{server}{path}"'])


def _resolved(description: Mapping[str, Any], schema: Mapping[str, Any]) -> Mapping[str, Any]:
    """Behind a reference, and of what may also be none the other."""
    while "$ref" in schema or "anyOf" in schema:
        if "$ref" in schema:
            schema = description["components"]["schemas"][schema["$ref"].rpartition("/")[2]]
            continue
        others = [one for one in schema["anyOf"] if one.get("type") != "null"]
        if len(others) != 1:
            break
        schema = others[0]
    return schema


def _fields(description: Mapping[str, Any], schema: Mapping[str, Any], before: str = "", deep: int = 0) -> Iterator[FieldLine]:
    """The fields of an object, and of objects in it three levels down."""
    schema = _resolved(description, schema)
    for name, one in schema.get("properties", {}).items():
        path, inner = f"{before}{name}", _resolved(description, one)
        many = inner.get("type") == "array"
        inside = _resolved(description, inner.get("items", {})) if many else inner
        required = name in schema.get("required", ())
        yield FieldLine(path=path, kind=_kind(description, one), required=required, about=one.get("description", ""))
        if deep < 3 and "properties" in inside:
            yield from _fields(description, inside, f"{path}{'[]' if many else ''}.", deep + 1)


def _kind(description: Mapping[str, Any], schema: Mapping[str, Any]) -> str:
    schema = schema if "unit" in schema else _resolved(description, schema)
    if "unit" in schema:
        return f"number of {schema['unit']}" if schema["unit"] != "unit" else "number"
    if "enum" in schema:
        return "one of " + ", ".join(map(str, schema["enum"]))
    if "const" in schema:
        return f"“{schema['const']}”"
    words = {"string": "text", "integer": "whole number", "number": "number", "boolean": "true or false", "array": "list"}
    if schema.get("format") == "date":
        return "ISO date"
    return words.get(schema.get("type", ""), "object")
