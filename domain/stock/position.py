"""The metal position over the week: what each metal does day by day, what comes back and when."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from domain.metallurgy.charge import ComposedCharge
from domain.planning.plan import ChargePart, From, MetalOrder, Plan, PlannedFlask
from domain.planning.problem import Problem
from domain.saying import say
from domain.shop.lots import Lot
from domain.stock.composed import composed_charges
from domain.stock.offers import is_recycled
from domain.stock.week_charges import returns_mass
from domain.units import Mass, total


@dataclass(frozen=True, slots=True, kw_only=True)
class MetalDay:
    """``closing`` = ``opening`` − ``charges`` + ``returns`` + ``deliveries``. ``date``: ISO."""

    date: str
    opening: Mass
    charges: Mass
    returns: Mass
    deliveries: Mass
    closing: Mass


@dataclass(frozen=True, slots=True, kw_only=True)
class MetalPosition:
    """One metal over the horizon. ``key``: a metal's id, ``recycled/`` and an alloy's id, or
    ``lot/`` and the id of a lot that is neither. ``low``: its least closing, ``low_day`` the first
    day of it."""

    key: str
    name: str
    days: tuple[MetalDay, ...]
    low: Mass
    low_day: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ExpectedReturn:
    """Button, trunk and feed sprues of one flask. ``back``: ISO date they are clean and on the
    shelf. ``melts`` counts the cast that they come from. ``to_refiner``: they have reached their
    alloy's melt count, so they go to the refiner's lot and not back on the shelf."""

    flask: str
    alloy: str
    mass: Mass
    melts: int
    back: str
    to_refiner: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class MetalWeek:
    positions: tuple[MetalPosition, ...]
    orders: tuple[MetalOrder, ...]
    returns: tuple[ExpectedReturn, ...]
    refiner: tuple[Lot, ...]
    """lots on the shelf that have reached their melt count"""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Move:
    """So much more (``kind`` returns or deliveries) or less (charges) of ``key`` on ``day``."""

    key: str
    day: str
    kind: str
    mass: Mass


def metal_week(problem: Problem, plan: Plan) -> MetalWeek:
    """What the plan does to every metal. Only casts from now on count: earlier ones are in the stock."""
    returns = expected_returns(problem, plan)
    moves = [*_deliveries(problem, plan.orders), *_charges(problem, plan), *_coming_back(problem, plan, returns)]
    opening = _opening(problem)
    keys = dict.fromkeys([*opening, *(m.key for m in moves)])
    names = _names(problem)
    positions = tuple(_position(problem, key, names.get(key, key), opening.get(key, Mass(0)), moves) for key in keys)
    return MetalWeek(positions=positions, orders=plan.orders, returns=returns, refiner=_spent(problem))


def expected_returns(problem: Problem, plan: Plan) -> tuple[ExpectedReturn, ...]:
    """What each cast of the plan gives back, in the order of casting; casts whose returns are back
    already are left out."""
    given = composed_charges(problem, plan.flasks, plan.charges)
    flasks = sorted((f for f in plan.flasks if f.id in given), key=lambda f: (f.cast_start, f.id))
    clean = problem.rules.clean_minutes
    return tuple(_expected(problem, f, given[f.id]) for f in flasks if f.cast_end + clean > problem.now)


def _expected(problem: Problem, flask: PlannedFlask, charge: ComposedCharge) -> ExpectedReturn:
    alloy = problem.melt[flask.melt].alloy
    return ExpectedReturn(
        flask=flask.id,
        alloy=alloy.id,
        mass=returns_mass(problem, flask, charge.mass),
        melts=charge.melts,
        back=problem.clock.day_of(flask.cast_end + problem.rules.clean_minutes).isoformat(),
        to_refiner=charge.melts >= alloy.melts_limit,
    )


def lot_key(lot: Lot) -> str:
    """The position that a lot counts in. A customer's own metal counts by itself."""
    if lot.owner_job is None and is_recycled(lot) and lot.alloy:
        return f"recycled/{lot.alloy}"
    if lot.owner_job is None and lot.metal and not is_recycled(lot):
        return lot.metal
    return f"lot/{lot.id}"


def _today(problem: Problem) -> date:
    return problem.clock.day_of(problem.now)


def _opening(problem: Problem) -> dict[str, Mass]:
    opening: dict[str, Mass] = {}
    for lot in problem.lots:
        here = Mass(0) if lot.arrives else lot.mass
        opening[lot_key(lot)] = opening.get(lot_key(lot), Mass(0)) + here
    return opening


def _names(problem: Problem) -> dict[str, str]:
    names = {f"lot/{lot.id}": lot.name for lot in problem.lots}
    names |= {metal.id: metal.name for metal in problem.shop.metals}
    return names | {f"recycled/{alloy.id}": say("{alloy}, recycled", alloy=alloy.name) for alloy in problem.shop.alloys}


def _deliveries(problem: Problem, orders: Iterable[MetalOrder]) -> Iterable[_Move]:
    """What is overdue is looked for today."""
    for lot in problem.lots:
        if lot.arrives:
            day = max(lot.arrives, _today(problem).isoformat())
            yield _Move(key=lot_key(lot), day=day, kind="deliveries", mass=lot.mass)
    for order in orders:
        yield _Move(key=order.metal, day=order.arrives, kind="deliveries", mass=order.mass)


def _charges(problem: Problem, plan: Plan) -> Iterable[_Move]:
    flasks = {f.id: f for f in plan.flasks if problem.on_shelf(f)}
    keys = {lot.id: lot_key(lot) for lot in problem.lots}
    for charge in plan.charges:
        flask = flasks.get(charge.flask)
        for part in charge.parts if flask else ():
            key = _key_of(problem, part, keys, flasks)
            if flask and key:
                yield _Move(key=key, day=_day(problem, flask.cast_start), kind="charges", mass=part.mass)


def _key_of(problem: Problem, part: ChargePart, lots: Mapping[str, str], flasks: Mapping[str, PlannedFlask]) -> str | None:
    if part.origin is From.ORDER:
        return part.ref
    if part.origin is From.LOT:
        return lots.get(part.ref)
    return _returns_key(problem, flasks[part.ref]) if part.ref in flasks else None


def _returns_key(problem: Problem, flask: PlannedFlask) -> str:
    """Returns of a customer's own metal stay with the lot that they came from."""
    melt = problem.melt[flask.melt]
    return f"lot/{melt.own_lot}" if melt.own_lot else f"recycled/{melt.alloy.id}"


def _coming_back(problem: Problem, plan: Plan, returns: Sequence[ExpectedReturn]) -> Iterable[_Move]:
    flasks = {f.id: f for f in plan.flasks}
    for back in returns:
        if not back.to_refiner:
            yield _Move(key=_returns_key(problem, flasks[back.flask]), day=back.back, kind="returns", mass=back.mass)


def _day(problem: Problem, minute: int) -> str:
    return problem.clock.day_of(minute).isoformat()


def _position(problem: Problem, key: str, name: str, opening: Mass, moves: Sequence[_Move]) -> MetalPosition:
    """Day by day. What falls on a day past the horizon is not shown."""
    mine = [m for m in moves if m.key == key]
    days: list[MetalDay] = []
    for day in problem.days:
        sums = {
            kind: total(Mass, (m.mass for m in mine if m.day == day.date and m.kind == kind))
            for kind in ("charges", "returns", "deliveries")
        }
        closing = opening - sums["charges"] + sums["returns"] + sums["deliveries"]
        days.append(MetalDay(date=day.date, opening=opening, closing=closing, **sums))
        opening = closing
    lowest = min(days, key=lambda d: d.closing)
    return MetalPosition(key=key, name=name, days=tuple(days), low=lowest.closing, low_day=lowest.date)


def _spent(problem: Problem) -> tuple[Lot, ...]:
    limits = {a.id: a.melts_limit for a in problem.shop.alloys}
    return tuple(lot for lot in problem.lots if is_recycled(lot) and lot.alloy in limits and lot.melts >= limits[lot.alloy])
