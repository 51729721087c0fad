"""One row of a list → the draft of a job, with what it asks and what is wrong with it."""

from __future__ import annotations

from domain.errors import InvalidValue
from domain.intake.alloys import read_alloy
from domain.intake.amounts import check_box, lengths_of, metal_of, quantity_of, size_order, without_material
from domain.intake.columns import Field
from domain.intake.draft import Draft
from domain.intake.materials import read_material, read_section
from domain.intake.numbers import Reading
from domain.intake.questions import Findings, Problem, Question, choose
from domain.intake.row import ListRow
from domain.intake.sizes import box
from domain.intake.timing import due_of, ready_of, weight_of
from domain.intake.words import says
from domain.saying import say
from domain.units import Mass, Volume


def draft_of(row: ListRow, found: Findings) -> Draft | None:
    """The draft, where nothing is asked and nothing wrong; what is goes to ``found``. Each part is
    read even where another fails, so that all of it is shown at once."""
    headings = row.the_list.headings
    if any(row.cells[len(headings) :]):
        counts = say("this row has {cells} cells, the headings {headings}", cells=len(row.cells), headings=len(headings))
        found.problems.append(Problem("", say("{counts}: put quotes around a text that holds the delimiter", counts=counts)))
        return None
    alloy = found.attempt(Field.ALLOY, row.cell(Field.ALLOY), lambda: _alloy(row))
    quantity = found.attempt(Field.QUANTITY, row.cell(Field.QUANTITY), lambda: quantity_of(row))
    metal = found.attempt(Field.PATTERN_MASS, row.cell(Field.PATTERN_MASS), lambda: metal_of(row))
    lengths = found.attempt(Field.SIZE, row.cell(Field.SIZE), lambda: lengths_of(row, found))
    due = found.attempt(Field.DUE, row.cell(Field.DUE), lambda: due_of(row))
    ready = found.attempt(Field.READY, row.cell(Field.READY), lambda: ready_of(row))
    weight = weight_of(row, found)
    material = found.attempt(Field.MATERIAL, _material_text(row), lambda: _material(row, found))
    section = found.attempt(
        Field.SECTION, row.cell(Field.SECTION), lambda: read_section(row.cell(Field.SECTION), row.note, row.answers, found)
    )
    held = found.attempt(Field.NOTES, row.note, lambda: _held(row))
    size = box(lengths, size_order(row, found)) if lengths else None
    if metal and lengths:
        check_box(row, found, metal, lengths)
    if not found.clean:
        return None
    if alloy is None or quantity is None or metal is None or size is None or due is None or ready is None:
        return None
    if weight is None or material is None or section is None or held is None:
        return None
    return Draft(
        customer=row.cell(Field.CUSTOMER),
        item=row.cell(Field.ITEM) or "piece",
        alloy=alloy,
        quantity=quantity,
        weighed=metal if isinstance(metal, Mass) else None,
        volume=metal if isinstance(metal, Volume) else None,
        size=size,
        due=due,
        ready=ready,
        ready_typed=bool(row.cell(Field.READY)),
        material=material,
        section=section,
        weight=weight,
        may_split=not says(row.note, "notes", "together"),
        own_metal=_own_metal(row),
        own_lots=row.vocabulary.own_lots,
        held=held,
        notes=_notes(row),
    )


def _alloy(row: ListRow) -> str:
    text = f"{row.cell(Field.ALLOY)} {row.cell(Field.COLOUR)}".strip()
    if not text:
        raise InvalidValue(Field.ALLOY, say("no alloy; type one that this shop casts"))
    return read_alloy(text, row.vocabulary.alloys, row.answers)


def _material_text(row: ListRow) -> str:
    """What the row says of its material, for the examples of a question."""
    weighed = row.cell(Field.PATTERN_MASS)
    return row.cell(Field.MATERIAL) or (weighed if without_material(weighed) != " ".join(weighed.split()) else "")


def _material(row: ListRow, found: Findings) -> str:
    return read_material(
        row.cell(Field.MATERIAL),
        row.cell(Field.PATTERN_MASS),
        row.note,
        row.vocabulary.materials,
        row.answers,
        found,
    )


def _own_metal(row: ListRow) -> bool:
    return bool(says(row.note, "notes", "own_metal"))


def _held(row: ListRow) -> str:
    """Why the job is held back; empty where it is not."""
    if not _own_metal(row) or row.cell(Field.JOB) in row.vocabulary.own_lots:
        return ""
    readings = (
        Reading("stock", say("cast them from the shop's stock")),
        Reading("hold", say("hold them back until the customer's metal is entered as a lot")),
    )
    question = Question(
        kind="own-metal", text=say("Jobs whose customer supplies the metal, which is not here yet: …"), readings=readings
    )
    if choose(question, row.answers, Field.NOTES) == "stock":
        return ""
    return say("held back until the customer's metal is entered as a lot for this job")


def _notes(row: ListRow) -> str:
    """The notes, with what stands in columns that no field takes."""
    used = set(row.the_list.columns.values())
    rest = [
        f"{heading}: {cell}" if heading else cell
        for n, (heading, cell) in enumerate(zip(row.the_list.headings, row.cells, strict=False))
        if n not in used and cell
    ]
    return "\n".join(part for part in (row.note, *rest) if part)
