"""From a plan to the values of the solver's main variables; the rest follow from these."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator

from domain.mould.ring import Ring
from domain.planning.plan import KilnLoad, PlannedFlask
from domain.planning.solver.parts import FlaskVars, LoadVars, Parts, Var


def main_values(parts: Parts) -> Iterator[tuple[Var, int]]:
    """Every main variable with its value in the case's incumbent."""
    loads = _by_slot(parts)
    numbers = {load.id: k for k, load in loads.items()}
    for k, slot in enumerate(parts.loads):
        yield from _load(slot, loads.get(k))
    flasks = flasks_by_slot(parts)
    for n, vacant in enumerate(parts.flasks):
        flask = flasks.get(n)
        if flask is None:
            yield vacant.used, 0
            yield from ((v, 0) for v in vacant.count.values())
        else:
            yield vacant.used, 1
            yield from _flask(parts, vacant, flask, numbers[flask.load])
            yield from _tree(vacant, flask)


def _by_slot(parts: Parts) -> dict[int, KilnLoad]:
    result: dict[int, KilnLoad] = {}
    for kiln in parts.case.kilns:
        mine = sorted((x for x in parts.case.free_loads if x.kiln == kiln.id), key=lambda x: x.load_at)
        slots = [k for k, slot in enumerate(parts.loads) if slot.kiln.id == kiln.id]
        result |= dict(zip(slots, mine, strict=False))
    return result


def flasks_by_slot(parts: Parts) -> dict[int, PlannedFlask]:
    result: dict[int, PlannedFlask] = {}
    for melt in parts.case.flask_slots:
        mine = sorted((f for f in parts.case.free_flasks if f.melt == melt), key=lambda f: (f.cast_start, f.id))
        slots = [n for n, slot in enumerate(parts.flasks) if slot.melt == melt]
        result |= dict(zip(slots, mine, strict=False))
    return result


def _load(slot: LoadVars, load: KilnLoad | None) -> Iterator[tuple[Var, int]]:
    yield slot.used, int(load is not None)
    if load is not None:
        yield slot.program[load.program], 1
        yield slot.load_at, load.load_at
        yield slot.start, load.start


def _flask(parts: Parts, slot: FlaskVars, flask: PlannedFlask, load: int) -> Iterator[tuple[Var, int]]:
    yield from ((v, flask.contents.get(j, 0)) for j, v in slot.count.items())
    yield slot.on[flask.size, flask.machine], 1
    yield slot.investment[flask.investment], 1
    yield slot.rides[load, flask.size], 1
    yield slot.degree, bisect_right(parts.case.degrees, flask.temperature.millidegrees) - 1
    yield slot.invest, flask.invest_start
    yield slot.cast, flask.cast_start
    yield slot.knockout, flask.knockout_end
    for n, crew in enumerate(parts.case.crews):
        yield slot.crew[n], len(set(crew.people) & set(flask.people))


def _tree(slot: FlaskVars, flask: PlannedFlask) -> Iterator[tuple[Var, int]]:
    """The rings, tallest first, as the solver numbers them."""
    rings: list[Ring] = sorted((r for r in flask.rings if not r.by_count), key=lambda r: -r.height.base)
    for (r, j), v in slot.ring.items():
        yield v, sum(n for job, n in rings[r].pieces if job == j) if r < len(rings) else 0
