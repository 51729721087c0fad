"""Metal over the week: what is needed, there, to order and coming back; investment powder too."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from domain.mould.mix import PowderPosition, draw_down
from domain.planning.plan import ChargePart, MetalOrder, Plan
from domain.planning.problem import Problem
from domain.shop.lots import Powder
from domain.stock.orders import last_order_day
from domain.stock.position import ExpectedReturn, MetalPosition, MetalWeek
from domain.units import Mass, Money, total
from webapp.views.flask import PartLine, flask_mix, part_line
from webapp.views.week import alloy_name

USED, BACK, IDLE = "Needed or on its way", "Only coming back", "On the shelf, not needed"


@dataclass(frozen=True, slots=True, kw_only=True)
class MetalLine:
    """One metal: on the shelf today, charged, delivered and returned within the days planned."""

    position: MetalPosition
    shelf: Mass
    needed: Mass
    delivered: Mass
    returned: Mass

    @property
    def use(self) -> str:
        """The group that it is listed in."""
        if self.needed.base or self.delivered.base:
            return USED
        return BACK if self.returned.base else IDLE


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLine:
    """``cost``: of what is ordered, in whole packs. ``late``: its last day has passed."""

    order: MetalOrder
    name: str
    cost: Money
    late: bool
    today: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ReturnLine:
    expected: ExpectedReturn
    alloy: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FlaskMetal:
    """What one flask is charged with."""

    flask: str
    alloy: str
    cast: date
    charge: Mass
    parts: tuple[PartLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PowderLine:
    """``order_by``: the last day to order what is short, none where nothing is or nobody delivers."""

    position: PowderPosition
    name: str
    flasks: int
    cost: Money
    order_by: date | None


def metal_lines(week: MetalWeek) -> tuple[MetalLine, ...]:
    """Metals that are there or wanted, what is wanted first."""
    lines = [_metal_line(position) for position in week.positions]
    told = [line for line in lines if line.shelf.base or line.needed.base or line.delivered.base or line.returned.base]
    return tuple(sorted(told, key=lambda line: ((USED, BACK, IDLE).index(line.use), line.position.name)))


def _metal_line(position: MetalPosition) -> MetalLine:
    days = position.days
    return MetalLine(
        position=position,
        shelf=days[0].opening if days else Mass(0),
        needed=total(Mass, (d.charges for d in days)),
        delivered=total(Mass, (d.deliveries for d in days)),
        returned=total(Mass, (d.returns for d in days)),
    )


def order_lines(problem: Problem, plan: Plan, today: date) -> tuple[OrderLine, ...]:
    """By their last day."""
    metals = {m.id: m for m in problem.shop.metals}
    lines = [
        OrderLine(
            order=order,
            name=metals[order.metal].name if order.metal in metals else order.metal,
            cost=price(order.mass, metals[order.metal].price, metals[order.metal].price_mass)
            if order.metal in metals
            else Money(0),
            late=order.order_by < today.isoformat(),
            today=order.order_by == today.isoformat(),
        )
        for order in plan.orders
    ]
    return tuple(sorted(lines, key=lambda line: (line.order.order_by, line.name)))


def price(mass: Mass, each: Money, each_mass: Mass) -> Money:
    """What ``mass`` costs at ``each`` for ``each_mass``, to the nearest cent."""
    return each.times(mass.over(each_mass))


def return_lines(problem: Problem, returns: Iterable[ExpectedReturn]) -> tuple[ReturnLine, ...]:
    """By the day they are back."""
    names = {a.id: a.name for a in problem.shop.alloys}
    lines = [ReturnLine(expected=one, alloy=names.get(one.alloy, one.alloy)) for one in returns]
    return tuple(sorted(lines, key=lambda line: (line.expected.back, line.expected.flask)))


def flask_metals(problem: Problem, plan: Plan) -> tuple[FlaskMetal, ...]:
    """Every flask that is still to be cast, in the order of casting."""
    parts: dict[str, tuple[ChargePart, ...]] = {c.flask: c.parts for c in plan.charges}
    waiting = sorted((f for f in plan.flasks if f.cast_start >= problem.now), key=lambda f: (f.cast_start, f.id))
    return tuple(
        FlaskMetal(
            flask=f.id,
            alloy=alloy_name(problem, f),
            cast=problem.clock.day_of(f.cast_start),
            charge=f.charge,
            parts=tuple(part_line(problem, plan, f, part) for part in parts.get(f.id, ())),
        )
        for f in waiting
    )


def powder_lines(
    problem: Problem, plan: Plan, powders: tuple[Powder, ...], done: frozenset[str], today: date
) -> tuple[PowderLine, ...]:
    """Investment on the shelf against the flasks still to be invested; ``done``: invested already."""
    waiting = sorted((f for f in plan.flasks if f.id not in done and f.invest_start >= problem.now), key=lambda f: f.invest_start)
    needed: dict[str, Mass] = {}
    first: dict[str, int] = {}
    there = {p.investment: p.mass for p in powders}
    for flask in waiting:
        mix = flask_mix(problem, flask)
        kind = flask.investment
        needed[kind] = needed.get(kind, Mass(0)) + (mix.powder if mix else Mass(0))
        if needed[kind] > there.get(kind, Mass(0)):
            first.setdefault(kind, flask.invest_start)
    counts = {kind: sum(f.investment == kind for f in waiting) for kind in needed}
    positions = draw_down(powders, needed)
    return tuple(_powder_line(problem, p, powders, counts.get(p.investment, 0), first.get(p.investment), today) for p in positions)


def _powder_line(
    problem: Problem, position: PowderPosition, powders: tuple[Powder, ...], flasks: int, first: int | None, today: date
) -> PowderLine:
    kind = problem.investment.get(position.investment)
    powder = next((p for p in powders if p.investment == position.investment), None)
    order_by = None
    if first is not None and position.lead_days is not None:
        order_by = last_order_day(problem.shop, today, problem.clock.day_of(first), position.lead_days)
    return PowderLine(
        position=position,
        name=kind.name if kind else position.investment,
        flasks=flasks,
        cost=price(position.to_order, powder.price, powder.price_mass) if powder else Money(0),
        order_by=order_by,
    )
