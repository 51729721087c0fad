"""How many, how heavy, how large: the amounts of one row."""

from __future__ import annotations

import re
from typing import TypeVar

from domain.errors import InvalidValue
from domain.intake.columns import Field
from domain.intake.numbers import Reading
from domain.intake.plausible import check_against_box
from domain.intake.questions import Findings, Form, Question, choose, unit_answer
from domain.intake.row import ListRow
from domain.intake.sizes import EXAMPLE, SIZE_ORDERS, Three, read_size
from domain.intake.typed import LENGTH_WORDS, VOLUME_WORDS, read_count, read_mass, read_volume
from domain.intake.words import meanings, plain
from domain.saying import say
from domain.units import Mass, Volume


def quantity_of(row: ListRow) -> int:
    """Pieces, one or more; the answer for all rows where no column holds them."""
    if Field.QUANTITY in row.the_list.columns:
        return read_count(row.cell(Field.QUANTITY), choices=row.the_list.choices)
    text = say("No column says how many pieces a job has: every job of this list has …")
    return int(choose(Question(kind="quantity:missing", text=text, form=Form.NUMBER), row.answers, Field.QUANTITY))


def metal_of(row: ListRow) -> Mass | Volume:
    """One pattern's mass, or one piece's volume, whichever the row gives."""
    weight, volume = row.cell(Field.PATTERN_MASS), row.cell(Field.METAL_VOLUME)
    if weight and volume:
        return _weight_or_volume(row, weight, volume)
    if not weight and not volume:
        raise InvalidValue(
            Field.PATTERN_MASS, say("no weight of the pattern; type one such as 3.97 g, or the model's volume such as cad 480 mm3")
        )
    return _weighed(row, weight) if weight else _volume(row, volume)


def _weight_or_volume(row: ListRow, weight: str, volume: str) -> Mass | Volume:
    readings = (Reading("weight", say("the pattern's weight")), Reading("volume", say("the piece's volume")))
    question = Question(
        kind="weight-or-volume", text=say("Where a row gives both, the metal is worked out from …"), readings=readings
    )
    said = choose(question, row.answers, Field.PATTERN_MASS)
    return _weighed(row, weight) if said == "weight" else _volume(row, volume)


def _weighed(row: ListRow, text: str) -> Mass | Volume:
    if _is_volume(text):
        return _volume(row, text)
    bare = _with_unit(without_material(text), row.heading_unit(Field.PATTERN_MASS))
    mass = read_mass(bare, unit_answer("pattern_mass", row.answers), Field.PATTERN_MASS, row.the_list.choices)
    return _above_zero(mass, text, "3.97 g")


def _volume(row: ListRow, text: str) -> Volume:
    bare = _with_unit(text, row.heading_unit(Field.METAL_VOLUME))
    volume = read_volume(bare, unit_answer("metal_volume", row.answers), Field.METAL_VOLUME, row.the_list.choices)
    return _above_zero(volume, text, "cad 480 mm3")


def lengths_of(row: ListRow, found: Findings) -> Three:
    """The size as typed, from one column or three; the answer for all rows that have none."""
    text, unit = row.cell(Field.SIZE), LENGTH_WORDS.get(row.heading_unit(Field.SIZE))
    if Field.SIZE not in row.the_list.columns and Field.SIZE_FIRST in row.the_list.columns:
        parts = (Field.SIZE_FIRST, Field.SIZE_SECOND, Field.SIZE_THIRD)
        text = " x ".join(_with_unit(row.cell(part), row.heading_unit(part)) for part in parts if row.cell(part))
    if text:
        return read_size(text, unit or unit_answer("size", row.answers), row.the_list.choices)
    readings = (Reading("-", say("not known: each row needs a size of its own")),)
    question = Question(kind="size:missing", text=say("A job without a size is given the box …"), form=Form.SIZE, readings=readings)
    said = choose(question, row.answers, Field.SIZE)
    if said == "-":
        raise InvalidValue(Field.SIZE, say("no size; type three lengths, such as {example}", example=EXAMPLE))
    found.remarks.append(say("size {said}, as for all jobs without one", said=said))
    return read_size(said, None)


def check_box(row: ListRow, found: Findings, metal: Mass | Volume, lengths: Three) -> None:
    """Only against a size of its own: the usual box is nobody's measurement."""
    if row.cell(Field.SIZE) or row.cell(Field.SIZE_FIRST):
        weight = row.cell(Field.PATTERN_MASS) or row.cell(Field.METAL_VOLUME)
        size = " × ".join(f"{length.decimal('mm', 1)}" for length in lengths)
        materials = row.vocabulary.materials
        text = f"{weight} in {size} mm"
        found.attempt(Field.PATTERN_MASS, text, lambda: check_against_box(metal, lengths, materials, row.answers))


def size_order(row: ListRow, found: Findings) -> str:
    """Which of the three lengths lies how on the tree; not asked, but the user may change it."""
    readings = tuple(Reading(key, remark) for key, remark in SIZE_ORDERS.items())
    text = say("On the tree, of the three lengths of a size …")
    question = Question(kind="size-order", text=text, readings=readings, default="long-up")
    found.settled.append((row.cell(Field.SIZE), question))
    said = row.answers.get("size-order", "")
    return said if said in SIZE_ORDERS else "long-up"


def _is_volume(text: str) -> bool:
    if re.match(r"\s*(?:cad|vol(?:ume)?)\b", text, re.IGNORECASE):
        return True
    unit = re.search(r"[^\W\d_].*$", text)
    return unit is not None and unit.group().lower().replace("³", "3").strip(" .") in VOLUME_WORDS


def without_material(text: str) -> str:
    """``3.9g wax`` → ``3.9g``: the word says what was weighed, not how much."""
    known = meanings("materials")
    return " ".join(word for word in text.split() if plain(word) not in known)


def _with_unit(text: str, unit: str) -> str:
    """A bare number, or bare size, with the unit that its heading names."""
    bare = bool(unit) and bool(text) and not re.search(r"[^\W\d_x]|[\"″”'′]", text, re.IGNORECASE)
    return f"{text} {unit}" if bare else text


Q = TypeVar("Q", Mass, Volume)


def _above_zero(quantity: Q, text: str, example: str) -> Q:
    if quantity.base <= 0:
        raise InvalidValue(
            Field.PATTERN_MASS,
            say(
                "“{text}” is nothing to cast; type what one pattern weighs or holds, such as {example}", text=text, example=example
            ),
        )
    return quantity
