"""The elements that castings are made of: names for messages, densities for estimates."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from domain.saying import say
from domain.sources import Mark, Source
from domain.units import Density


@dataclass(frozen=True, slots=True, kw_only=True)
class Element:
    """``density`` near 20 °C."""

    symbol: str
    name: str
    density: Density
    source: Source


@cache
def elements() -> Mapping[str, Element]:
    """The elements of ``elements.toml`` by symbol."""
    table = tomllib.loads(files("domain.metallurgy").joinpath("elements.toml").read_text(encoding="utf-8"))
    source = Source(Mark.PUBLISHED, table["source"])
    return {
        symbol: Element(symbol=symbol, name=say(one["name"]), density=Density.g_cm3(one["density"]), source=source)
        for symbol, one in table["element"].items()
    }


def named(symbol: str) -> str:
    """The element's name, or its symbol where it is not in the table."""
    element = elements().get(symbol)
    return element.name if element else symbol
