"""The metal of a flask, from the scale to the shelf: what was weighed in, what came out, what came back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from domain.books.accounts import POT, Account, AccountKind, lot, melt, returns
from domain.books.content import Content, composition_of, together
from domain.books.entries import EntryKind, gathered, moved, poured
from domain.errors import DomainError, InvalidValue
from domain.planning.plan import ChargePart, From, PlannedFlask
from domain.saying import say
from domain.shop.alloy import Alloy
from domain.shop.jobs import Job
from domain.shop.lots import Lot, MetalKind
from domain.units import Mass, Money, Share, total
from webapp.formats import exact_mass
from webapp.store import books, nouns, plans, reservations
from webapp.store.books import Entry, Written
from webapp.store.columns import utc_now
from webapp.store.engine import Session

AS_PLANNED = say("as planned, when it was marked cast")


@dataclass(frozen=True, slots=True, kw_only=True)
class FlaskBooks:
    """Where a flask's metal is: ``charged`` in the melt and not weighed out yet, ``uncleaned`` button and
    sprues not back on the shelf yet. ``entries``: the newest first."""

    charged: Mass
    uncleaned: Mass
    entries: tuple[Entry, ...]

    @property
    def standing(self) -> tuple[Entry, ...]:
        return tuple(e for e in self.entries if e.reverses is None and e.taken_back_by is None)

    def kind(self, kind: EntryKind) -> tuple[Entry, ...]:
        """The standing entries of a kind, the newest first."""
        return tuple(e for e in self.standing if e.kind is kind)


def books_of(session: Session, flask: str) -> FlaskBooks:
    return FlaskBooks(
        charged=books.balance(session, melt(flask)).mass,
        uncleaned=books.balance(session, returns(flask)).mass,
        entries=books.entries(session, flask=flask, newest=None),
    )


def charge(
    session: Session, flask: str, parts: Mapping[str, Mass], *, note: str = "", key: str | None = None, at: datetime | None = None
) -> Written:
    """``parts`` of lots were weighed into the flask's crucible.

    Raises ``InvalidValue`` where a lot does not hold so much, or a customer's own metal would be blended
    or go into another's job.
    """
    before = books.with_key(session, key)
    if before is not None:
        return Written(before, False)
    planned = planned_flask(session, flask)
    weighed = [(lot(name), _part(session, name, mass)) for name, mass in parts.items() if mass.base]
    if not weighed:
        raise InvalidValue("mass", say("write down what was weighed"))
    _keep_apart(session, planned, list(parts))
    alloy = _alloy_of(planned)
    written = books.post(
        session, EntryKind.CHARGE, gathered(weighed, melt(flask)), flask=flask, alloy=alloy, note=note, key=key, at=at
    )
    reservations.release(session, flask)
    return written


def weighed_in(session: Session, flask: str) -> Content:
    """What the books say was charged; nothing where nothing was."""
    entries = books.entries(session, flask=flask, kinds=[EntryKind.CHARGE], standing=True, newest=None)
    return together(p.content for e in entries for p in e.postings if p.account == melt(flask))


def charge_as_planned(session: Session, flask: str, key: str | None = None) -> bool:
    """What the plan takes is written down for a flask of which nobody wrote down what was weighed. False
    where it is already, or where the shelf does not hold it: then it stays open."""
    if reservations.weighed(session, [flask]):
        return False
    parts = planned_parts(session, flask)
    known: dict[str, Mass] = {}
    for name, part in parts:
        if name:
            known[name] = known.get(name, Mass(0)) + part.mass
    try:
        return bool(parts) and all(name for name, _ in parts) and charge(session, flask, known, note=AS_PLANNED, key=key).fresh
    except InvalidValue:
        return False


def planned_parts(session: Session, flask: str) -> list[tuple[str, ChargePart]]:
    """The parts of the planned charge, each with the lot that it is now taken from; empty where there is none."""
    stored = plans.current_plan(session)
    charges = stored.plan.charges if stored else ()
    parts = next((c.parts for c in charges if c.flask == flask), ())
    return [(_lot_for(session, part), part) for part in parts]


def _lot_for(session: Session, part: ChargePart) -> str:
    if part.origin is From.LOT:
        return part.ref if nouns.find(session, Lot, part.ref) else ""
    if part.origin is From.RETURNS:
        return next((name for name in lots_from(session, part.ref)), "")
    lots = [one for one in nouns.all_of(session, Lot) if one.metal == part.ref and not one.owner_job and not one.arrives]
    return next((one.id for one in lots if one.mass >= part.mass), "")


def lots_from(session: Session, flask: str) -> tuple[str, ...]:
    """The lots that hold, or held, what came back of a flask."""
    shelved = books.entries(session, flask=flask, kinds=[EntryKind.SHELVED], standing=True, newest=None)
    return tuple(dict.fromkeys(p.account.ref for e in shelved for p in e.postings if p.account.kind is AccountKind.LOT))


def weigh_out(
    session: Session,
    flask: str,
    pieces: Mapping[str, Mass],
    back: Mass,
    *,
    note: str = "",
    key: str | None = None,
    at: datetime | None = None,
) -> Written:
    """What a melt became: castings by job, net of sprues; ``back``: button and sprues. The rest is lost.

    Raises ``InvalidValue`` where nothing was charged or more came out than went in.
    """
    before = books.with_key(session, key)
    if before is not None:
        return Written(before, False)
    charged = books.balance(session, melt(flask))
    if not charged.mass.base:
        raise InvalidValue("mass", say("nothing is written down as weighed into {flask}; write the charge down first", flask=flask))
    alloy, losses = _alloy_in(session, flask)
    outs = [(Account(AccountKind.JOB, job), mass) for job, mass in pieces.items()] + [(returns(flask), back)]
    if not total(Mass, (mass for _, mass in outs)).base:
        raise InvalidValue("mass", say("write down what came out"))
    postings = poured(melt(flask), charged, outs, Account(AccountKind.LOSS, flask), losses)
    return books.post(session, EntryKind.CAST, postings, flask=flask, alloy=alloy, note=note, key=key, at=at)


def shelve(
    session: Session,
    flask: str,
    clean: Mass,
    *,
    to_refiner: bool = False,
    note: str = "",
    key: str | None = None,
    at: datetime | None = None,
) -> Written:
    """Button and sprues are clean: back on the shelf as a lot of their own, or into the refiner's lot. What
    cleaning took off is lost. Raises ``InvalidValue`` for more than was weighed before cleaning."""
    before = books.with_key(session, key)
    if before is not None:
        return Written(before, False)
    there = books.balance(session, returns(flask))
    if not Mass(0) < clean <= there.mass:
        raise InvalidValue("mass", say("no more can come back than was weighed with its investment, and not nothing"))
    content = there.part(clean)
    target = POT if to_refiner else _shelf_for(session, flask, content, at)
    postings = moved(returns(flask), target, content)
    if there.mass > clean:
        postings += moved(returns(flask), Account(AccountKind.LOSS, flask), there - content)
    kind = EntryKind.REFINER if to_refiner else EntryKind.SHELVED
    return books.post(session, kind, postings, flask=flask, alloy=_alloy_in(session, flask)[0], note=note, key=key, at=at)


def take_back(session: Session, entry: int, reason: str, key: str | None = None) -> Written:
    """Write the counter-entry of an entry, with the reason in words. Raises ``DomainError``."""
    if not reason.strip():
        raise InvalidValue("reason", say("say why it is taken back"))
    written = books.take_back(session, entry, reason.strip(), key=key)
    renew_reservations(session)
    return written


def renew_reservations(session: Session) -> None:
    stored = plans.current_plan(session)
    reservations.renew(session, stored.plan if stored else None)


def undo_cast(session: Session, flask: str) -> None:
    """Takes back what was written down since the flask was cast: what came out, and a charge that nobody
    weighed. Raises ``DomainError`` where something of it has been used since."""
    for entry in books_of(session, flask).standing:
        if entry.kind is not EntryKind.CHARGE or entry.note == AS_PLANNED:
            books.take_back(session, entry.id, say("{flask} is not cast after all", flask=flask))
    renew_reservations(session)


def planned_flask(session: Session, flask: str) -> PlannedFlask:
    """The flask as the current plan has it. Raises ``DomainError`` where it has none such."""
    stored = plans.current_plan(session)
    found = stored.plan.flask(flask) if stored else None
    if found is None:
        raise DomainError(say("There is no flask {flask} in the current plan.", flask=flask))
    return found


def is_planned(session: Session, flask: str) -> bool:
    stored = plans.current_plan(session)
    return stored is not None and stored.plan.flask(flask) is not None


def contents_of(session: Session, flask: str, kept: FlaskBooks) -> dict[str, int]:
    """Pieces by job, as planned; of a flask that no plan holds any more, the jobs that its books name, with
    no count. Raises ``DomainError`` for a flask that neither knows."""
    if is_planned(session, flask) or not kept.entries:
        return planned_flask(session, flask).contents
    return {p.account.ref: 0 for e in kept.standing for p in e.postings if p.account.kind is AccountKind.JOB}


def _alloy_of(planned: PlannedFlask) -> str:
    return planned.melt.partition("/")[0]


def _alloy_in(session: Session, flask: str) -> tuple[str | None, Mapping[str, Share]]:
    """The alloy that was charged, and what its melts lose of each element."""
    charges = books.entries(session, flask=flask, kinds=[EntryKind.CHARGE], standing=True, newest=1)
    name = charges[0].alloy if charges else None
    alloy = nouns.find(session, Alloy, name) if name else None
    return name, alloy.losses if alloy else {}


def _part(session: Session, name: str, mass: Mass) -> Content:
    there = books.balance(session, lot(name))
    found = nouns.find(session, Lot, name)
    if found is None:
        raise InvalidValue("lot", say("there is no lot “{name}”", name=name))
    if mass > there.mass:
        raise InvalidValue(
            name, say("lot {name} holds {there}, not {mass}", name=name, there=exact_mass(there.mass), mass=exact_mass(mass))
        )
    return there.part(mass)


def _keep_apart(session: Session, planned: PlannedFlask, lots: list[str]) -> None:
    """A customer's own metal goes into pieces of its own job alone, and these are cast from nothing else."""
    jobs = nouns.find_all(session, Job, planned.contents)
    for name in lots:
        found = nouns.find(session, Lot, name)
        owner = (found.owner_job or "") if found else ""
        for job, known in jobs.items():
            if owner and job != owner:
                raise InvalidValue(
                    name,
                    say(
                        "lot {name} is the own metal of job {owner}'s customer; {flask} holds pieces of {job}",
                        name=name,
                        owner=owner,
                        flask=planned.id,
                        job=job,
                    ),
                )
            if known and known.own_metal and owner != job:
                raise InvalidValue(
                    name,
                    say("job {job} is cast from its customer's own metal alone, and lot {name} is not that", job=job, name=name),
                )


def _shelf_for(session: Session, flask: str, content: Content, at: datetime | None) -> Account:
    """The lot of a flask's returns: made anew, or the one that was emptied when its entry was taken back."""
    name, count = f"R-{flask}", 1
    while (there := nouns.find(session, Lot, name)) is not None and there.mass.base:
        count += 1
        name = f"R-{flask}-{count}"
    alloy, _ = _alloy_in(session, flask)
    known = nouns.find(session, Alloy, alloy) if alloy else None
    inputs = _inputs(session, flask)
    since = (at or utc_now()).date().isoformat()
    nouns.put(
        session,
        Lot(
            id=name,
            name=f"{known.name if known else 'Metal'}, returns of {flask}",
            kind=MetalKind.RECYCLED,
            composition=composition_of(content),
            mass=Mass(0),
            melts=1 + max((found.melts for found, _ in inputs), default=0),
            alloy=alloy,
            owner_job=next((found.owner_job for found, _ in inputs if found.owner_job), None),
            since=since,
            cost=_cost(inputs),
        ),
    )
    return lot(name)


def _inputs(session: Session, flask: str) -> list[tuple[Lot, Mass]]:
    """The lots that were charged, and how much of each."""
    charges = books.entries(session, flask=flask, kinds=[EntryKind.CHARGE], standing=True, newest=None)
    taken = [(p.account.ref, -p.content.mass) for e in charges for p in e.postings if p.account.kind is AccountKind.LOT]
    found = [(nouns.find(session, Lot, name), mass) for name, mass in taken]
    return [(one, mass) for one, mass in found if one is not None]


def _cost(inputs: list[tuple[Lot, Mass]]) -> Money:
    """What a gram of the charge stood for in the books."""
    whole = sum(mass.base for _, mass in inputs)
    return Money(round(sum(one.cost.base * mass.base for one, mass in inputs) / whole)) if whole else Money(0)
