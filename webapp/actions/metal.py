"""The metal of the week."""

from __future__ import annotations

from domain.stock.position import MetalWeek, metal_week
from webapp.actions.planning import Desk


def metal_of(desk: Desk) -> MetalWeek:
    """The position of every metal under the current plan; the stock alone where there is no plan."""
    return metal_week(desk.problem, desk.open_plan)


def invested(desk: Desk) -> frozenset[str]:
    """Flasks that are invested already: their powder has left the shelf."""
    return frozenset(desk.stages)
