"""Two people edit the same thing: what the other one changed, and a form that loses neither's work."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace

from domain.saying import say
from webapp.forms.build import OPENED, Differs, Form, Input, Item, Rows


def meet(yours: Mapping[str, str], theirs: Mapping[str, str], form: Callable[[Mapping[str, str]], Form]) -> Form:
    """The form of ``yours`` after somebody else saved ``theirs``. What was changed here stays as it was typed; a field,
    with all that is in it, that nobody changed here shows theirs. ``Form.met`` tells what they changed."""
    yours = {name: text.strip().replace("\r\n", "\n") for name, text in yours.items()}
    before = _opened(yours)
    changed = {_field(name) for name in before.keys() | yours.keys() if before.get(name, "") != yours.get(name, "")}
    mine = {name: text for name, text in yours.items() if not before or _field(name) in changed}
    merged = mine | {name: text for name, text in theirs.items() if before and _field(name) not in changed}
    words = dict(_words(form({**theirs, **yours}).items))
    met = tuple(
        Differs(
            label=label,
            opened=said(before.get(name, "")),
            theirs=said(theirs.get(name, "")),
            yours=said(merged.get(name, "")),
            both=bool(before) and _field(name) in changed,
        )
        for name, (label, said) in words.items()
        if theirs.get(name, "") != (before.get(name, "") if before else yours.get(name, ""))
    )
    return replace(form(merged), opened=opened_text(theirs), met=met)


def untouched(yours: Mapping[str, str], theirs: Mapping[str, str], keeps: frozenset[str]) -> bool:
    """Whether no field of a form changed since it was opened, but for what the form does not change (``keeps``). A form
    that does not say what it showed cannot tell."""
    before = _opened(yours)
    names = {name for name in before.keys() | theirs.keys() if name.partition(".")[0] not in keeps}
    return bool(before) and all(before.get(name, "") == theirs.get(name, "") for name in names)


def opened_text(texts: Mapping[str, str]) -> str:
    """What a form shows when it is opened, as it is sent along with it."""
    return json.dumps({name: text for name, text in texts.items() if text}, ensure_ascii=False, sort_keys=True)


def _opened(typed: Mapping[str, str]) -> dict[str, str]:
    """What was there when the form was opened; empty where it does not say."""
    try:
        found = json.loads(typed.get(OPENED, ""))
    except (ValueError, RecursionError):
        return {}
    if not isinstance(found, dict):
        return {}
    return {name: text.strip() for name, text in found.items() if isinstance(text, str)}


def _field(name: str) -> str:
    return name.partition(".")[0]


def _words(items: Iterable[Item], above: str = "") -> Iterator[tuple[str, tuple[str, Callable[[str], str]]]]:
    """By the name of each control, its label and how its text reads."""
    for item in items:
        label = say("{above}{label}", above=above, label=item.label) if above else item.label
        if isinstance(item, Rows):
            for number, row in enumerate(item.rows, 1):
                yield from _words(row, say("{label}, row {number}: ", label=label, number=number))
        elif not isinstance(item, Input):
            yield from _words(item.items, say("{label}: ", label=label))
        elif item.kind == "set":
            yield from (
                (f"{item.name}.{value}", (say("{label}: {text}", label=label, text=text), _yes)) for value, text in item.options
            )
        else:
            yield item.name, (label, _said(item))


def _said(item: Input) -> Callable[[str], str]:
    if item.kind == "flag":
        return _yes
    options = dict(item.options)
    return lambda text: options.get(text, text) or say("nothing")


def _yes(text: str) -> str:
    return say("yes") if text else say("no")
