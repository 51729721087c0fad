"""Rules 5 to 7 for the solver: investing, flasks in use, and kiln loads."""

from __future__ import annotations

from domain.planning.solver.case import Span, joined
from domain.planning.solver.parts import FlaskVars, LoadVars, Parts, Var


def say_loads(parts: Parts) -> None:
    for load in parts.loads:
        _times(parts, load)
        _attended(parts, load)
    for f in parts.flasks:
        _rides(parts, f)
        _invest(parts, f)
        for k, load in enumerate(parts.loads):
            _in_load(parts, f, k, load)
    for k, load in enumerate(parts.loads):
        _floor(parts, k, load)
    _kilns_in_turn(parts)
    _bench(parts)


def _times(parts: Parts, load: LoadVars) -> None:
    case, model = parts.case, parts.model
    name, end = f"{load.kiln.id}#{load.number}", case.problem.end
    now = case.problem.now
    for p in load.programs:
        load.program[p.id] = parts.flag(f"{name} runs {p.id}")
    model.add(sum(load.program.values()) == load.used)
    load.load_at = parts.within([(max(now, o), c) for o, c in case.hours.open_days], f"{name} in at")
    load.start = parts.number(now, end, f"{name} starts")
    load.end = parts.number(now, end * 2, f"{name} ends")
    load.last = parts.number(now, end, f"{name} last cast")
    minutes = sum(p.minutes * load.program[p.id] for p in load.programs)
    model.add(load.start >= load.load_at)
    model.add(load.end == load.start + minutes)


def _attended(parts: Parts, load: LoadVars) -> None:
    """A kiln that may not run alone has its whole program within one day's hours, or a night that is allowed."""
    if load.kiln.unattended:
        return
    days = []
    for opens, closes, ends in parts.case.hours.burning[load.kiln.id]:
        day = parts.flag(f"{load.kiln.id}#{load.number} within {opens}")
        parts.model.add(load.load_at >= opens).only_enforce_if(day)
        parts.model.add(load.load_at <= closes).only_enforce_if(day)
        parts.model.add(load.end <= ends).only_enforce_if(day)
        days.append(day)
    parts.model.add(sum(days) == load.used)


def _rides(parts: Parts, f: FlaskVars) -> None:
    """Each flask rides one load whose chamber takes its size."""
    for k, load in enumerate(parts.loads):
        for s in f.sizes:
            if any(kiln.id == load.kiln.id for kiln in parts.case.trees.kilns_for(s)):
                f.rides[k, s] = parts.flag(f"{f.name} {s} in {k}")
        f.load[k] = parts.flag(f"{f.name} in {k}")
        parts.model.add(sum(v for (n, _), v in f.rides.items() if n == k) == f.load[k])
        parts.model.add_implication(f.load[k], load.used)
    for s in f.sizes:
        parts.model.add(sum(v for (_, size), v in f.rides.items() if size == s) == f.size[s])


def _in_load(parts: Parts, f: FlaskVars, k: int, load: LoadVars) -> None:
    """Rule 7, flask by flask: long and hot enough, not too hot, written for its bond; rested on the bench."""
    model, problem, inside = parts.model, parts.case.problem, f.load[k]
    minutes = sum(p.minutes * load.program[p.id] for p in load.programs)
    peak = sum(p.peak.millidegrees * load.program[p.id] for p in load.programs)
    model.add(minutes >= sum(problem.size[s].burnout_minutes * v for s, v in f.size.items())).only_enforce_if(inside)
    for j in f.jobs:
        job = problem.job[j]
        both = [inside, f.holds[j]]
        model.add(minutes >= job.burnout_minutes).only_enforce_if(both)
        model.add(peak >= job.burnout_peak.millidegrees).only_enforce_if(both)
    rest = load.load_at - f.invest - problem.rules.invest_minutes
    for i, chosen in f.investment.items():
        kind = problem.investment[i]
        both = [inside, chosen]
        model.add(peak <= kind.peak.millidegrees).only_enforce_if(both)
        suited = [load.program[p.id] for p in load.programs if kind.bond in p.bonds]
        model.add_bool_or([inside.negated(), chosen.negated(), *suited])
        model.add(rest >= kind.bench_set_minutes).only_enforce_if(both)
        model.add(rest <= kind.bench_limit_minutes).only_enforce_if(both)


def _invest(parts: Parts, f: FlaskVars) -> None:
    """Rule 6: at the bench in opening hours, once the patterns are there."""
    lasts, now = parts.rules.invest_minutes, parts.case.problem.now
    f.invest = parts.within([(max(now, o), c - lasts) for o, c in parts.case.hours.open_days], f"{f.name} invested")
    for j in f.jobs:
        ready = parts.case.problem.job[j].ready
        if ready > now:
            parts.model.add(f.invest >= ready).only_enforce_if(f.holds[j])


def _bench(parts: Parts) -> None:
    lasts = parts.rules.invest_minutes
    mine = [parts.model.new_optional_fixed_size_interval_var(f.invest, lasts, f.used, f"{f.name} bench") for f in parts.flasks]
    fixed = joined([(f.invest_start, f.invest_end) for f in parts.case.problem.fixed_flasks])
    parts.model.add_no_overlap(mine + parts.fixed_spans(fixed, "bench"))


def _floor(parts: Parts, k: int, load: LoadVars) -> None:
    """Rule 7: a load holds no more of each size than one of the fullest loads does, and not nothing."""
    floors, complete = parts.case.floors(load.kiln)
    parts.exact = parts.exact and complete
    inside = [v for f in parts.flasks for (n, _), v in f.rides.items() if n == k]
    parts.model.add(sum(inside) >= load.used)
    chosen = [parts.flag(f"floor {k} {n}") for n in range(len(floors))]
    parts.model.add(sum(chosen) == load.used)
    for s in parts.case.size_ids:
        standing = [v for f in parts.flasks for (n, size), v in f.rides.items() if n == k and size == s]
        if standing:
            parts.model.add(sum(standing) <= sum(counts[s] * v for counts, v in zip(floors, chosen, strict=True)))


def _kilns_in_turn(parts: Parts) -> None:
    """One load at a time; the loads of one kiln are numbered in the order in which they run."""
    model, problem = parts.model, parts.case.problem
    for load in parts.loads:
        for window in problem.kiln_outages.get(load.kiln.id, ()):
            before = parts.flag(f"{load.kiln.id}#{load.number} before {window.start}")
            model.add(load.last <= window.start).only_enforce_if([load.used, before])
            model.add(load.load_at >= window.end).only_enforce_if([load.used, before.negated()])
    for earlier, later in zip(parts.loads, parts.loads[1:], strict=False):
        if earlier.kiln.id == later.kiln.id:
            model.add_implication(later.used, earlier.used)
            model.add(later.load_at >= earlier.last + later.kiln.cooldown_minutes).only_enforce_if(later.used)
    for kiln in parts.case.kilns:
        spans = parts.fixed_spans(joined(fixed_in_kiln(parts, kiln.id)), kiln.id)
        mine = [_in_kiln(parts, load) for load in parts.loads if load.kiln.id == kiln.id] if spans else []
        model.add_no_overlap(mine + spans)


def _in_kiln(parts: Parts, load: LoadVars) -> Var:
    takes = parts.number(0, parts.case.problem.end * 2, f"{load.kiln.id}#{load.number} takes")
    free = parts.number(0, parts.case.problem.end * 2, f"{load.kiln.id}#{load.number} free")
    parts.model.add(free == load.last + load.kiln.cooldown_minutes)
    return parts.model.new_optional_interval_var(load.load_at, takes, free, load.used, f"{load.kiln.id}#{load.number}")


def fixed_in_kiln(parts: Parts, kiln: str) -> list[Span]:
    problem = parts.case.problem
    casts: dict[str, int] = {}
    for f in problem.fixed_flasks:
        casts[f.load] = max(casts.get(f.load, 0), f.cast_start)
    cooling = problem.kiln[kiln].cooldown_minutes
    return [(x.load_at, casts.get(x.id, x.program_end) + cooling) for x in problem.fixed_loads if x.kiln == kiln]


def say_flasks_owned(parts: Parts) -> None:
    """Rule 5: from investing to knock-out no more of a size are in use than the shop owns."""
    problem = parts.case.problem
    for s in parts.case.size_ids:
        mine = [f for f in parts.flasks if s in f.size]
        fixed = [f for f in problem.fixed_flasks if f.size == s]
        owned = problem.size[s].owned
        if len(mine) + len(fixed) <= owned:
            continue
        spans = [_in_use(parts, f, s) for f in mine]
        spans += parts.fixed_spans([(f.invest_start, f.knockout_end) for f in fixed], f"use {s}")
        parts.model.add_cumulative(spans, [1] * len(spans), max(owned, _most_fixed(parts, s)))


def _most_fixed(parts: Parts, size: str) -> int:
    fixed = [f for f in parts.case.problem.fixed_flasks if f.size == size]
    moments = [f.invest_start for f in fixed]
    return max((sum(f.invest_start <= at < f.knockout_end for f in fixed) for at in moments), default=0)


def _in_use(parts: Parts, f: FlaskVars, s: str) -> Var:
    if f.in_use is None:
        takes = parts.number(0, parts.case.problem.end * 2, f"{f.name} in use for")
        f.in_use = takes
        parts.model.add(takes == f.knockout - f.invest).only_enforce_if(f.used)
    return parts.model.new_optional_interval_var(f.invest, f.in_use, f.knockout, f.size[s], f"{f.name} uses {s}")
