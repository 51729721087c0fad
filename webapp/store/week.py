"""The whole week as the domain sees it, built from the store, and plans put back."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

from domain.planning.clock import Clock
from domain.planning.names import Renaming, renamed
from domain.planning.plan import Plan
from domain.shop.alloy import Alloy
from domain.shop.burnout import BurnoutProgram, Kiln, Outage
from domain.shop.casting import CastingMachine, Person
from domain.shop.consumables import Consumable
from domain.shop.flask import FlaskSize
from domain.shop.investment import InvestmentKind
from domain.shop.jobs import Job
from domain.shop.lots import Lot, Metal, Powder
from domain.shop.pattern import PatternMaterial
from domain.shop.shop import Shop, ShopRules
from domain.week.week import Week
from webapp.store import flasks, nouns, plans, reservations
from webapp.store.engine import Session
from webapp.store.plans import PlanStatus, StoredPlan


def load_rules(session: Session) -> ShopRules:
    """The shop's own rules, or the starting ones where none are kept yet."""
    return nouns.find(session, ShopRules, 1) or ShopRules()


def load_shop(session: Session) -> Shop:
    return Shop(
        rules=load_rules(session),
        alloys=nouns.all_of(session, Alloy),
        materials=nouns.all_of(session, PatternMaterial),
        sizes=nouns.all_of(session, FlaskSize),
        investments=nouns.all_of(session, InvestmentKind),
        programs=nouns.all_of(session, BurnoutProgram),
        kilns=nouns.all_of(session, Kiln),
        machines=nouns.all_of(session, CastingMachine),
        people=nouns.all_of(session, Person),
        closures=nouns.all_of(session, Outage),
        metals=nouns.all_of(session, Metal),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """The current plan, the pins, and what has happened to each flask."""

    plan: StoredPlan | None
    pins: Mapping[str, flasks.Pin]
    happened: dict[str, tuple[flasks.Happened, ...]]


def read_record(session: Session) -> Record:
    return Record(plan=plans.current_plan(session), pins=flasks.pins(session), happened=flasks.happened(session))


def load_week(session: Session, now: datetime) -> Week:
    """The week at ``now``, the shop's local time. Flasks knocked out before today are history: they
    are not in the previous plan, and their pieces are no longer to be cast."""
    return week_of(session, now, read_record(session))


def week_of(session: Session, now: datetime, record: Record) -> Week:
    """The same, where the record has been read already."""
    shop = load_shop(session)
    clock = Clock(now.date(), shop.rules.timezone)
    events, stored = record.happened, record.plan
    whole = None if stored is None else plans.moved(stored.plan, stored.clock, clock)
    previous = None if whole is None else _without(whole, _history(events, clock))
    known = {f.id for f in previous.flasks} if previous else set()
    weighed = reservations.weighed(session, sorted(known)) if known else set()
    return Week(
        shop=shop,
        jobs=_still_to_cast(nouns.all_of(session, Job), _history(events, clock)),
        lots=nouns.all_of(session, Lot),
        powders=nouns.all_of(session, Powder),
        consumables=nouns.all_of(session, Consumable),
        now=now,
        previous=previous,
        pinned=frozenset(known & (record.pins.keys() | events.keys() | weighed)),
        weighed=frozenset(weighed),
    )


def held_back(session: Session, now: datetime) -> tuple[Job, ...]:
    """Jobs in the archive of which something is still to cast."""
    archived = tuple(stored.value for stored in nouns.all_stored(session, Job, archived=True))
    clock = Clock(now.date(), load_rules(session).timezone)
    return _still_to_cast(archived, _history(flasks.happened(session), clock))


def save_plan(session: Session, plan: Plan, now: datetime, status: PlanStatus = PlanStatus.CURRENT, note: str = "") -> int:
    """Keep a plan made for ``load_week(session, now)``; returns its version. A flask that is new but
    bears the id of one in the record gets another id, so that no record is taken for its own."""
    week = load_week(session, now)
    clock = Clock(now.date(), week.shop.rules.timezone)
    taken = flasks.happened(session).keys() - (week.pinned or frozenset())
    return plans.store_plan(session, renamed(plan, _fresh_names(plan, taken)), clock, status, note)


def put_shop(session: Session, shop: Shop) -> None:
    """Make the store hold this shop; what it does not name is archived."""
    nouns.put(session, shop.rules)
    _replace_closures(session, shop.closures)
    kept = (shop.alloys, shop.materials, shop.sizes, shop.investments, shop.programs, shop.kilns, shop.machines, shop.people)
    for kind, entities in zip(
        (Alloy, PatternMaterial, FlaskSize, InvestmentKind, BurnoutProgram, Kiln, CastingMachine, Person), kept, strict=True
    ):
        _replace_all(session, kind, entities)
    _replace_all(session, Metal, shop.metals)


def save_week(session: Session, week: Week) -> None:
    """Make the store hold this week: what it does not name is archived, nothing is deleted. The
    previous plan becomes the current one, and its pinned flasks are pinned."""
    put_shop(session, week.shop)
    _replace_all(session, Lot, week.lots)
    _replace_all(session, Powder, week.powders)
    if week.consumables is not None:
        _replace_all(session, Consumable, week.consumables)
    out = pieces_out(_history(flasks.happened(session), Clock(week.now.date(), week.shop.rules.timezone)).values())
    # a week says what is still to cast; the store says what was ordered
    _replace_all(session, Job, tuple(replace(job, quantity=job.quantity + out[job.id]) for job in week.jobs))
    _bring_in_plan(session, week)


def _bring_in_plan(session: Session, week: Week) -> None:
    """The plan of a week that is brought in. One of its flasks may bear the id of another in the record,
    whose events are not its own: it gets a new id."""
    clock = Clock(week.now.date(), week.shop.rules.timezone)
    current = plans.current_plan(session)
    here = {f.id: f.contents for f in current.plan.flasks} if current else {}
    flasks.unpin_all(session)
    if week.previous is None:
        plans.retire_current(session)
        return
    foreign = {f.id for f in week.previous.flasks if here.get(f.id) != f.contents}
    name = _fresh_names(week.previous, flasks.happened(session).keys() & foreign)
    plans.store_plan(session, renamed(week.previous, name), clock, PlanStatus.CURRENT, "brought in")
    for flask in sorted(week.pinned):
        flasks.pin(session, name(flask), "pinned in the week that was brought in")


def _history(events: dict[str, tuple[flasks.Happened, ...]], clock: Clock) -> dict[str, flasks.Happened]:
    """Flasks whose knock-out was recorded before today."""
    last = {flask: standing[-1] for flask, standing in events.items()}
    zone = ZoneInfo(clock.timezone)
    return {
        flask: event
        for flask, event in last.items()
        if event.stage is flasks.Stage.KNOCKED_OUT and event.at.astimezone(zone).date() < clock.first_day
    }


def _without(plan: Plan, gone: dict[str, flasks.Happened]) -> Plan:
    """The plan without some flasks, and without the loads that held no others."""
    if not gone:
        return plan
    loads = (replace(k, rows=tuple(tuple(f for f in row if f not in gone) for row in k.rows)) for k in plan.loads)
    return replace(
        plan,
        flasks=tuple(f for f in plan.flasks if f.id not in gone),
        loads=tuple(load for load in loads if load.flasks),
        charges=tuple(c for c in plan.charges if c.flask not in gone),
    )


def pieces_out(knocked_out: Iterable[flasks.Happened]) -> Counter[str]:
    """Pieces by job that came out of flasks."""
    out: Counter[str] = Counter()
    for event in knocked_out:
        out.update(event.pieces)
    return out


def _still_to_cast(jobs: tuple[Job, ...], gone: dict[str, flasks.Happened]) -> tuple[Job, ...]:
    out = pieces_out(gone.values())
    return tuple(replace(job, quantity=job.quantity - out[job.id]) for job in jobs if job.quantity > out[job.id])


def _fresh_names(plan: Plan, taken: set[str]) -> Renaming:
    used = taken | {f.id for f in plan.flasks}
    names: dict[str, str] = {}
    for flask in plan.flasks:
        name, count = flask.id, 1
        while name in (used if count > 1 else taken):
            count += 1
            name = f"{flask.id}-{count}"
        used.add(name)
        names[flask.id] = name
    return lambda flask: names.get(flask, flask)


def _replace_all(session: Session, kind: type[object], entities: tuple[object, ...]) -> None:
    nouns.archive_others(session, kind, {nouns.key_text(entity) for entity in entities})
    for entity in entities:
        nouns.put(session, entity)
    nouns.set_order(session, kind, [nouns.key_text(entity) for entity in entities])


def _replace_closures(session: Session, closures: tuple[Outage, ...]) -> None:
    nouns.archive_others(session, Outage, set())
    for closure in closures:
        nouns.add(session, closure)
