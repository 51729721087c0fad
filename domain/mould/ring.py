"""One ring of a tree, as a plan keeps it."""

from __future__ import annotations

from dataclasses import dataclass

from domain.units import Length


@dataclass(frozen=True, slots=True, kw_only=True)
class Ring:
    """Pieces set around the trunk at one height: ``pieces`` are (job id, how many). ``height`` is
    what the ring takes of the trunk, without the gap to the next. ``by_count``: the shop's own
    pieces per tree decided, not the ring rule; such a ring holds one job."""

    pieces: tuple[tuple[str, int], ...]
    height: Length
    by_count: bool = False
