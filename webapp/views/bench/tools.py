"""The calculators, in the order of the bench."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date

from domain.saying import say
from webapp.views.bench.convert import convert
from webapp.views.bench.fineness import raise_or_lower
from webapp.views.bench.metal import pattern_to_metal
from webapp.views.bench.mix import mix
from webapp.views.bench.mould import investment
from webapp.views.bench.scrap import scrap_pot
from webapp.views.bench.sheet import Bench, Slip
from webapp.views.bench.spin import spin_force


@dataclass(frozen=True, slots=True, kw_only=True)
class Tool:
    """``what_for``: the question that it answers."""

    key: str
    name: str
    what_for: str
    work_out: Callable[[Bench, Mapping[str, str], date], Slip]


def _dateless(work_out: Callable[[Bench, Mapping[str, str]], Slip]) -> Callable[[Bench, Mapping[str, str], date], Slip]:
    return lambda bench, typed, _today: work_out(bench, typed)


TOOLS = (
    Tool(
        key="metal",
        name=say("Pattern to metal"),
        what_for=say("What do these patterns weigh in each alloy?"),
        work_out=_dateless(pattern_to_metal),
    ),
    Tool(
        key="fineness",
        name=say("Raise or lower a fineness"),
        what_for=say("What do I add to bring this metal to another fineness?"),
        work_out=_dateless(raise_or_lower),
    ),
    Tool(key="mix", name=say("Mix on the bench"), what_for=say("What charge of an alloy do these metals make?"), work_out=mix),
    Tool(
        key="scrap", name=say("Scrap pot"), what_for=say("How much fine metal is in it, and what is it worth?"), work_out=scrap_pot
    ),
    Tool(
        key="investment",
        name=say("Investment"),
        what_for=say("How much powder and water, and how long to pour it?"),
        work_out=_dateless(investment),
    ),
    Tool(
        key="spin", name=say("Spin force"), what_for=say("How hard does the arm drive the metal?"), work_out=_dateless(spin_force)
    ),
    Tool(
        key="units",
        name=say("Units"),
        what_for=say("What is 1.2 dwt in grams, 950 °F in °C, 18 k in ‰?"),
        work_out=_dateless(convert),
    ),
)
