"""What the record says, and taking its suggestions over into the shop's own values, or not."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from domain.errors import DomainError
from domain.floor.asks import ASKS, kept
from domain.floor.learning import CastFact, Decision, Learned, Suggestion, fixed_button, minutes_between, suggestion
from domain.floor.stages import Stage
from domain.floor.times import CastAs, PastCast
from domain.saying import say
from domain.shop.alloy import Alloy
from domain.shop.casting import CastingMachine
from domain.shop.flask import FlaskSize
from domain.units import Share, Temperature, Volume
from webapp.actions import melts, shop
from webapp.exchange.documents import AlloyDocument, CastingMachineDocument, Document, FlaskSizeDocument
from webapp.formats import as_typed
from webapp.forms import typed_from
from webapp.steady import utc_now
from webapp.store import floor, learned, losses, nouns
from webapp.store.engine import Session
from webapp.store.floor import Happened
from webapp.store.week import load_rules
from webapp.views.floor import past_casts
from webapp.views.learning import Record, mark_of

FLASK_TEMPERATURE = next(a for a in ASKS[Stage.CAST] if a.name == "flask_temperature")
NEWEST = 500
"""so many casts are looked at"""


def read_record(session: Session) -> Record:
    casts = floor.casts(session, NEWEST)
    facts = _facts(session, casts)
    machines = {m.id: m for m in nouns.all_of(session, CastingMachine)}
    alloys = {a.id: a for a in nouns.all_of(session, Alloy)}
    sizes = {s.id: s for s in nouns.all_of(session, FlaskSize)}
    past = past_casts(casts, floor.looked_at(session, [one.flask for one in casts]))
    decisions = learned.decisions(session)
    found = _suggestions(facts, machines, alloys, sizes)
    return Record(
        facts=facts,
        heats=tuple((cast, _heat(cast)) for cast in past),
        machines=machines,
        alloys=alloys,
        sizes=sizes,
        suggestions=tuple(one for one in found if not any(d.holds(one) for d in decisions)),
        decisions=decisions,
    )


def _heat(cast: PastCast) -> Temperature:
    """As it was read, else as it was planned."""
    text = cast.readings.get("flask_temperature")
    value = kept(FLASK_TEMPERATURE, text) if text else None
    return value if isinstance(value, Temperature) else cast.cast_as.flask_temperature


def _facts(session: Session, casts: tuple[Happened, ...]) -> tuple[CastFact, ...]:
    poured = {one.flask: _poured(one) for one in casts}
    oldest = min((one.at for one in casts), default=utc_now()) - timedelta(days=1)
    weighed = {loss.flask: loss for loss in losses.losses(session, oldest, load_rules(session).timezone)}
    guessed = losses.noted_charges(session, melts.AS_PLANNED)
    facts = []
    for one in sorted(casts, key=lambda cast: cast.at):
        as_planned, loss = one.cast_as, weighed.get(one.flask)
        if as_planned is None:
            continue
        known = loss is not None and one.flask not in guessed
        facts.append(
            CastFact(
                flask=one.flask,
                at=one.at,
                alloy=as_planned.alloy,
                size=as_planned.size,
                machine=_machine(as_planned),
                minutes=minutes_between(poured.get(as_planned.follows), poured[one.flask]),
                charged=loss.charged if loss and known else None,
                castings=loss.castings if loss and known else None,
                back=loss.returned if loss and known else None,
                sprues=as_planned.sprues,
                asked=as_planned.asked,
                button=as_planned.button,
            )
        )
    return tuple(facts)


def _machine(cast: CastAs) -> str:
    return cast.machine_id or cast.machine


def _poured(one: Happened) -> datetime:
    begun = one.readings.get("started")
    return datetime.fromisoformat(begun) if begun else one.at


def _suggestions(
    facts: tuple[CastFact, ...],
    machines: Mapping[str, CastingMachine],
    alloys: Mapping[str, Alloy],
    sizes: Mapping[str, FlaskSize],
) -> tuple[Suggestion, ...]:
    found = []
    for machine in machines.values():
        minutes = [f.minutes for f in facts if f.machine == machine.id and f.minutes is not None]
        found.append(suggestion(Learned.MINUTES, machine.id, machine.minutes_per_cast, minutes))
    for alloy in alloys.values():
        lost = [f.loss.base for f in facts if f.alloy == alloy.id and f.loss is not None]
        found.append(suggestion(Learned.MELT_LOSS, alloy.id, alloy.melt_loss.base, lost))
    for size in sizes.values():
        of_size = [(f, alloys[f.alloy]) for f in facts if f.size == size.id and f.alloy in alloys]
        buttons = [fixed_button(f, a.melt_loss, a.density) for f, a in of_size]
        found.append(suggestion(Learned.BUTTON, size.id, size.button_volume.base, [b for b in buttons if b is not None]))
    return tuple(one for one in found if one is not None)


PLACES: Mapping[Learned, tuple[type[Any], type[Document[Any]], str]] = {
    Learned.MINUTES: (CastingMachine, CastingMachineDocument, "minutes_per_cast"),
    Learned.MELT_LOSS: (Alloy, AlloyDocument, "melt_loss"),
    Learned.BUTTON: (FlaskSize, FlaskSizeDocument, "button_volume"),
}
"""Where the shop keeps the value that the plan uses."""


def decide(session: Session, mark: str, *, accept: bool, who: str = "", note: str = "") -> Suggestion:
    """Takes a suggestion over into the shop's own values, or refuses it; either is kept with the old value. Raises
    ``DomainError`` where the record does not suggest it any more, or the value does not fit into the shop."""
    found = next((one for one in read_record(session).suggestions if mark_of(one) == mark), None)
    if found is None:
        raise DomainError(say("Nothing was changed: the record has moved on since this page was opened. Look at it again."))
    if accept:
        _take_over(session, found)
    decision = Decision(
        what=found.what,
        subject=found.subject,
        accepted=accept,
        planned=found.planned,
        use=found.use,
        count=found.of,
        at=utc_now(),
        who=who,
        note=note.strip()[:400],
    )
    learned.decide(session, decision)
    return found


def _take_over(session: Session, one: Suggestion) -> None:
    kind, document, field = PLACES[one.what]
    stored = nouns.find_stored(session, kind, one.subject)
    if stored is None:
        raise DomainError(say("Nothing was changed: it is not in the shop any more."))
    typed = {**typed_from(document, stored.value), field: _typed(one)}
    saved = shop.change(session, stored, document, typed, stored.version)
    if not saved.done:
        words = "; ".join(f"{name}: {text}" if name else text for name, text in saved.errors.items())
        raise DomainError(say("Nothing was changed, because the shop's other values do not go with it: {words}.", words=words))


def _typed(one: Suggestion) -> str:
    """The value as its form takes it."""
    if one.what is Learned.MELT_LOSS:
        return f"{as_typed(Share(one.use), '%')} %"
    if one.what is Learned.BUTTON:
        return f"{as_typed(Volume(one.use), 'cm³')} cm³"
    return f"{one.use}"
