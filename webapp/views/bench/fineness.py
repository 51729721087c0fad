"""Raise or lower a fineness."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from domain.errors import CannotCompose
from domain.intake.fineness import EXAMPLE, read_fineness
from domain.metallurgy.alligation import Alligation, alligate
from domain.units import Mass, Share
from webapp import formats
from webapp.views.bench.sheet import Answer, Bench, Sheet, Slip, refused
from webapp.views.bench.written import a_mass, both

FINE, NONE = Share(1_000_000), Share(0)


def raise_or_lower(bench: Bench, typed: Mapping[str, str]) -> Slip:
    sheet, step = Sheet(typed), bench.shop.rules.scale_step
    mass = sheet.value("mass", "Metal to begin with", "12.4 g or 8 dwt", a_mass)
    have = sheet.value("have", "Its fineness", EXAMPLE, read_fineness)
    want = sheet.value("want", "Fineness wanted", EXAMPLE, partial(read_fineness, up=True))
    adding = sheet.value(
        "add", "Fineness of what is added", "fine metal, or metal without any, where nothing is typed", read_fineness, needed=False
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
        "fine metal"
        if addition == FINE
        else "metal without any of it"
        if addition == NONE
        else f"metal of {formats.fineness(addition)}"
    )
    facts = (
        (f"Add {what}", both(found.add)),
        ("Metal in all", both(found.whole)),
        ("Its fineness then", f"{formats.fineness(found.fineness)}, wanted {formats.fineness(want)}"),
        ("Raised or lowered from", formats.fineness(have)),
    )
    notes = (
        f"In steps of the scale ({formats.mass(step)}), rounded so that the fineness wanted is never missed, before the melt loss.",
        "14 k is 583⅓ ‰ by parts, and marked 585: type the mark where the piece is to be marked.",
        "Only the precious metal is reckoned. What the rest is, and so colour and melting range, is for the mix on the bench.",
    )
    return Answer(facts=facts, notes=notes, cautions=("scrap",))
