"""Metals that a new shop can buy."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from domain.shop.lots import Metal, MetalKind
from domain.sources import Mark, Source
from domain.units import Mass, Money, Share, exact

PRICE_MASS = Mass.g(100)
"""Prices per 100 g, because a gram of base metal costs less than a cent."""


@cache
def starting_metals() -> tuple[Metal, ...]:
    """The metals of ``metals.toml``, every field with its source."""
    table = tomllib.loads(files("domain.starting").joinpath("metals.toml").read_text(encoding="utf-8"))
    sources = {field: Source(Mark(row["mark"]), row["note"]) for field, row in table["source"].items()}
    fine = tuple(_fine(metal_id, row, sources) for metal_id, row in table["fine"].items())
    return fine + tuple(_metal(row, sources) for row in table["metal"])


def _fine(metal_id: str, row: list[Any], sources: Mapping[str, Source]) -> Metal:
    element, name, price, lead_days, pack = row
    pure = {"composition": Source(Mark.COMMON_PRACTICE, "reckoned as pure")}
    return _metal(
        {
            "id": metal_id,
            "name": name,
            "kind": MetalKind.FINE,
            "composition": {element: 100},
            "price": price,
            "lead_days": lead_days,
            "pack": pack,
        },
        {**sources, **pure},
    )


def _metal(row: Mapping[str, Any], sources: Mapping[str, Source]) -> Metal:
    return Metal(
        id=row["id"],
        name=row["name"],
        kind=MetalKind(row["kind"]),
        composition={element: Share.percent(share) for element, share in row["composition"].items()},
        price=Money.of(exact(row["price"]) * 100, "unit"),
        price_mass=PRICE_MASS,
        lead_days=row["lead_days"],
        pack=Mass.g(row["pack"]),
        alloy=row.get("alloy"),
        family=row.get("family"),
        sources=sources,
    )
