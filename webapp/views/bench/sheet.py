"""A calculator's sheet: each value is asked for and read in one place.

A calculator asks its ``Sheet`` for one value after another, in the order of the screen, and gets the
value, or none where nothing usable is typed. An empty field is no error: the answer then says what is
still to be typed. ``sheet.slip(answer)`` is what the page shows.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias, TypeVar

from domain.errors import DomainError, InvalidValue
from domain.safety.catalogue import caution
from domain.safety.checklist import Caution
from domain.saying import Saying, listed, say
from domain.shop.lots import Lot
from domain.shop.shop import Shop
from webapp.formats import begun

V = TypeVar("V")
Group: TypeAlias = tuple[str, tuple[tuple[str, str], ...]]
"""A heading and its options: what is sent, and what people read."""

CHOOSE = say("choose")
MOST_ROWS = 30
LEAST_ROWS = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """What a calculator may use without any plan."""

    shop: Shop
    lots: tuple[Lot, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One field. ``groups``: of a choice; none for a text. ``nothing``: what the empty choice says."""

    name: str
    label: str
    text: str
    hint: str = ""
    error: str = ""
    groups: tuple[Group, ...] = ()
    nothing: str = CHOOSE


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """``heads``: the columns. Cells after the first are numbers unless ``words`` names their column."""

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    words: frozenset[int] = frozenset({0})


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """``facts``: what was asked for, by name. ``refusal``: why it cannot be done and what would mend it."""

    facts: tuple[tuple[str, str], ...] = ()
    tables: tuple[Table, ...] = ()
    notes: tuple[str, ...] = ()
    refusal: str = ""
    cautions: tuple[str, ...] = ()

    @property
    def warnings(self) -> tuple[Caution, ...]:
        return tuple(caution(id) for id in self.cautions)


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """``rows``: fields that repeat, one tuple a row, under ``row_heads``. ``missing``: labels of what is
    still to be typed. ``wrong``: how many fields need another look."""

    entries: tuple[Entry, ...]
    row_title: str
    row_heads: tuple[str, ...]
    rows: tuple[tuple[Entry, ...], ...]
    missing: tuple[str, ...]
    wrong: int
    answer: Answer | None

    @property
    def still_to_type(self) -> Saying:
        return listed(self.missing)

    @property
    def all_entries(self) -> tuple[Entry, ...]:
        return self.entries + tuple(entry for row in self.rows for entry in row)


class Sheet:
    def __init__(self, typed: Mapping[str, str]) -> None:
        self.typed = typed
        self.entries: list[Entry] = []
        self.rows: list[tuple[Entry, ...]] = []
        self.row_title = ""
        self.row_heads: tuple[str, ...] = ()
        self.missing: list[str] = []

    def value(self, name: str, label: str, hint: str, read: Callable[[str], V], *, needed: bool = True) -> V | None:
        """What ``read`` makes of the field; it raises ``InvalidValue`` for what it cannot read."""
        entry, value = self._read(Entry(name=name, label=label, hint=hint, text=self._text(name)), read)
        self._ask(entry, needed=needed)
        return value

    def choice(
        self, name: str, label: str, groups: Sequence[Group], *, nothing: str = say("choose"), needed: bool = True
    ) -> str | None:
        """The key of what is chosen. A key that is not offered counts as nothing chosen."""
        entry = self._choice(name, label, groups, nothing)
        self._ask(entry, needed=needed)
        return entry.text or None

    def complain(self, name: str, message: str) -> None:
        """What is wrong with a field beside the others."""
        self.entries = [replace(e, error=e.error or message) if e.name == name else e for e in self.entries]
        self.rows = [tuple(replace(e, error=e.error or message) if e.name == name else e for e in row) for row in self.rows]

    def numbered(self, name: str) -> range:
        """The rows to offer: those in use and two more."""
        used = [n for n in range(1, MOST_ROWS + 1) if any(self._text(f"{name}.{n}.{part}") for part in ("from", "what", "mass"))]
        return range(1, min(MOST_ROWS, max([LEAST_ROWS, *(n + 2 for n in used)])) + 1)

    def cell(self, name: str, label: str, read: Callable[[str], V]) -> tuple[Entry, V | None]:
        """A field of a row, not yet on the sheet."""
        return self._read(Entry(name=name, label=label, text=self._text(name)), read)

    def choice_cell(self, name: str, label: str, groups: Sequence[Group]) -> Entry:
        return self._choice(name, label, groups, say("none"))

    @property
    def wrong(self) -> int:
        return sum(bool(e.error) for e in [*self.entries, *(e for row in self.rows for e in row)])

    @property
    def ready(self) -> bool:
        """Whether everything needed is typed and understood."""
        return not self.wrong and not self.missing

    def slip(self, answer: Answer | None) -> Slip:
        return Slip(
            entries=tuple(self.entries),
            row_title=self.row_title,
            row_heads=self.row_heads,
            rows=tuple(self.rows),
            missing=tuple(self.missing),
            wrong=self.wrong,
            answer=answer if not self.wrong else None,
        )

    def _text(self, name: str) -> str:
        return self.typed.get(name, "").strip()

    def _choice(self, name: str, label: str, groups: Sequence[Group], nothing: str) -> Entry:
        offered = {key for _, options in groups for key, _ in options}
        text = self._text(name)
        return Entry(name=name, label=label, text=text if text in offered else "", groups=tuple(groups), nothing=nothing)

    def _read(self, entry: Entry, read: Callable[[str], V]) -> tuple[Entry, V | None]:
        if not entry.text:
            return entry, None
        try:
            return entry, read(entry.text)
        except InvalidValue as error:
            return replace(entry, error=_sentence(error)), None

    def _ask(self, entry: Entry, *, needed: bool) -> None:
        self.entries.append(entry)
        if needed and not entry.text:
            self.missing.append(entry.label)


def refused(error: DomainError) -> Answer:
    return Answer(refusal=_sentence(error))


def _sentence(error: DomainError) -> str:
    """In the reader's language: a slip is shown where it is worked out."""
    return begun(str(error)).rstrip(".") + "."
