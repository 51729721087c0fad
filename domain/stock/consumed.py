"""Investment powder and other consumables over the coming weeks: what the plan uses up, when it runs out and
what to order by when. Powder is counted in grams like any other consumable."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from domain.metallurgy.pattern_metal import trunk_metal
from domain.mould.mix import investment_mix
from domain.planning.plan import Plan, PlannedFlask
from domain.planning.problem import Problem
from domain.shop.consumables import Amount, Consumable, UsedPer
from domain.shop.lots import Powder
from domain.stock.orders import last_order_day
from domain.units import Mass, Money, total

POWDER, OTHER = "powder", "consumable"


@dataclass(frozen=True, slots=True, order=True)
class Key:
    """``kind``: powder (``ref`` an investment kind) or consumable (``ref`` its id)."""

    kind: str
    ref: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """One thing that is used up. ``price``: of ``priced``; ``lead_days``: working days."""

    key: Key
    name: str
    unit: str
    amount: Amount
    pack: Amount
    price: Money
    priced: Amount
    lead_days: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """``arrives``: ISO date."""

    key: Key
    arrives: str
    amount: Amount


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """``day``: ISO date; ``flask``: for which, or by which flask of a kiln load it is told."""

    key: Key
    day: str
    amount: Amount
    flask: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyPosition:
    """``coming``: on its way. ``low``: the least that is left in the evening of any day, less than nothing where
    it runs out; ``low_day`` the first day of it. ``short_from``: the first day that it does not last.
    ``order``: in whole packs, for ``cost``, at latest on ``order_by``."""

    shelf: Shelf
    uses: tuple[Use, ...]
    needed: Amount
    coming: Amount
    low: Amount
    low_day: str
    short_from: str | None
    order: Amount
    cost: Money
    order_by: date | None

    @property
    def flasks(self) -> tuple[str, ...]:
        """For which it is used."""
        return tuple(dict.fromkeys(use.flask for use in self.uses))


def shelf_of_powder(powder: Powder, name: str) -> Shelf:
    """Powder by the gram: milligrams are thousandths of it."""
    return Shelf(
        key=Key(POWDER, powder.investment),
        name=name,
        unit="g",
        amount=Amount(powder.mass.base),
        pack=Amount(powder.pack.base),
        price=powder.price,
        priced=Amount(powder.price_mass.base),
        lead_days=powder.lead_days,
    )


def shelf_of(thing: Consumable) -> Shelf:
    return Shelf(
        key=Key(OTHER, thing.id),
        name=thing.name,
        unit=thing.unit,
        amount=thing.amount,
        pack=thing.pack,
        price=thing.price,
        priced=thing.pack,
        lead_days=thing.lead_days,
    )


def flask_powder(problem: Problem, flask: PlannedFlask) -> Mass | None:
    """The powder of a flask's mix, the waste planned for in it; none where its size, investment or alloy is not
    known any more."""
    size, kind, melt = problem.size.get(flask.size), problem.investment.get(flask.investment), problem.melt.get(flask.melt)
    if size is None or kind is None or melt is None:
        return None
    pieces = total(Mass, (problem.job[j].metal_each.times(n) for j, n in flask.contents.items() if j in problem.job))
    density = melt.alloy.density
    return investment_mix(size, kind, density.volume_of(pieces + trunk_metal(size, problem.rules, density))).powder


def uses_of(
    problem: Problem, plan: Plan, things: Iterable[Consumable], reached: Mapping[str, frozenset[UsedPer]]
) -> tuple[Use, ...]:
    """What the plan will still use. ``reached``: by flask, what was used for it already. What should have
    happened before now and is not marked is still to be used, now."""
    waiting = [f for f in plan.flasks if f.knockout_end >= problem.now]
    uses: list[Use] = []
    listed = tuple(things)
    for flask in waiting:
        done = reached.get(flask.id, frozenset())
        if UsedPer.FLASK not in done:
            uses += _on(problem, flask, flask.invest_start, [t for t in listed if t.per is UsedPer.FLASK])
            powder = flask_powder(problem, flask)
            if powder is not None:
                uses.append(_use(problem, Key(POWDER, flask.investment), flask.invest_start, Amount(powder.base), flask.id))
        if UsedPer.CAST not in done:
            uses += _on(problem, flask, flask.cast_start, [t for t in listed if t.per is UsedPer.CAST])
    known = {f.id: f for f in waiting}
    for load in plan.loads:
        riders = [known[name] for name in load.flasks if name in known]
        if riders and not any(UsedPer.LOAD in reached.get(f.id, frozenset()) for f in riders):
            uses += _on(problem, riders[0], load.start, [t for t in listed if t.per is UsedPer.LOAD])
    return tuple(sorted(uses, key=lambda u: (u.day, u.flask, u.key)))


def _on(problem: Problem, flask: PlannedFlask, minute: int, things: Iterable[Consumable]) -> list[Use]:
    return [_use(problem, Key(OTHER, t.id), minute, t.use, flask.id) for t in things if t.use.base]


def _use(problem: Problem, key: Key, minute: int, amount: Amount, flask: str) -> Use:
    day = problem.clock.day_of(max(minute, problem.now)).isoformat()
    return Use(key=key, day=day, amount=amount, flask=flask)


def supply_positions(
    problem: Problem, shelves: Iterable[Shelf], uses: Sequence[Use], deliveries: Sequence[Delivery]
) -> tuple[SupplyPosition, ...]:
    """One for each shelf, in their order."""
    today = problem.clock.day_of(problem.now)
    return tuple(
        _position(
            problem,
            shelf,
            tuple(u for u in uses if u.key == shelf.key),
            # what is overdue is looked for today
            [(max(d.arrives, today.isoformat()), d.amount) for d in deliveries if d.key == shelf.key],
            today,
        )
        for shelf in shelves
    )


def _position(
    problem: Problem, shelf: Shelf, uses: tuple[Use, ...], coming: Sequence[tuple[str, Amount]], today: date
) -> SupplyPosition:
    """A delivery counts from the morning of its day."""
    days = sorted({today.isoformat(), *(u.day for u in uses), *(day for day, _ in coming)})
    evenings: list[tuple[str, Amount]] = []
    left = shelf.amount
    for day in days:
        left = left + total(Amount, (a for d, a in coming if d == day)) - total(Amount, (u.amount for u in uses if u.day == day))
        evenings.append((day, left))
    low_day, low = min(evenings, key=lambda one: one[1])
    short_from = next((day for day, amount in evenings if amount.base < 0), None)
    # what is on its way but too late is not ordered a second time
    order = _packs(Amount(max(0, -left.base)), shelf.pack)
    return SupplyPosition(
        shelf=shelf,
        uses=uses,
        needed=total(Amount, (u.amount for u in uses)),
        coming=total(Amount, (a for _, a in coming)),
        low=low,
        low_day=low_day,
        short_from=short_from,
        order=order,
        cost=shelf.price.times(order.over(shelf.priced)) if shelf.priced.base else Money(0),
        order_by=last_order_day(problem.shop, today, date.fromisoformat(short_from), shelf.lead_days)
        if order.base and short_from
        else None,
    )


def _packs(short: Amount, pack: Amount) -> Amount:
    return Amount(-(-short.base // pack.base) * pack.base) if pack.base > 0 else short
