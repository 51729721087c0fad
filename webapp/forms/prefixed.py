"""Several forms on one page: the same items under names of their own."""

from __future__ import annotations

from dataclasses import replace

from webapp.forms.build import Group, Input, Item, Rows


def prefixed(item: Item, start: str) -> Item:
    """The item with ``start`` before its name and the names of all within it."""
    if isinstance(item, Group):
        return replace(item, name=start + item.name, items=tuple(prefixed(inner, start) for inner in item.items))
    if isinstance(item, Rows):
        return replace(item, name=start + item.name, rows=tuple(tuple(_input(one, start) for one in row) for row in item.rows))
    return _input(item, start)


def _input(item: Input, start: str) -> Input:
    return replace(item, name=start + item.name)
