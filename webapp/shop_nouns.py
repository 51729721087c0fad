"""The shop's nouns as its pages show them: words, documents, and the columns of each list."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from domain.saying import listed, say
from domain.shop.alloy import Alloy, Section
from domain.shop.burnout import BurnoutProgram, Kiln, Outage
from domain.shop.casting import CastingMachine, Person
from domain.shop.consumables import Consumable
from domain.shop.flask import FlaskSize
from domain.shop.investment import LIQUIDS, InvestmentKind
from domain.shop.lots import Lot, Metal, Powder
from domain.shop.pattern import PatternMaterial
from domain.shop.shop import ShopRules
from webapp import formats
from webapp.exchange.documents import (
    AlloyDocument,
    BurnoutProgramDocument,
    CastingMachineDocument,
    ConsumableDocument,
    Document,
    FlaskSizeDocument,
    InvestmentKindDocument,
    KilnDocument,
    LotDocument,
    MetalDocument,
    OutageDocument,
    PatternMaterialDocument,
    PersonDocument,
    PowderDocument,
    ShopRulesDocument,
)
from webapp.forms.options import word_of

Cells = tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Noun:
    """``cells``: what a list shows of one, under ``heads``. ``keeps``: fields that a form does not
    change once the thing is there (a balance has its ledger)."""

    slug: str
    one: str
    many: str
    about: str
    kind: type[Any]
    document: type[Document[Any]]
    heads: Cells
    cells: Callable[[Any], Cells]
    keeps: frozenset[str] = frozenset()

    @property
    def single(self) -> bool:
        return self.kind is ShopRules

    @property
    def in_stock(self) -> bool:
        return self.kind in (Lot, Powder, Consumable)


def _yes(value: bool) -> str:
    return say("yes") if value else say("no")


def _alloy(a: Alloy) -> Cells:
    flask = formats.temperature_range(a.flask_temperature[Section.MEDIUM])
    standard = f"{a.standard.element} {formats.fineness(a.standard.minimum)}" if a.standard else say("none")
    return (a.name, word_of(a.family), standard, formats.density(a.density), formats.temperature_range(a.pour), flask)


def _size(s: FlaskSize) -> Cells:
    trunk = formats.length(s.trunk_diameter)
    ring = f"{formats.length(s.inner_diameter)} × {formats.length(s.height)}"
    return (s.name, ring, say("perforated") if s.perforated else say("solid"), str(s.owned), trunk, formats.volume(s.button_volume))


def _program(p: BurnoutProgram) -> Cells:
    bonds = listed(word_of(bond) for bond in sorted(p.bonds))
    return (
        p.name,
        str(len(p.segments)),
        formats.minutes(p.minutes),
        formats.temperature(p.peak),
        bonds,
    )


def _kiln(k: Kiln) -> Cells:
    floor = f"{formats.length(k.width)} × {formats.length(k.depth)}"
    return (k.name, floor, formats.length(k.height), formats.temperature(k.top_temperature), _yes(k.in_service), _yes(k.unattended))


def _machine(m: CastingMachine) -> Cells:
    limits = f"{formats.mass(m.crucible_mass)}, {formats.volume(m.crucible_volume)}"
    return (m.name, word_of(m.kind), word_of(m.heat), limits, formats.minutes(m.minutes_per_cast), _yes(m.in_service))


def _investment(i: InvestmentKind) -> Cells:
    return (
        i.name,
        word_of(i.bond),
        say("{water} {liquid}", water=formats.percent(i.water), liquid=LIQUIDS.get(i.liquid, i.liquid)),
        formats.minutes(i.bench_set_minutes),
        formats.temperature(i.peak),
    )


def _person(p: Person) -> Cells:
    shifts = listed(
        say("{day} {opens}–{closes}", day=word_of(s.day), opens=formats.time_of_day(s.opens), closes=formats.time_of_day(s.closes))
        for s in p.shifts
    )
    return (p.name, _yes(p.casts), shifts or say("none"), _days(p.away) or say("none"))


def _days(outages: tuple[Outage, ...]) -> str:
    return listed(say("{first} to {last}", first=formats.day(o.first), last=formats.day(o.last)) for o in outages)


def _metal(m: Metal) -> Cells:
    lead = say("not sold to this shop") if m.lead_days is None else formats.count(m.lead_days, "working day")
    price = say("{price} for {mass}", price=formats.number(m.price.decimal("unit", 2)), mass=formats.mass(m.price_mass))
    return (m.name, word_of(m.kind), lead, formats.mass(m.pack), price)


def _lot(lot: Lot) -> Cells:
    where = say("expected {day}", day=formats.day(lot.arrives)) if lot.arrives else say("on the shelf")
    owner = say("customer's, for job {job}", job=lot.owner_job) if lot.owner_job else say("the shop's")
    return (lot.name, word_of(lot.kind), formats.mass(lot.mass), str(lot.melts), where, owner)


def _powder(p: Powder) -> Cells:
    return (p.investment, formats.bulk(p.mass, 2), formats.count(p.lead_days, "working day"), formats.bulk(p.pack, 2))


def _consumable(c: Consumable) -> Cells:
    use = say("{amount} per {use}", amount=formats.amount(c.use, c.unit), use=word_of(c.per))
    return (
        c.name,
        formats.amount(c.amount, c.unit),
        use,
        formats.amount(c.pack, c.unit),
        formats.count(c.lead_days, "working day"),
    )


NOUNS = (
    Noun(
        slug="alloys",
        one=say("alloy"),
        many=say("Alloys"),
        about=say("What the shop casts: composition, temperatures, limits on recycled metal."),
        kind=Alloy,
        document=AlloyDocument,
        heads=(say("Alloy"), say("Crucible family"), say("Standard"), say("Density"), say("Pour"), say("Flask, medium")),
        cells=_alloy,
    ),
    Noun(
        slug="metals",
        one=say("metal to buy"),
        many=say("Metals to buy"),
        about=say("Fine metals, master alloys and grain, with the supplier's lead time, pack and price."),
        kind=Metal,
        document=MetalDocument,
        heads=(say("Metal"), say("Kind"), say("Lead time"), say("Pack"), say("Price")),
        cells=_metal,
    ),
    Noun(
        slug="lots",
        one=say("metal lot"),
        many=say("Metal lots"),
        about=say("Containers on the shelf and deliveries on their way. The balance has its ledger."),
        kind=Lot,
        document=LotDocument,
        heads=(say("Lot"), say("Kind"), say("Left"), say("Melts"), say("Where"), say("Whose")),
        cells=_lot,
        keeps=frozenset({"mass"}),
    ),
    Noun(
        slug="powders",
        one=say("investment powder"),
        many=say("Investment powder"),
        about=say("Powder on the shelf by investment kind, with lead time and pack."),
        kind=Powder,
        document=PowderDocument,
        heads=(say("Investment"), say("Left"), say("Lead time"), say("Pack")),
        cells=_powder,
        keeps=frozenset({"mass", "investment"}),
    ),
    Noun(
        slug="consumables",
        one=say("consumable"),
        many=say("Other consumables"),
        about=say("Crucibles, flux, gas, wax wire, gloves: what a flask, a kiln load or a cast uses up."),
        kind=Consumable,
        document=ConsumableDocument,
        heads=(say("Consumable"), say("Left"), say("Use"), say("Pack"), say("Lead time")),
        cells=_consumable,
        keeps=frozenset({"amount", "unit"}),
    ),
    Noun(
        slug="materials",
        one=say("pattern material"),
        many=say("Pattern materials"),
        about=say("Waxes and resins: density, and what removes them."),
        kind=PatternMaterial,
        document=PatternMaterialDocument,
        heads=(say("Material"), say("Density"), say("Burnout at least"), say("Peak at least")),
        cells=lambda m: (
            m.name,
            formats.density(m.density),
            formats.minutes(m.burnout_minutes),
            formats.temperature(m.burnout_peak),
        ),
    ),
    Noun(
        slug="flask-sizes",
        one=say("flask size"),
        many=say("Flask sizes and sprue bases"),
        about=say("The rings that the shop owns, each with the sprue base that closes it."),
        kind=FlaskSize,
        document=FlaskSizeDocument,
        heads=(say("Size"), say("Diameter × height"), say("Steel"), say("Owned"), say("Trunk"), say("Button")),
        cells=_size,
    ),
    Noun(
        slug="investments",
        one=say("investment kind"),
        many=say("Investment kinds"),
        about=say("Mixing ratio, yield, working time, bench set."),
        kind=InvestmentKind,
        document=InvestmentKindDocument,
        heads=(say("Investment"), say("Bond"), say("Liquid"), say("Bench set"), say("Breaks down above")),
        cells=_investment,
    ),
    Noun(
        slug="programs",
        one=say("burnout program"),
        many=say("Burnout programs"),
        about=say("Segments up to the end of the burn; the soak at flask temperature follows by itself."),
        kind=BurnoutProgram,
        document=BurnoutProgramDocument,
        heads=(say("Program"), say("Segments"), say("Takes"), say("Peak"), say("For")),
        cells=_program,
    ),
    Noun(
        slug="kilns",
        one=say("kiln"),
        many=say("Kilns"),
        about=say("Floor, height, top temperature; days out of service."),
        kind=Kiln,
        document=KilnDocument,
        heads=(say("Kiln"), say("Floor"), say("Height"), say("Top"), say("In service"), say("Unattended")),
        cells=_kiln,
    ),
    Noun(
        slug="machines",
        one=say("casting machine"),
        many=say("Casting machines"),
        about=say("What they take, crucible limits, minutes for each cast; days out of service."),
        kind=CastingMachine,
        document=CastingMachineDocument,
        heads=(say("Machine"), say("Kind"), say("Heat"), say("Crucible"), say("Each cast"), say("In service")),
        cells=_machine,
    ),
    Noun(
        slug="people",
        one=say("person"),
        many=say("People and shifts"),
        about=say("Who casts, working hours, holidays and illness."),
        kind=Person,
        document=PersonDocument,
        heads=(say("Person"), say("Casts"), say("Hours"), say("Away")),
        cells=_person,
    ),
    Noun(
        slug="closures",
        one=say("closure"),
        many=say("Closures"),
        about=say("Days on which the whole shop is closed."),
        kind=Outage,
        document=OutageDocument,
        heads=(say("From"), say("To"), say("Why")),
        cells=lambda o: (formats.long_day(o.first), formats.long_day(o.last), o.reason),
    ),
    Noun(
        slug="rules",
        one=say("shop rules"),
        many=say("Shop rules"),
        about=say("Gaps on the tree, times, overtime, how far a plan looks ahead, currency and time zone."),
        kind=ShopRules,
        document=ShopRulesDocument,
        heads=(say("Time zone"), say("Looks ahead"), say("Overtime at most"), say("Currency")),
        cells=lambda r: (r.timezone, formats.count(r.horizon_days, "day"), formats.minutes(r.overtime_minutes), r.currency),
    ),
)

BY_SLUG = {noun.slug: noun for noun in NOUNS}
