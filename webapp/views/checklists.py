"""The checklists as the shop edits them: the lists by pause, and the form of one point."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby

from domain.safety.catalogue import BLANKS, Listed, catalogue
from domain.safety.condition_words import OF_OWN_POINTS, VALUES, in_words
from domain.safety.own_points import PointChange, start_row
from domain.safety.point_limits import fullest
from domain.safety.point_rules import LONGEST_TEXT, LONGEST_WHY, caution, reading, required, second
from domain.safety.points import UNITS, Pause, Reading
from domain.saying import say
from webapp.forms import OPENED, Choice, Form, Group, Input
from webapp.forms.build import Item
from webapp.ways import Language, current

LABELS = {
    "heat": say("Heat"),
    "machine": say("Machine"),
    "bond": say("Investment"),
    "fume": say("Patterns"),
    "large": say("Flask"),
    "alone": say("People"),
    "cooling": say("After the pour"),
    "caution": say("Caution of the alloy"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PauseList:
    """``most``: the points that the fullest flask is asked. ``key``: the pause's name in addresses."""

    key: str
    title: str
    points: tuple[Listed, ...]
    left_out: tuple[Listed, ...]
    most: int


def pause_lists(changes: tuple[PointChange, ...]) -> tuple[PauseList, ...]:
    return tuple(_pause_list(pause, tuple(points), changes) for pause, points in groupby(catalogue(changes), key=lambda p: p.pause))


def _pause_list(pause: Pause, points: tuple[Listed, ...], changes: tuple[PointChange, ...]) -> PauseList:
    return PauseList(
        key=pause.name,
        title=pause.words,
        points=tuple(p for p in points if not p.dropped),
        left_out=tuple(p for p in points if p.dropped),
        most=fullest(pause, changes),
    )


def listed(point: str, changes: Iterable[PointChange]) -> Listed | None:
    return next((one for one in catalogue(changes) if one.id == point), None)


def texts_of(change: PointChange) -> dict[str, str]:
    """What the form of a point shows before anything is typed: the words as they are kept, whoever reads."""
    start = start_row(change.id) or {"text": "", "why": ""}
    yes_no = {True: "yes", False: "no"}
    return {
        "text": "".join(start["text"] if change.text is None else change.text),
        "why": "".join(start["why"] if change.why is None else change.why),
        "reading": reading(change),
        "reason": change.reason,
        **({"required": "on"} if required(change) else {}),
        **({"second": "on"} if second(change) else {}),
        **{name: yes_no[value] if isinstance(value, bool) else value for name, value in change.conditions.items()},
    }


def point_form(change: PointChange | None, typed: Mapping[str, str], errors: Mapping[str, str], cautions: frozenset[str]) -> Form:
    """``change``: none for a new point."""
    items: list[Item] = [*_pause(change, typed, errors), *_words(change, typed, errors), *_marks(change, typed, errors)]
    if change is None or change.own:
        items.append(_conditions(typed, errors, cautions))
    return Form(items=tuple(items), error=errors.get("", ""), wrong=len(errors), opened=typed.get(OPENED, ""))


def _pause(change: PointChange | None, typed: Mapping[str, str], errors: Mapping[str, str]) -> list[Input]:
    if change is not None:
        return []
    options = tuple((pause.name, pause.words) for pause in Pause)
    return [_input("pause", say("Pause"), say("When work stops for it"), typed, errors, kind="choice", options=options)]


def _words(change: PointChange | None, typed: Mapping[str, str], errors: Mapping[str, str]) -> list[Input]:
    blanks = ", ".join(f"{{{name}}}" for name in BLANKS)
    what = say(
        "At most {most} characters, read then do. In braces the flask fills in its own: {blanks}.",
        most=LONGEST_TEXT,
        blanks=blanks,
    )
    empty = say("At most {most} characters; may be empty", most=LONGEST_WHY)
    if change is not None and not change.own and current().language is not Language.ENGLISH:
        what = say("{hint} A starting text is read in your language; what is typed here stays as typed for all.", hint=what)
    return [
        _input("text", say("What is to be done"), what, typed, errors, kind="long"),
        _input("why", say("What for"), empty, typed, errors, kind="long"),
    ]


def _marks(change: PointChange | None, typed: Mapping[str, str], errors: Mapping[str, str]) -> list[Input]:
    options = tuple((kind.value, _in_unit(kind)) for kind in Reading)
    another = say("Another one than who ticked it looks and signs")
    marks = [
        _input("reading", say("Reading to write down"), "", typed, errors, kind="choice", options=options),
        _input("required", say("Must be ticked before the work goes on"), "", typed, errors, kind="flag"),
        _input(
            "second",
            say("Asks for a second person"),
            another,
            typed,
            errors,
            kind="flag",
        ),
    ]
    if change is not None and caution(change):
        hint = say("Needed where the box before is empty; kept with the point")
        marks.append(_input("reason", say("Why it need not be ticked"), hint, typed, errors))
    return marks


def _in_unit(kind: Reading) -> str:
    return say("{what}, in {unit}", what=kind.words, unit=UNITS[kind]) if UNITS[kind] else say("nothing")


def _conditions(typed: Mapping[str, str], errors: Mapping[str, str], cautions: frozenset[str]) -> Group:
    hint = say("Those for which all that is chosen is true; with nothing chosen, every flask")
    items = tuple(_condition(name, typed, errors, cautions) for name in OF_OWN_POINTS)
    return Group(name="conditions", label=say("Which flasks are asked"), hint=hint, items=items)


def _condition(name: str, typed: Mapping[str, str], errors: Mapping[str, str], cautions: frozenset[str]) -> Input:
    return _input(name, LABELS[name], "", typed, errors, kind="choice", options=_options(name, cautions), optional=True)


def _options(name: str, cautions: frozenset[str]) -> tuple[Choice, ...]:
    if name == "caution":
        return tuple((one, in_words(name, one)) for one in sorted(cautions))
    keys = {True: "yes", False: "no"}
    return tuple((keys[v] if isinstance(v, bool) else v, in_words(name, v)) for v in VALUES[name])


def _input(
    name: str,
    label: str,
    hint: str,
    typed: Mapping[str, str],
    errors: Mapping[str, str],
    *,
    kind: str = "text",
    options: tuple[Choice, ...] = (),
    optional: bool = False,
) -> Input:
    return Input(
        name=name,
        label=label,
        hint=hint,
        kind=kind,
        text=typed.get(name, ""),
        error=errors.get(name, ""),
        options=options,
        optional=optional,
        nothing=say("with or without") if name == "caution" else say("any"),
    )
