"""Investment: powder and liquid for a flask."""

from __future__ import annotations

from dataclasses import dataclass

from domain.mould.tree import cylinder
from domain.shop.flask import FlaskSize
from domain.shop.investment import LIQUIDS, InvestmentKind
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
    called = LIQUIDS.get(kind.liquid, kind.liquid)
    return InvestmentMix(powder=powder, liquid=kind.water.of_mass(powder), slurry=slurry, liquid_name=called)
