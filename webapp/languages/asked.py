"""Which language a browser asks for, by its Accept-Language header (RFC 9110, 12.5.4)."""

from __future__ import annotations

import re

from webapp.ways import Language

_RANGE = re.compile(r"\s*([A-Za-z]{1,8})(?:-[A-Za-z0-9]{1,8})*\s*(?:;\s*q\s*=\s*([01](?:\.\d{0,3})?)\s*)?")
_SPOKEN = {language.code: language for language in Language}


def asked_for(header: str) -> Language | None:
    """Of ours the one that it wants most, the first of equals; none where it wants none of them."""
    best, wanted = None, 0.0
    for part in header[:1000].split(","):
        found = _RANGE.fullmatch(part)
        if found is None:
            continue
        language, weight = _SPOKEN.get(found[1].lower()), min(1.0, float(found[2] or 1))
        if language is not None and weight > wanted:
            best, wanted = language, weight
    return best
