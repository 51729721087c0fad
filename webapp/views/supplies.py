"""Powder and consumables as pages and files show them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from domain.planning.plan import Plan
from domain.stock.consumed import SupplyPosition
from domain.units import Money
from webapp.formats import amount, amount_typed


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyLine:
    """Amounts in words. ``due``: its last day to order is today or has passed; ``late``: it has passed, so that the
    delivery comes after ``short_from``. ``address``: of its page in the shop. ``arrives``: when it would be here."""

    position: SupplyPosition
    on_shelf: str
    needed: str
    coming: str
    low: str
    order: str
    order_number: str
    due: bool
    late: bool
    address: str
    jobs: tuple[str, ...]

    @property
    def name(self) -> str:
        return self.position.shelf.name

    @property
    def cost(self) -> Money:
        return self.position.cost


def supply_lines(positions: Iterable[SupplyPosition], plan: Plan, today: date) -> tuple[SupplyLine, ...]:
    """What must be ordered first, by its day; then the others in the shelf's order."""
    contents = {f.id: tuple(f.contents) for f in plan.flasks}
    lines = [_line(one, contents, today) for one in positions]
    return tuple(sorted(lines, key=lambda line: line.position.order_by or date.max))


def _line(one: SupplyPosition, contents: Mapping[str, tuple[str, ...]], today: date) -> SupplyLine:
    shelf = one.shelf
    after = [use.flask for use in one.uses if one.short_from and use.day >= one.short_from]
    return SupplyLine(
        position=one,
        on_shelf=amount(shelf.amount, shelf.unit),
        needed=amount(one.needed, shelf.unit),
        coming=amount(one.coming, shelf.unit),
        low=amount(one.low, shelf.unit),
        order=amount(one.order, shelf.unit),
        order_number=amount_typed(one.order, shelf.unit),
        due=one.order_by is not None and one.order_by <= today,
        late=one.short_from is not None and one.order.base > 0 and one.short_from <= today.isoformat(),
        address=f"/shop/{'powders' if shelf.key.kind == 'powder' else 'consumables'}/{shelf.key.ref}",
        jobs=tuple(sorted({job for flask in after for job in contents.get(flask, ())})),
    )


def supply_records(lines: Iterable[SupplyLine], currency: str) -> Iterable[tuple[str, ...]]:
    """All lines as rows for a file; numbers in the unit that stands in its own column."""
    heads = ("order by", "what", "unit", "order", "on the shelf", "needed", "on its way", "least left", "on", f"cost {currency}")
    yield (*heads, "jobs", "flasks")
    for line in lines:
        one = line.position
        numbers = (one.order, one.shelf.amount, one.needed, one.coming, one.low)
        yield (
            one.order_by.isoformat() if one.order_by else "",
            line.name,
            one.shelf.unit,
            *(f"{number.decimal('unit', 3).normalize():f}" for number in numbers),
            one.low_day,
            str(line.cost.decimal("unit", 2)),
            " ".join(line.jobs),
            " ".join(one.flasks),
        )
