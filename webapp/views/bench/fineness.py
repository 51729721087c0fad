"""Raise or lower a fineness."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from domain.errors import CannotCompose
from domain.intake.fineness import EXAMPLE, read_fineness
from domain.metallurgy.alligation import Alligation, alligate
from domain.saying import say
from domain.units import Mass, Share
from webapp import formats
from webapp.views.bench.sheet import Answer, Bench, Sheet, Slip, refused
from webapp.views.bench.written import a_mass, both

FINE, NONE = Share(1_000_000), Share(0)


def raise_or_lower(bench: Bench, typed: Mapping[str, str]) -> Slip:
    sheet, step = Sheet(typed), bench.shop.rules.scale_step
    mass = sheet.value("mass", say("Metal to begin with"), say("12.4 g or 8 dwt"), a_mass)
    have = sheet.value("have", say("Its fineness"), EXAMPLE, read_fineness)
    want = sheet.value("want", say("Fineness wanted"), EXAMPLE, partial(read_fineness, up=True))
    adding = sheet.value(
        "add",
        say("Fineness of what is added"),
        say("fine metal, or metal without any, where nothing is typed"),
        read_fineness,
        needed=False,
    )
    if not sheet.ready or mass is None or have is None or want is None:
        return sheet.slip(None)
    addition = (FINE if have < want else NONE) if adding is None else adding
    try:
        return sheet.slip(_answer(alligate(mass, have, want, addition, step), have, want, addition, step))
    except CannotCompose as error:
        return sheet.slip(refused(error))


def _answer(found: Alligation, have: Share, want: Share, addition: Share, step: Mass) -> Answer:
    what = (
        say("fine metal")
        if addition == FINE
        else say("metal without any of it")
        if addition == NONE
        else say("metal of {addition}", addition=formats.fineness(addition))
    )
    facts = (
        (say("Add {what}", what=what), both(found.add)),
        (say("Metal in all"), both(found.whole)),
        (
            say("Its fineness then"),
            say("{fineness}, wanted {want}", fineness=formats.fineness(found.fineness), want=formats.fineness(want)),
        ),
        (say("Raised or lowered from"), formats.fineness(have)),
    )
    notes = (
        say(
            "In steps of the scale ({step}), rounded so that the fineness wanted is never missed, before the melt loss.",
            step=formats.mass(step),
        ),
        say("14 k is 583⅓ ‰ by parts, and marked 585: type the mark where the piece is to be marked."),
        say("Only the precious metal is reckoned. What the rest is, and so colour and melting range, is for the mix on the bench."),
    )
    return Answer(facts=facts, notes=notes, cautions=("scrap",))
