"""From what is known (a ``Week``) to what is asked (a ``Problem``)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from typing import TypeVar

from domain.errors import InvalidValue
from domain.metallurgy.pattern_metal import feed_metal, piece_metal, planned_charge
from domain.mould.tree import reaches_inside, tree_space
from domain.planning.calendar import arrival, plan_day, shifts_on, windows
from domain.planning.clock import Clock
from domain.planning.problem import Melt, PlanDay, PlanJob, Problem
from domain.saying import say
from domain.shop.alloy import Alloy, Suitability
from domain.shop.jobs import Job
from domain.shop.pattern import PatternMaterial
from domain.shop.shop import Shop
from domain.stock.supply import Supply, Want, metal_supply
from domain.units import Mass
from domain.week.week import Week

Noun = TypeVar("Noun", Alloy, PatternMaterial)

ROUNDING = 10
"""milligrams by which a charge may be counted too high, besides one for each piece"""


def melt_key(job: Job) -> str:
    return f"{job.alloy}/{job.own_metal}" if job.own_metal else job.alloy


def problem_of(week: Week, before: tuple[Week, Problem] | None = None) -> Problem:
    """The planning problem of a week. Raises ``InvalidValue`` where the week refers to an alloy,
    material or lot that it does not hold. ``before``: a week and its problem, of which the supply of metal, which
    takes longest to find, is taken over where it is the same."""
    shop = week.shop
    clock = Clock(week.now.date(), shop.rules.timezone)
    dates = [clock.first_day + timedelta(days=n) for n in range(max(1, shop.rules.horizon_days))]
    days = tuple(plan_day(shop, clock, day) for day in dates)
    jobs = tuple(_plan_job(job, shop, clock) for job in week.jobs)
    fixed = tuple(f for f in week.previous.flasks if f.id in week.pinned) if week.previous else ()
    fixed_loads = {f.load for f in fixed}
    return Problem(
        shop=shop,
        clock=clock,
        now=clock.minute(week.now),
        end=days[-1].end,
        days=days,
        shifts=tuple(s for day in dates for s in shifts_on(shop, clock, day)),
        kiln_outages={k.id: windows(k.outages, clock) for k in shop.kilns},
        machine_outages={m.id: windows(m.outages, clock) for m in shop.machines},
        melts=before[1].melts if before and _same_supply(week, before[0]) else _melts(week, jobs, days),
        jobs=jobs,
        lots=week.lots,
        fixed_flasks=fixed,
        fixed_loads=tuple(load for load in week.previous.loads if load.id in fixed_loads) if week.previous else (),
        previous=week.previous,
        weighed=frozenset(f.id for f in fixed if f.id in week.weighed),
    )


def _plan_job(job: Job, shop: Shop, clock: Clock) -> PlanJob:
    alloy = _find(shop.alloys, job.alloy, "alloy", job)
    material = _find(shop.materials, job.material, "pattern material", job)
    return PlanJob(
        id=job.id,
        name=f"{job.id} {job.item}".strip(),
        melt=melt_key(job),
        quantity=job.quantity,
        temperatures=alloy.flask_temperature[job.section],
        metal_each=piece_metal(job, material.density, alloy.density) + feed_metal(shop.rules, alloy.density),
        size=job.size,
        ready=clock.minute_of(date.fromisoformat(job.ready)),
        due=job.due,
        weight=job.weight,
        may_split=job.may_split,
        per_tree=dict(job.per_tree),
        burnout_minutes=material.burnout_minutes,
        burnout_peak=material.burnout_peak,
        material=material.id,
    )


def _same_supply(week: Week, before: Week) -> bool:
    """Whether all is the same that ``_melts`` is found from."""
    return (
        week.now.date() == before.now.date()
        and week.lots == before.lots
        and week.jobs == before.jobs
        and _weighed_pieces(week) == _weighed_pieces(before)
        and week.shop == before.shop
    )


def _melts(week: Week, jobs: Iterable[PlanJob], days: tuple[PlanDay, ...]) -> tuple[Melt, ...]:
    shop, today = week.shop, week.now.date()
    by_key: dict[str, tuple[Alloy, str | None]] = {}
    for job in week.jobs:
        if job.own_metal and not any(lot.id == job.own_metal for lot in week.lots):
            raise InvalidValue(
                "own_metal",
                say("job {job}: no lot {own_metal} of the customer's metal is on the shelf", job=job.id, own_metal=job.own_metal),
            )
        by_key.setdefault(melt_key(job), (_find(shop.alloys, job.alloy, "alloy", job), job.own_metal))
    wants = _wants(shop, by_key, jobs, _weighed_pieces(week))
    supply = metal_supply(shop, week.lots, wants, today, lambda lead: arrival(shop, today, lead))
    return tuple(_melt(key, alloy, lot, shop, supply[key], days) for key, (alloy, lot) in by_key.items())


def _melt(key: str, alloy: Alloy, own_lot: str | None, shop: Shop, supply: Supply, days: tuple[PlanDay, ...]) -> Melt:
    suited = [(alloy.investment.get(i.bond, Suitability.NEVER), i.id) for i in shop.investments]
    return Melt(
        key=key,
        alloy=alloy,
        own_lot=own_lot,
        investments=tuple(i for rank in (Suitability.YES, Suitability.WARN) for s, i in suited if s is rank),
        machines=frozenset(m.id for m in shop.machines if m.in_service and m.heat in alloy.heat),
        stock_castable=supply.stock_castable,
        order_from=_first_opening(days, supply.order_from),
    )


def _first_opening(days: tuple[PlanDay, ...], day: str | None) -> int | None:
    """The first minute that anybody is there to unpack what arrives on ``day``; past the horizon,
    its end."""
    if day is None:
        return None
    return next((d.opens for d in days if d.opens is not None and d.date >= day), days[-1].end)


def _weighed_pieces(week: Week) -> Counter[str]:
    """Pieces by job whose metal has left the shelf."""
    pieces: Counter[str] = Counter()
    for flask in week.previous.flasks if week.previous else ():
        if flask.id in week.weighed & week.pinned:
            pieces.update(flask.contents)
    return pieces


def _wants(shop: Shop, by_key: dict[str, tuple[Alloy, str | None]], jobs: Iterable[PlanJob], gone: Mapping[str, int]) -> list[Want]:
    """What each melt would weigh for each due day if every job had a flask of its own: no melt needs
    more of the shelf than that. Earliest due first, because the shelf is promised in this order. ``gone``:
    pieces by job that want nothing of it any more."""
    masses: dict[tuple[str, str], Mass] = {}
    for job in sorted(jobs, key=lambda j: (j.due, -j.weight, j.id)):
        alone = charge_alone(shop, by_key[job.melt][0], job, max(0, job.quantity - gone.get(job.id, 0)))
        masses[job.due, job.melt] = masses.get((job.due, job.melt), Mass(0)) + alone
    return [Want(key=key, alloy=by_key[key][0], own_lot=by_key[key][1], mass=mass) for (_, key), mass in masses.items()]


def charge_alone(shop: Shop, alloy: Alloy, job: PlanJob, quantity: int) -> Mass:
    """The charge of a flask of so many of the job's own pieces, and a few milligrams more: the solver counts charges that much too
    high (``charge_bound``), and a promise to the milligram would leave it no room for the plan in hand."""
    if quantity == 0:
        return Mass(0)
    pieces = job.metal_each.times(quantity)
    fitting = [s for s in shop.sizes if reaches_inside(job.size, tree_space(s, shop.rules))]
    charges = [planned_charge(pieces, s, shop.rules, alloy.density, alloy.melt_loss) for s in fitting]
    return min(charges, default=pieces) + Mass(quantity + ROUNDING)


def _find(things: Iterable[Noun], wanted: str, what: str, job: Job) -> Noun:
    found = next((t for t in things if t.id == wanted), None)
    if found is None:
        raise InvalidValue(what, say("job {job}: the shop has no {what} “{wanted}”", job=job.id, what=what, wanted=wanted))
    return found
