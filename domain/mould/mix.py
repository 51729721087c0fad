"""Investment: powder and liquid for a flask, and what a week takes off the shelf."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from domain.mould.tree import cylinder
from domain.shop.flask import FlaskSize
from domain.shop.investment import InvestmentKind
from domain.shop.lots import Powder
from domain.units import Mass, Volume


@dataclass(frozen=True, slots=True, kw_only=True)
class InvestmentMix:
    """What to weigh for one flask: ``powder`` and ``liquid``; ``slurry`` is what they give, the waste
    share in it; ``liquid_name`` is water unless the kind has its own."""

    powder: Mass
    liquid: Mass
    slurry: Volume
    liquid_name: str


def investment_mix(size: FlaskSize, kind: InvestmentKind, tree: Volume) -> InvestmentMix:
    """The mix for flask volume less ``tree`` (pieces, feeds and trunk), plus the kind's waste share.

    slurry = (V_flask − V_tree) × (1 + waste); powder = 100 g × slurry / slurry yield; liquid by the
    kind's ratio. A tree larger than the flask gives nothing. Powder is rounded up to the milligram.
    """
    return mix_for(Volume(max(0, cylinder(size.inner_diameter, size.height).base - tree.base)), kind)


def mix_for(inside: Volume, kind: InvestmentKind) -> InvestmentMix:
    """The mix that fills ``inside``, the waste share of the kind on top."""
    slurry = Volume(-(-inside.base * (1_000_000 + kind.waste.base) // 1_000_000))
    powder = Mass(-(-slurry.base * 100_000 // kind.slurry_yield.base))
    return InvestmentMix(powder=powder, liquid=kind.water.of_mass(powder), slurry=slurry, liquid_name=kind.liquid)


@dataclass(frozen=True, slots=True, kw_only=True)
class PowderPosition:
    """One investment kind over the week: ``left`` after all flasks, or ``short`` by so much, of which
    ``to_order`` is in whole packs. ``lead_days``: working days until it is here."""

    investment: str
    on_shelf: Mass
    needed: Mass
    left: Mass
    short: Mass
    to_order: Mass
    lead_days: int | None


def draw_down(powders: Sequence[Powder], needed: Mapping[str, Mass]) -> tuple[PowderPosition, ...]:
    """What ``needed`` (by investment id) leaves of the powders, in the order of the shelf; a kind that is
    needed and not on the shelf comes last, with nothing there and no lead time known."""
    shelf: dict[str, list[Powder]] = {}
    for powder in powders:
        shelf.setdefault(powder.investment, []).append(powder)
    kinds = [*shelf, *(kind for kind in needed if kind not in shelf)]
    return tuple(_position(kind, shelf.get(kind, []), needed.get(kind, Mass(0))) for kind in kinds)


def _position(kind: str, lots: Sequence[Powder], needed: Mass) -> PowderPosition:
    there = Mass(sum(lot.mass.base for lot in lots))
    short = Mass(max(0, needed.base - there.base))
    pack = min((lot.pack for lot in lots), default=Mass(1))
    return PowderPosition(
        investment=kind,
        on_shelf=there,
        needed=needed,
        left=Mass(max(0, there.base - needed.base)),
        short=short,
        to_order=short.rounded_up(pack) if pack.base > 0 else short,
        lead_days=min((lot.lead_days for lot in lots), default=None),
    )
