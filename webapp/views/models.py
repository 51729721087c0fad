"""What a model says about a piece: metal in every alloy, flasks, the way to stand on the tree."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from domain.models.fit import OnTheTree, largest_side, on_the_tree
from domain.models.shape import Figures, Model, ModelUnit, can_be_cast, figures, longest
from domain.saying import say
from domain.shop.jobs import Job
from domain.shop.shop import Shop
from domain.units import Length, Mass, Volume


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitChoice:
    """``sound``: the piece could be cast, taken in this unit."""

    unit: ModelUnit
    words: str
    longest: Length
    sound: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class AlloyMass:
    """``all_pieces``: of the job, without feeds and button; none where there is no job. ``own``: the job's alloy."""

    name: str
    each: Mass
    all_pieces: Mass | None
    own: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ModelView:
    """``found`` and ``tree``: none while the unit is being asked. ``same``: the job has these figures already."""

    model: Model
    job: Job | None
    choices: tuple[UnitChoice, ...]
    found: Figures | None
    alloys: tuple[AlloyMass, ...]
    tree: OnTheTree | None
    same: bool


WORDS = {ModelUnit.MM: say("millimetres"), ModelUnit.CM: say("centimetres"), ModelUnit.INCH: say("inches")}


def model_view(model: Model, job: Job | None, shop: Shop) -> ModelView:
    room = largest_side(shop.sizes)
    found = None if model.unit is None else figures(model.shape, model.unit)
    tree = None if found is None else on_the_tree(found, model.shape, shop.sizes, shop.rules)
    choices = tuple(
        UnitChoice(unit=u, words=WORDS[u], longest=longest(model.shape, u), sound=can_be_cast(model.shape, u, room))
        for u in ModelUnit
    )
    return ModelView(
        model=model,
        job=job,
        choices=choices,
        found=found,
        alloys=() if found is None else _alloys(found.volume, job, shop),
        tree=tree,
        same=bool(job and found and tree and job.metal_volume == found.volume and job.size == tree.size),
    )


def _alloys(volume: Volume, job: Job | None, shop: Shop) -> tuple[AlloyMass, ...]:
    masses: Sequence[tuple[str, str, Mass]] = [(a.id, a.name, a.density.mass_of(volume)) for a in shop.alloys]
    return tuple(
        AlloyMass(
            name=name,
            each=each,
            all_pieces=each.times(job.quantity) if job else None,
            own=job is not None and job.alloy == alloy,
        )
        for alloy, name, each in masses
    )
