"""Metal over the week: what is needed, there, to order and coming back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date

from domain.planning.plan import ChargePart, MetalOrder, Plan
from domain.planning.problem import Problem
from domain.saying import say
from domain.shop.lots import Metal
from domain.stock.position import ExpectedReturn, MetalPosition, MetalWeek
from domain.units import Mass, Money, total
from webapp.formats import local, money_typed
from webapp.formats import mass as written_mass
from webapp.store.metal_orders import MetalOrdered
from webapp.views.flask import PartLine, part_line
from webapp.views.week import alloy_name

USED, BACK, IDLE = say("Needed or on its way"), say("Only coming back"), say("On the shelf, not needed")


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
class OrderJob:
    """A job that waits for the metal, and in which flasks."""

    id: str
    name: str
    flasks: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLine:
    """``cost``: of what is ordered, in whole packs, at ``price`` for ``price_mass``. ``late``: its last day has
    passed. ``jobs``: for which it is ordered."""

    order: MetalOrder
    name: str
    cost: Money
    price: Money
    price_mass: Mass
    late: bool
    today: bool
    jobs: tuple[OrderJob, ...]

    @property
    def due(self) -> bool:
        return self.late or self.today


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
    lines = [_order_line(problem, plan, order, metals[order.metal], today) for order in plan.orders if order.metal in metals]
    return tuple(sorted(lines, key=lambda line: (line.order.order_by, line.name)))


def _order_line(problem: Problem, plan: Plan, order: MetalOrder, metal: Metal, today: date) -> OrderLine:
    return OrderLine(
        order=order,
        name=metal.name,
        cost=price(order.mass, metal.price, metal.price_mass),
        price=metal.price,
        price_mass=metal.price_mass,
        late=order.order_by < today.isoformat(),
        today=order.order_by == today.isoformat(),
        jobs=_jobs_of(problem, plan, order.flasks),
    )


def _jobs_of(problem: Problem, plan: Plan, flasks: Iterable[str]) -> tuple[OrderJob, ...]:
    """The jobs whose pieces are in these flasks, those in most of them first."""
    holding: dict[str, list[str]] = {}
    for flask in (f for f in plan.flasks if f.id in set(flasks)):
        for job in flask.contents:
            holding.setdefault(job, []).append(flask.id)
    found = [
        OrderJob(id=job, name=problem.job[job].name if job in problem.job else job, flasks=tuple(where))
        for job, where in holding.items()
    ]
    return tuple(sorted(found, key=lambda j: j.id))


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
    waiting = sorted((f for f in plan.flasks if problem.on_shelf(f)), key=lambda f: (f.cast_start, f.id))
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


@dataclass(frozen=True, slots=True, kw_only=True)
class BackSum:
    """What comes back of one alloy in a week. ``to_refiner``: the part that goes there."""

    alloy: str
    mass: Mass
    to_refiner: Mass
    flasks: int


def back_sums(lines: Iterable[ReturnLine], until: date) -> tuple[BackSum, ...]:
    """By alloy, what is back on the shelf or at the refiner's lot by ``until``."""
    groups: dict[str, list[ExpectedReturn]] = {}
    for line in lines:
        if line.expected.back <= until.isoformat():
            groups.setdefault(line.alloy, []).append(line.expected)
    return tuple(
        BackSum(
            alloy=alloy,
            mass=total(Mass, (one.mass for one in mine)),
            to_refiner=total(Mass, (one.mass for one in mine if one.to_refiner)),
            flasks=len(mine),
        )
        for alloy, mine in sorted(groups.items())
    )


def local_order(order: MetalOrdered, timezone: str) -> MetalOrdered:
    """The order with its moments in the shop's local time."""
    return replace(order, placed=local(order.placed, timezone), closed=local(order.closed, timezone) if order.closed else None)


def order_records(lines: Iterable[OrderLine], currency: str) -> Iterable[tuple[str, ...]]:
    """The order list as rows for a file, with headings that carry the units."""
    yield ("order by", "here", "metal", "order g", "needed g", f"price {currency}", "per g", f"cost {currency}", "jobs", "flasks")
    for line in lines:
        order = line.order
        yield (
            order.order_by,
            order.arrives,
            line.name,
            str(order.mass.decimal("g", 2)),
            str(order.needed.decimal("g", 2)),
            str(line.price.decimal("unit", 2)),
            str(line.price_mass.decimal("g", 4)),
            str(line.cost.decimal("unit", 2)),
            " ".join(job.id for job in line.jobs),
            " ".join(order.flasks),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceRow:
    """A metal's price as the form shows it. ``per``: the unit chosen, empty for what it is now."""

    metal: Metal
    price: str
    per: str
    options: tuple[tuple[str, str], ...]
    gram: Money
    error: str


def price_row(metal: Metal, units: Mapping[str, str], typed: Mapping[str, str], errors: Mapping[str, str]) -> PriceRow:
    """``typed`` counts where the form was sent; a price for so many grams stays a choice of its own."""
    now = next((unit for unit in units if Mass.of(1, unit) == metal.price_mass), "")
    own = () if now else (("", written_mass(metal.price_mass)),)
    field = f"price-{metal.id}"
    return PriceRow(
        metal=metal,
        price=typed.get(field, money_typed(metal.price)),
        per=typed.get(f"per-{metal.id}", now),
        options=(*own, *units.items()),
        gram=price(Mass.g(1), metal.price, metal.price_mass),
        error=errors.get(field, ""),
    )
