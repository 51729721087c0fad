"""The steps of the set-up as forms: each thing with the few fields that are asked for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from webapp.forms import form_of, typed_from
from webapp.forms.build import Item
from webapp.forms.prefixed import prefixed
from webapp.setup_steps import STEPS, Step
from webapp.store.nouns import Stored


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing:
    """``start``: before the names of its fields. ``facts``: what the shop's list says of it, with its heads."""

    key: str
    start: str
    version: int
    name: str
    facts: tuple[tuple[str, str], ...]
    items: tuple[Item, ...]
    used: bool
    error: str


def next_step(gone: Mapping[str, str]) -> Step | None:
    return next((step for step in STEPS if step.slug not in gone), None)


def things(step: Step, stored: Sequence[Stored], typed: Mapping[str, str], errors: Mapping[str, str]) -> tuple[Thing, ...]:
    """``typed``: the form as sent where it was not saved, nothing where it is opened."""
    return tuple(_thing(step, one, f"{number}.", typed, errors) for number, one in enumerate(stored))


def _thing(step: Step, stored: Stored, start: str, typed: Mapping[str, str], errors: Mapping[str, str]) -> Thing:
    own = {name.removeprefix(start): text for name, text in typed.items() if name.startswith(start)}
    wrong = {name.removeprefix(start): text for name, text in errors.items() if name.startswith(start)}
    texts = own if typed else typed_from(step.noun.document, stored.value)
    others = frozenset(step.noun.document.model_fields) - frozenset(step.fields)
    form = form_of(step.noun.document, texts, wrong, sources=getattr(stored.value, "sources", {}), leave_out=others)
    cells = step.noun.cells(stored.value)
    return Thing(
        key=stored.key,
        start=start,
        version=stored.version,
        name=step.title if step.noun.single else cells[0],
        facts=() if step.noun.single else tuple(zip(step.noun.heads[1:], cells[1:], strict=True)),
        items=tuple(prefixed(item, start) for item in form.items),
        used=bool(own.get("use")) if typed else not stored.archived,
        error=wrong.get("use", ""),
    )
