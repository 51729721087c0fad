"""Rule 9: the metal of every charge is there at its slot, and gives the alloy."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from domain.planning.checking import arithmetic
from domain.planning.checking.case import Case, Violation, grams, iso_date, pieces_of
from domain.planning.plan import ChargePart, FlaskCharge, From, PlannedFlask
from domain.planning.problem import Melt
from domain.saying import say
from domain.shop.alloy import Alloy
from domain.shop.lots import Lot, MetalKind
from domain.units import Mass, Share

ROUNDING = 2
"""milligrams by which two ways to round what comes back may differ"""


STEPS_OVER = 65
"""steps of the scale by which a charge may be over what is asked, so that whole steps keep the alloy"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Metal:
    """Metal as it lies: ``shares`` of each element, how often it was melted here."""

    shares: Mapping[str, Fraction]
    melts: int
    recycled: bool


def shelf_reaches(case: Case) -> Iterator[Violation]:
    """Rule 9: what is cast before ordered metal can be here is no more than the shelf can make."""
    for melt in case.problem.melts:
        early = [f for f in case.plan.flasks if f.melt == melt.key and _from_shelf(case, f, melt)]
        charged = Mass(sum(f.charge.base for f in early))
        if charged > melt.stock_castable and any(case.is_free(f) for f in early):
            until = say(" before {when}", when=case.when(melt.order_from)) if melt.order_from is not None else ""
            taken, makes, names = grams(charged), grams(melt.stock_castable), ", ".join(f.id for f in early)
            text = say(
                "flasks of {key} cast{until} take {taken}, the shelf can make {makes}: {names}",
                key=melt.key,
                until=until,
                taken=taken,
                makes=makes,
                names=names,
            )
            yield Violation(rule=9, where=f"metal {melt.key}", message=text)


def _from_shelf(case: Case, flask: PlannedFlask, melt: Melt) -> bool:
    """Whether the flask's metal is still on the shelf and cannot wait for an order."""
    return case.problem.on_shelf(flask) and (melt.order_from is None or flask.cast_start < melt.order_from)


def charges_hold(case: Case) -> Iterator[Violation]:
    """Rule 9: each flask has one charge that weighs what it must and gives the alloy."""
    by_flask: dict[str, FlaskCharge] = {}
    for charge in case.plan.charges:
        if charge.flask not in case.flask:
            yield _charge(charge.flask, say("a charge is planned for flask {flask}, which is not in the plan", flask=charge.flask))
        if charge.flask in by_flask:
            yield _charge(charge.flask, say("flask {flask} has more than one charge", flask=charge.flask))
        by_flask[charge.flask] = charge
    poured: dict[str, Metal] = {}
    for flask in sorted(case.plan.flasks, key=lambda f: f.cast_start):
        if flask.id in by_flask and _seen(case, flask, by_flask[flask.id]):
            continue
        if flask.id in by_flask:
            yield from _one_charge(case, flask, by_flask[flask.id], poured)
        elif case.is_free(flask):
            yield _charge(flask.id, say("flask {flask} has no charge", flask=flask.id))


def _seen(case: Case, flask: PlannedFlask, charge: FlaskCharge) -> bool:
    """Whether the charge has passed before and neither uses what another gave back nor gives back to one."""
    return (
        case.stands(flask, charge) and flask.id not in case.gives_back and all(p.origin is not From.RETURNS for p in charge.parts)
    )


def _charge(flask: str, text: str) -> Violation:
    return Violation(rule=9, where=f"flask {flask}", message=text)


def _one_charge(case: Case, flask: PlannedFlask, charge: FlaskCharge, poured: dict[str, Metal]) -> Iterator[Violation]:
    """Looks at one charge and puts down in ``poured`` what comes out of its melt, where all is known."""
    melt = case.problem.melt.get(flask.melt)
    if melt is None:
        return
    parts = [(part, _metal_of(case, part, poured)) for part in charge.parts]
    known = [(part.mass.base, metal) for part, metal in parts if metal is not None and part.mass.base > 0]
    whole = bool(known) and len(known) == len(parts)
    if whole:
        poured[flask.id] = _melted(melt.alloy, known)
    if not case.is_free(flask):
        return
    texts = [*_weight(case, flask, charge), *_sources(case, flask, melt, charge.parts)]
    texts += [
        say("flask {flask}: nobody knows what {ref} is made of", flask=flask.id, ref=part.ref)
        for part, metal in parts
        if metal is None
    ]
    if whole:
        texts += [*_in_range(flask, melt.alloy, poured[flask.id]), *_recycled(flask, melt, known)]
    yield from (_charge(flask.id, text) for text in texts)


def _weight(case: Case, flask: PlannedFlask, charge: FlaskCharge) -> Iterator[str]:
    weighed = Mass(sum(part.mass.base for part in charge.parts))
    most = flask.charge.base + STEPS_OVER * case.problem.rules.scale_step.base
    if not flask.charge.base <= weighed.base <= most:
        yield say(
            "the parts of flask {flask}'s charge weigh {weighed}, the charge is {charge}",
            flask=flask.id,
            weighed=grams(weighed),
            charge=grams(flask.charge),
        )
    for part in charge.parts:
        if part.mass.base <= 0:
            yield say("flask {flask} is to take {mass} of {ref}", flask=flask.id, mass=grams(part.mass), ref=part.ref)


def _sources(case: Case, flask: PlannedFlask, melt: Melt, parts: tuple[ChargePart, ...]) -> Iterator[str]:
    """A customer's own metal goes into its own melt, alone."""
    lots = {lot.id: lot for lot in case.problem.lots}
    owned = {m.own_lot for m in case.problem.melts if m.own_lot}
    for part in parts:
        if part.origin is From.RETURNS:
            yield from _returns(case, flask, melt, part)
        elif melt.own_lot and (part.origin is not From.LOT or part.ref != melt.own_lot):
            yield say(
                "flask {flask} is cast from the customer's own lot {own_lot}, {ref} may not be blended in",
                flask=flask.id,
                own_lot=melt.own_lot,
                ref=part.ref,
            )
        elif part.origin is From.LOT and part.ref != melt.own_lot:
            lot = lots.get(part.ref)
            if part.ref in owned or (lot and lot.owner_job):
                yield say("flask {flask} takes from lot {ref}, which is a customer's own metal", flask=flask.id, ref=part.ref)
        if part.origin is From.LOT and part.ref in lots:
            yield from _is_here(case, flask, lots[part.ref])


def _is_here(case: Case, flask: PlannedFlask, lot: Lot) -> Iterator[str]:
    if lot.arrives and case.day(flask.cast_start) < (iso_date(lot.arrives) or date.max):
        yield say(
            "flask {flask} is cast {when}, lot {lot} arrives {arrives}",
            flask=flask.id,
            when=case.when(flask.cast_start),
            lot=lot.id,
            arrives=lot.arrives,
        )


def _returns(case: Case, flask: PlannedFlask, melt: Melt, part: ChargePart) -> Iterator[str]:
    source = case.flask.get(part.ref)
    if source is None:
        yield say("flask {flask} uses what flask {ref} returns, which is not in the plan", flask=flask.id, ref=part.ref)
        return
    clean = source.cast_end + case.problem.rules.clean_minutes
    if flask.cast_start < clean or source.id == flask.id:
        yield say(
            "flask {flask} is cast {when}, returns of flask {source} are clean {when2}",
            flask=flask.id,
            when=case.when(flask.cast_start),
            source=source.id,
            when2=case.when(clean),
        )
    given = case.problem.melt.get(source.melt)
    if given is None or given.alloy.id != melt.alloy.id:
        yield say(
            "flask {flask} is {melt}, the returns of flask {source} are {melt2}",
            flask=flask.id,
            melt=flask.melt,
            source=source.id,
            melt2=source.melt,
        )
    elif given.own_lot != melt.own_lot:
        yield say(
            "the returns of flask {source} belong to another owner than flask {flask}'s metal", source=source.id, flask=flask.id
        )


def _metal_of(case: Case, part: ChargePart, poured: Mapping[str, Metal]) -> Metal | None:
    if part.origin is From.RETURNS:
        return poured.get(part.ref)
    if part.origin is From.ORDER:
        bought = next((m for m in case.problem.shop.metals if m.id == part.ref), None)
        return Metal(shares=_fractions(bought.composition), melts=0, recycled=False) if bought else None
    lot = next((known for known in case.problem.lots if known.id == part.ref), None)
    if lot is None:
        return None
    return Metal(shares=_fractions(lot.composition), melts=lot.melts, recycled=lot.kind is MetalKind.RECYCLED or lot.melts > 0)


def _fractions(composition: Mapping[str, Share]) -> dict[str, Fraction]:
    return {element: Fraction(share.base, arithmetic.MILLION) for element, share in composition.items()}


def _melted(alloy: Alloy, parts: list[tuple[int, Metal]]) -> Metal:
    """What the melt gives: each element less its own loss, as a share of what is left."""
    masses: dict[str, Fraction] = {}
    for mass, metal in parts:
        for element, share in metal.shares.items():
            masses[element] = masses.get(element, Fraction(0)) + mass * share
    for element, loss in alloy.losses.items():
        if element in masses:
            masses[element] *= Fraction(arithmetic.MILLION - loss.base, arithmetic.MILLION)
    left = sum(masses.values())
    shares = {element: mass / left for element, mass in masses.items()} if left > 0 else {}
    return Metal(shares=shares, melts=1 + max(metal.melts for _, metal in parts), recycled=True)


def _in_range(flask: PlannedFlask, alloy: Alloy, metal: Metal) -> Iterator[str]:
    ranges = {r.element: (r.low.base, r.high.base) for r in alloy.composition}
    for element in sorted(ranges.keys() | metal.shares.keys()):
        low, high = ranges.get(element, (0, 0))
        share = metal.shares.get(element, Fraction(0)) * arithmetic.MILLION
        if not low <= share <= high:
            span = say("{low} to {high} ‰", low=_permille(Fraction(low)), high=_permille(Fraction(high)))
            yield say(
                "flask {flask} comes out with {share} ‰ {element}, {alloy} has {span}",
                flask=flask.id,
                share=_permille(share),
                element=element,
                alloy=alloy.name,
                span=span,
            )
    standard = alloy.standard
    if standard:
        share = metal.shares.get(standard.element, Fraction(0)) * arithmetic.MILLION
        if share < standard.minimum.base:
            least = _permille(Fraction(standard.minimum.base))
            yield say(
                "flask {flask} comes out at {share} ‰ {element}, under the fineness of {least} ‰",
                flask=flask.id,
                share=_permille(share),
                element=standard.element,
                least=least,
            )


def _permille(ppm: Fraction) -> str:
    """Four decimals, so that what is just under a limit does not read as the limit."""
    return f"{float(ppm / 1000):.4f}".rstrip("0").rstrip(".")


def _recycled(flask: PlannedFlask, melt: Melt, parts: list[tuple[int, Metal]]) -> Iterator[str]:
    """A customer's own metal is never blended, so no share of it is too much; its melts still count."""
    alloy = melt.alloy
    whole, old = sum(mass for mass, _ in parts), sum(mass for mass, metal in parts if metal.recycled)
    if melt.own_lot is None and old * arithmetic.MILLION > alloy.recycled_limit.base * whole:
        percent = f"{float(Fraction(old * 100, whole)):.2f} %"
        limit = f"{float(alloy.recycled_limit.to('%')):g} %"
        yield say(
            "flask {flask} takes {percent} recycled metal, {alloy} allows {limit}",
            flask=flask.id,
            percent=percent,
            alloy=alloy.name,
            limit=limit,
        )
    for _, metal in parts:
        if metal.recycled and metal.melts >= alloy.melts_limit:
            limit = say("{alloy} allows fewer than {melts_limit}", alloy=alloy.name, melts_limit=alloy.melts_limit)
            yield say(
                "flask {flask} takes metal that was melted {melts} times, {limit}", flask=flask.id, melts=metal.melts, limit=limit
            )


def lots_suffice(case: Case) -> Iterator[Violation]:
    """Rule 9: no lot, and no flask's returns, are promised twice."""
    drawn: dict[tuple[From, str], int] = {}
    for charge in case.plan.charges:
        flask = case.flask.get(charge.flask)
        gone = flask is not None and flask.cast_start < case.problem.now and not case.is_free(flask)
        if flask is None or gone or flask.id in case.problem.weighed:
            continue  # its metal has left the shelf already
        for part in charge.parts:
            drawn[part.origin, part.ref] = drawn.get((part.origin, part.ref), 0) + max(0, part.mass.base)
    lots = {lot.id: lot for lot in case.problem.lots}
    for (origin, ref), mass in drawn.items():
        if origin is From.LOT and ref in lots and mass > lots[ref].mass.base:
            text = say(
                "charges take {mass} from lot {ref}, {mass2} are there",
                mass=grams(Mass(mass)),
                ref=ref,
                mass2=grams(lots[ref].mass),
            )
            yield Violation(rule=9, where=f"lot {ref}", message=text)
        if origin is From.RETURNS and ref in case.flask:
            yield from _gives_back(case, case.flask[ref], mass)


def _gives_back(case: Case, flask: PlannedFlask, drawn: int) -> Iterator[Violation]:
    """Back come trunk, button and feeds: what was poured, less the melt loss, less the castings."""
    melt = case.problem.melt.get(flask.melt)
    if melt is None:
        return
    weighed = sum(p.mass.base for c in case.plan.charges if c.flask == flask.id for p in c.parts)
    poured = Fraction(max(weighed, flask.charge.base) * (arithmetic.MILLION - melt.alloy.melt_loss.base), arithmetic.MILLION)
    feed = arithmetic.feed(case.problem.rules, melt.alloy)
    jobs = case.problem.job
    castings = sum(n * (jobs[job].metal_each.base - feed) for job, n in pieces_of(flask) if job in jobs)
    if drawn > poured - castings + ROUNDING:
        back = grams(Mass(int(poured - castings)))
        yield _charge(
            flask.id,
            say(
                "charges take {drawn} of what flask {flask} returns, {back} come back",
                drawn=grams(Mass(drawn)),
                flask=flask.id,
                back=back,
            ),
        )
