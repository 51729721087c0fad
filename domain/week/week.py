"""What is known when the week is planned: the shop, its stock, its jobs, and what is already fixed."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

from domain.planning.plan import Plan
from domain.shop.consumables import Consumable
from domain.shop.jobs import Job
from domain.shop.lots import Lot, Powder
from domain.shop.shop import Shop


@dataclass(frozen=True, slots=True, kw_only=True)
class Week:
    """``now``: local time of the shop, no zone; nothing is planned before it. The plan looks ahead
    ``shop.rules.horizon_days`` calendar days, today included. ``previous``: the plan that people
    have read, in minutes of the clock that starts at midnight of ``now``'s day. ``pinned``: ids of
    its flasks that do not move (pinned by the manager, invested, in the kiln, or cast). ``weighed``: those of
    them whose charge was weighed; the ``lots`` do not hold its metal any more. ``consumables``: none where the
    week says nothing of them."""

    shop: Shop
    jobs: tuple[Job, ...]
    lots: tuple[Lot, ...] = ()
    powders: tuple[Powder, ...] = ()
    consumables: tuple[Consumable, ...] | None = None
    now: datetime
    previous: Plan | None = None
    pinned: frozenset[str] = field(default_factory=frozenset)
    weighed: frozenset[str] = field(default_factory=frozenset)
