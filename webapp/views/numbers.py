"""A flask's short number, as it is printed, typed and read by a camera."""

from __future__ import annotations

import re
from collections.abc import Iterable

import segno
from markupsafe import Markup


def short_number(flask: str) -> str:
    """The digits that its name ends with, ``12`` of F12; the whole name where it ends with none."""
    found = re.search(r"\d+$", flask)
    return found[0].lstrip("0") or "0" if found else flask


def flask_of_number(flasks: Iterable[str], typed: str) -> str | None:
    """The flask that was meant by its number or its name. None where there is none such, or several."""
    wanted = typed.strip().casefold()
    there = sorted(flasks)
    named = [flask for flask in there if flask.casefold() == wanted]
    numbered = [flask for flask in there if short_number(flask) == (wanted.lstrip("0") or "0")]
    found = named or numbered
    return found[0] if wanted and len(found) == 1 else None


def qr_code(address: str) -> Markup:
    """A drawing that a camera reads as the address, with its quiet zone. A quarter of it may be dirty."""
    code = segno.make_qr(address, error="q")
    return Markup(code.svg_inline(border=4, omitsize=True, svgclass="qr", lineclass=None))
