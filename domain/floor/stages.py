"""The stages of a flask and their order. Weighing a tree, a charge or returns is kept by the scale's own books."""

from __future__ import annotations

from collections.abc import Collection
from enum import StrEnum


class Stage(StrEnum):
    """What has happened to a flask, in its order."""

    INVESTED = "invested"
    LOADED = "loaded"
    STARTED = "started"
    CAST = "cast"
    QUENCHED = "quenched"
    KNOCKED_OUT = "knocked out"
    LOOKED_AT = "looked at"
    RECAST = "to be cast again"


ON_THE_WAY = (Stage.INVESTED, Stage.LOADED, Stage.STARTED, Stage.CAST, Stage.KNOCKED_OUT)
"""The stages that the plan counts: from the first of them on, the flask does not move."""

NEEDS = {
    Stage.LOADED: Stage.INVESTED,
    Stage.STARTED: Stage.LOADED,
    Stage.CAST: Stage.STARTED,
    Stage.QUENCHED: Stage.CAST,
    Stage.KNOCKED_OUT: Stage.CAST,
    Stage.LOOKED_AT: Stage.KNOCKED_OUT,
    Stage.RECAST: Stage.LOOKED_AT,
}
"""What must have happened before. What cools in air is knocked out without a quench."""

OFTEN = frozenset({Stage.LOOKED_AT, Stage.RECAST})
"""Stages that happen piece by piece, more than once to a flask."""


def missing(stage: Stage, standing: Collection[Stage]) -> Stage | None:
    """The earliest stage that must be recorded before ``stage``; none where it may be recorded now."""
    before = NEEDS.get(stage)
    if before is None or before in standing:
        return None
    return missing(before, standing) or before


def too_late(stage: Stage, standing: Collection[Stage]) -> Stage | None:
    """The later stage that stands already, before which ``stage`` must have been; a quench has no sense after
    the mould is gone. None where nothing is in the way."""
    if stage is Stage.QUENCHED and Stage.KNOCKED_OUT in standing:
        return Stage.KNOCKED_OUT
    return None


def next_stage(standing: Collection[Stage], *, quenches: bool) -> Stage | None:
    """What is done next; none after the knock-out. ``quenches``: false for a flask that cools in air."""
    order = [s for s in Stage if s not in OFTEN and (quenches or s is not Stage.QUENCHED)]
    return next((s for s in order if s not in standing and too_late(s, standing) is None), None)
