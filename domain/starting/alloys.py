"""Alloys that a new shop starts with."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from domain.shop.alloy import (
    Alloy,
    Bond,
    CoolingMethod,
    CoolingRule,
    ElementRange,
    FinenessStandard,
    Heat,
    Section,
    Suitability,
)
from domain.sources import Mark, Source
from domain.units import Density, Share, Temperature, TemperatureRange


@cache
def starting_alloys() -> tuple[Alloy, ...]:
    """The alloys of ``alloys.toml``, every field with its source."""
    table = tomllib.loads(files("domain.starting").joinpath("alloys.toml").read_text(encoding="utf-8"))
    marks = {key: Source(Mark(row["mark"]), row["note"]) for key, row in table["source"].items()}
    return tuple(_alloy(row, table["default"], marks) for row in table["alloy"])


def _alloy(row: Mapping[str, Any], default: Mapping[str, str], marks: Mapping[str, Source]) -> Alloy:
    chosen = {**default, **row.get("sources", {})}
    return Alloy(
        id=row["id"],
        name=row["name"],
        family=row["family"],
        colour=row["colour"],
        composition=tuple(_element(e, low, high) for e, (low, high) in row["composition"].items()),
        standard=_standard(row.get("standard", {})),
        density=Density.g_cm3(row["density"]),
        melting=TemperatureRange.c(*row["melting"]),
        pour=TemperatureRange.c(*row["pour"]),
        flask_temperature={Section(s): TemperatureRange.c(*span) for s, span in row["flask"].items()},
        melt_loss=Share.percent(row["melt_loss"]),
        losses={e: Share.percent(loss) for e, loss in row.get("losses", {}).items()},
        recycled_limit=Share.percent(row["recycled_limit"]),
        melts_limit=row["melts_limit"],
        cooling=_cooling(row["cooling"]),
        heat=frozenset(Heat(h) for h in row["heat"]),
        investment={Bond(b): Suitability(s) for b, s in row["investment"].items()},
        cautions=tuple(row.get("cautions", ())),
        sources={field: marks[key] for field, key in chosen.items()},
    )


def _element(element: str, low: float, high: float) -> ElementRange:
    return ElementRange(element=element, low=Share.percent(low), high=Share.percent(high))


def _standard(row: Mapping[str, int]) -> FinenessStandard | None:
    return next((FinenessStandard(element=e, minimum=Share.permille(m)) for e, m in row.items()), None)


def _cooling(row: Mapping[str, Any]) -> CoolingRule:
    return CoolingRule(
        method=CoolingMethod(row["method"]),
        wait_minutes=row["wait"],
        not_above=Temperature.c(row["not_above"]) if "not_above" in row else None,
        not_below=Temperature.c(row["not_below"]) if "not_below" in row else None,
        note=row.get("note", ""),
    )
