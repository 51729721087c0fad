"""What a pattern is made of and how thick its piece is, from a column, a weight or the notes."""

from __future__ import annotations

from collections.abc import Sequence

from domain.errors import InvalidValue
from domain.intake.numbers import Reading, shown
from domain.intake.questions import Answers, Findings, Question, choose
from domain.intake.words import meanings, plain, says
from domain.saying import listed, say
from domain.shop.alloy import Section
from domain.shop.pattern import PatternMaterial

KINDS = {"wax": say("wax"), "resin": say("resin")}
SECTIONS = {Section.THIN: say("thin"), Section.MEDIUM: say("medium"), Section.HEAVY: say("heavy")}


def read_material(
    column: str, weight: str, note: str, materials: Sequence[PatternMaterial], answers: Answers, found: Findings
) -> str:
    """The id of the pattern's material: what its column names, or the weight (``3.9g wax``), or the
    notes (``printed resin``); where none does, the answer for all such jobs."""
    if column:
        return _named(column, materials, answers)
    weighed = next((m for word in weight.split() if (m := meanings("materials").get(plain(word)))), "")
    noted = "resin" if says(note, "notes", "resin") else ""
    if weighed == "wax" and noted:
        weighed = _wax_or_resin(answers)
    kind = weighed or noted
    if not kind:
        return _usual(materials, answers)
    chosen = _of_kind(kind, materials, answers)
    name = _name(chosen, materials)
    if weighed:
        found.remarks.append(say("pattern material {material}, from the weight", material=name))
    else:
        found.remarks.append(say("pattern material {material}, from the notes", material=name))
    return chosen


def _named(text: str, materials: Sequence[PatternMaterial], answers: Answers) -> str:
    own = next((m.id for m in materials if plain(text) in (plain(m.id), plain(m.name))), None)
    if own is not None:
        return own
    kinds = {k for word in plain(text).split() if (k := meanings("materials").get(word))}
    if len(kinds) != 1:
        names = listed((m.name for m in materials), joint=say(" or "))
        raise InvalidValue(
            "material", say("“{text}” is no pattern material of this shop; type {names}", text=shown(text), names=names)
        )
    return _of_kind(kinds.pop(), materials, answers)


def _of_kind(kind: str, materials: Sequence[PatternMaterial], answers: Answers) -> str:
    """The shop's material of a kind (wax, resin); where it has several, the answer for the kind."""
    fitting = [m for m in materials if kind in {meanings("materials").get(word) for word in plain(f"{m.id} {m.name}").split()}]
    if not fitting:
        raise InvalidValue(
            "material",
            say("this shop has no pattern material that is {kind}; add one, or type another", kind=KINDS.get(kind, kind)),
        )
    if len(fitting) == 1:
        return fitting[0].id
    usual = answers.get("material:usual", "")
    if usual in {m.id for m in fitting}:
        return usual
    return choose(
        Question(kind=f"material:{kind}", text=say("Where a row says “{kind}”, it is …", kind=kind), readings=_readings(fitting)),
        answers,
        "material",
    )


def _usual(materials: Sequence[PatternMaterial], answers: Answers) -> str:
    text = say("Patterns of which the list says nothing are …")
    return choose(Question(kind="material:usual", text=text, readings=_readings(materials)), answers, "material")


def _wax_or_resin(answers: Answers) -> str:
    readings = (
        Reading("resin", say("a resin print, and the weight is the print's")),
        Reading("wax", say("a wax, and the weight is the wax's")),
    )
    text = say("Where the weight says wax but the notes say printed resin, the pattern is …")
    return choose(Question(kind="wax-or-resin", text=text, readings=readings), answers, "material")


def _readings(materials: Sequence[PatternMaterial]) -> tuple[Reading, ...]:
    return tuple(Reading(m.id, m.name) for m in materials)


def _name(material_id: str, materials: Sequence[PatternMaterial]) -> str:
    return next(m.name for m in materials if m.id == material_id)


def read_section(column: str, note: str, answers: Answers, found: Findings) -> Section:
    """The section: what its column says, or the notes (``heavy``, ``thin, 0.6 mm back``); where
    neither does, the answer for all such jobs."""
    if column:
        return _section_word(column)
    noted = [section for section in (Section.THIN, Section.HEAVY) if says(note, "notes", section)]
    if len(noted) == 2:
        raise InvalidValue("section", say("the notes say both thin and heavy; type in the notes which section decides"))
    if noted:
        found.remarks.append(say("section {section}, from the notes", section=SECTIONS[noted[0]]))
        return noted[0]
    readings = tuple(Reading(section.value, word) for section, word in SECTIONS.items())
    text = say("Pieces of which the list does not say how thick they are have a section that is …")
    return Section(choose(Question(kind="section:usual", text=text, readings=readings), answers, "section"))


def _section_word(text: str) -> Section:
    known = meanings("sections").get(text.lower().strip())
    if known is None:
        raise InvalidValue("section", say("“{text}” is no section; type thin, medium or heavy", text=shown(text)))
    return Section(known)
