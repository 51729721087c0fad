"""Rules 8 and 9 for the solver: casts in falling temperature, machines, people, knock-outs, metal in time."""

from __future__ import annotations

from itertools import combinations

from domain.planning.solver.case import joined
from domain.planning.solver.parts import FlaskVars, Parts
from domain.planning.solver.trees import charge_bound


def say_casts(parts: Parts) -> None:
    for f in parts.flasks:
        _cast(parts, f)
        _crew(parts, f)
        _knockout(parts, f)
        for k in f.load:
            _soaked(parts, f, k)
    _in_order(parts)
    _falling(parts)
    _machines(parts)
    _crews_busy(parts)
    for melt in parts.case.flask_slots:
        _shelf(parts, melt)


def _cast(parts: Parts, f: FlaskVars) -> None:
    case, late = parts.case, parts.rules.overtime_minutes
    minutes = {m: case.problem.machine[m].minutes_per_cast for m in f.machine}
    quickest = min(minutes.values(), default=0)
    spans = [(max(case.problem.now, s.opens), s.closes + late - quickest) for s in case.hours.casters]
    f.cast = parts.within(joined(spans), f"{f.name} cast")
    f.lasts = sum(minutes[m] * v for m, v in f.machine.items())


def _crew(parts: Parts, f: FlaskVars) -> None:
    """As many casters as the machine asks for, each with a shift (and overtime) that covers the cast."""
    case, model, late = parts.case, parts.model, parts.rules.overtime_minutes
    asked = {m: case.problem.machine[m].people for m in f.machine}
    most = max(asked.values(), default=0)
    for d, _ in enumerate(case.problem.days):
        f.cast_day[d] = parts.flag(f"{f.name} cast on {d}")
    model.add(sum(f.cast_day.values()) == f.used)
    for n, crew in enumerate(case.crews):
        f.crew[n] = parts.number(0, min(most, len(crew.people)), f"{f.name} crew {n}")
        there = []
        for i, (opens, closes) in enumerate(crew.shifts):
            at = parts.flag(f"{f.name} crew {n} shift {i}")
            model.add(f.cast >= opens).only_enforce_if(at)
            model.add(f.cast + f.lasts <= closes + late).only_enforce_if(at)
            model.add_implication(at, f.cast_day[case.hours.day_index(opens)])
            f.at_shift[n, i] = at
            there.append(at)
        model.add(sum(there) <= 1)
        model.add(f.crew[n] <= most * sum(there))
    model.add(sum(f.crew.values()) == sum(asked[m] * v for m, v in f.machine.items()))


def _knockout(parts: Parts, f: FlaskVars) -> None:
    """After the cooling wait, within a day's hours and overtime. ``knockout`` is its end."""
    case, lasts = parts.case, parts.rules.knockout_minutes
    wait = case.problem.melt[f.melt].alloy.cooling.wait_minutes
    spans = [(o + lasts, c + parts.rules.overtime_minutes) for o, c in case.hours.open_days]
    f.knockout = parts.within(joined(spans), f"{f.name} knocked out")
    parts.model.add(f.knockout >= f.cast + f.lasts + wait + lasts).only_enforce_if(f.used)
    for opens, closes in case.hours.open_days:
        d = case.hours.day_index(opens)
        day = parts.flag(f"{f.name} knocked out on {d}")
        parts.model.add(f.knockout >= opens + lasts).only_enforce_if(day)
        parts.model.add(f.knockout <= closes + parts.rules.overtime_minutes).only_enforce_if(day)
        f.knockout_day[d] = day
    parts.model.add(sum(f.knockout_day.values()) == f.used)


def _soaked(parts: Parts, f: FlaskVars, k: int) -> None:
    """After the program's end and the soak, and no longer after it than a flask may wait hot."""
    load, soak = parts.loads[k], parts.rules.soak_minutes
    model = parts.model
    model.add(f.cast >= load.end + soak).only_enforce_if(f.load[k])
    model.add(f.cast <= load.end + soak + parts.rules.hot_hold_minutes).only_enforce_if(f.load[k])
    model.add(load.last >= f.cast).only_enforce_if(f.load[k])


def _in_order(parts: Parts) -> None:
    """Flasks of one melt differ by nothing but their numbers: they are cast in that order."""
    for a, b in zip(parts.flasks, parts.flasks[1:], strict=False):
        if a.melt == b.melt:
            parts.model.add_implication(b.used, a.used)
            parts.model.add(a.cast <= b.cast).only_enforce_if(b.used)


def _falling(parts: Parts) -> None:
    """Within a load the hotter flask is cast first, and a step down has its soak before the next."""
    step, model = parts.rules.step_soak_minutes, parts.model
    for f, g in combinations(parts.flasks, 2):
        same = parts.flag(f"{f.name} with {g.name}")
        for k in set(f.load) & set(g.load):
            model.add_bool_or(same, f.load[k].negated(), g.load[k].negated())
        for hot, cold in ((f, g), (g, f)):
            hotter = parts.flag(f"{hot.name} hotter than {cold.name}")
            model.add(hot.degree <= cold.degree).only_enforce_if(hotter.negated())
            model.add(hot.degree > cold.degree).only_enforce_if(hotter)
            model.add(cold.cast >= hot.cast + step).only_enforce_if([same, hotter])


def _machines(parts: Parts) -> None:
    """One flask at a time on a machine, and time to change the crucible between families."""
    problem = parts.case.problem
    for m, machine in problem.machine.items():
        mine = [f for f in parts.flasks if m in f.machine]
        lasts = machine.minutes_per_cast
        spans = [parts.model.new_optional_fixed_size_interval_var(f.cast, lasts, f.machine[m], f"{f.name} at {m}") for f in mine]
        taken = [(f.cast_start, f.cast_end) for f in parts.case.fixed_on(m)]
        taken += [(w.start, w.end) for w in problem.machine_outages.get(m, ())]
        parts.model.add_no_overlap(spans + parts.fixed_spans(joined(taken), m))
        if parts.rules.crucible_change_minutes:
            _crucible_changes(parts, m, mine)


def _crucible_changes(parts: Parts, m: str, mine: list[FlaskVars]) -> None:
    model, change = parts.model, parts.rules.crucible_change_minutes
    for f, g in combinations(mine, 2):
        if family(parts, f) == family(parts, g):
            continue
        first = parts.flag(f"{f.name} before {g.name} on {m}")
        both = [f.machine[m], g.machine[m]]
        model.add(g.cast >= f.cast + f.lasts + change).only_enforce_if([*both, first])
        model.add(f.cast >= g.cast + g.lasts + change).only_enforce_if([*both, first.negated()])
    for f in mine:
        for fixed in parts.case.fixed_on(m):
            known = parts.case.problem.melt.get(fixed.melt)
            if fixed.cast_end <= parts.case.problem.now - change or (known and known.alloy.family == family(parts, f)):
                continue
            before = parts.flag(f"{f.name} before {fixed.id}")
            model.add(f.cast + f.lasts + change <= fixed.cast_start).only_enforce_if([f.machine[m], before])
            model.add(f.cast >= fixed.cast_end + change).only_enforce_if([f.machine[m], before.negated()])


def family(parts: Parts, f: FlaskVars) -> str:
    return parts.case.problem.melt[f.melt].alloy.family


def _crews_busy(parts: Parts) -> None:
    """Nobody casts two flasks at once. Where there are hands for every machine, nobody has to."""
    case = parts.case
    wanted = sum(m.people for m in case.problem.shop.machines if m.in_service)
    for n, crew in enumerate(case.crews):
        if len(crew.people) >= wanted and not _fixed_casts(parts, crew.people):
            continue
        spans, hands = [], []
        for f in parts.flasks:
            there = sum(v for (crew_number, _), v in f.at_shift.items() if crew_number == n)
            present = parts.flag(f"{f.name} crew {n} casts")
            parts.model.add(present == there)
            takes = parts.number(0, 24 * 60, f"{f.name} takes crew {n}")
            ends = parts.number(0, case.problem.end * 2, f"{f.name} frees crew {n}")
            parts.model.add(takes == f.lasts).only_enforce_if(present)
            spans.append(parts.model.new_optional_interval_var(f.cast, takes, ends, present, f"{f.name} by crew {n}"))
            hands.append(f.crew[n])
        fixed = parts.fixed_spans(joined(_fixed_casts(parts, crew.people)), f"crew {n}")
        parts.model.add_cumulative(spans + fixed, hands + [len(crew.people)] * len(fixed), len(crew.people))


def _fixed_casts(parts: Parts, people: tuple[str, ...]) -> list[tuple[int, int]]:
    flasks = parts.case.problem.fixed_flasks
    return [(f.cast_start, f.cast_end) for f in flasks if set(f.people) & set(people) and f.cast_end > parts.case.problem.now]


def _shelf(parts: Parts, melt_key: str) -> None:
    """Rule 9: what is cast before ordered metal can be here is no more than the shelf can make."""
    problem, model = parts.case.problem, parts.model
    melt = problem.melt[melt_key]
    arrives = melt.order_from if melt.order_from is not None else problem.end * 2
    fixed = [f for f in problem.fixed_flasks if f.melt == melt_key and problem.on_shelf(f) and f.cast_start < arrives]
    room = melt.stock_castable.base - sum(f.charge.base for f in fixed)
    mine = [f for f in parts.flasks if f.melt == melt_key]
    limit = max((m.crucible_mass.base for m in problem.shop.machines), default=0) + 1000
    for f in mine:
        f.from_shelf = parts.flag(f"{f.name} from the shelf")
        f.draws = parts.number(0, limit, f"{f.name} draws")
        model.add(f.cast >= arrives).only_enforce_if([f.used, f.from_shelf.negated()])
        model.add(f.cast < arrives).only_enforce_if([f.used, f.from_shelf])
        model.add(f.draws >= charge_bound(parts, f)).only_enforce_if([f.used, f.from_shelf])
    model.add(sum(f.draws for f in mine) <= max(0, room))
