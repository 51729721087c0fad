"""The shop's nouns as its pages show them: words, documents, and the columns of each list."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from domain.shop.alloy import Alloy, Section
from domain.shop.burnout import BurnoutProgram, Kiln, Outage
from domain.shop.casting import CastingMachine, Person
from domain.shop.consumables import Consumable
from domain.shop.flask import FlaskSize
from domain.shop.investment import InvestmentKind
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
    return "yes" if value else "no"


def _alloy(a: Alloy) -> Cells:
    flask = formats.temperature_range(a.flask_temperature[Section.MEDIUM])
    standard = f"{a.standard.element} {formats.fineness(a.standard.minimum)}" if a.standard else "none"
    return (a.name, a.family, standard, formats.density(a.density), formats.temperature_range(a.pour), flask)


def _size(s: FlaskSize) -> Cells:
    trunk = formats.length(s.trunk_diameter)
    ring = f"{formats.length(s.inner_diameter)} × {formats.length(s.height)}"
    return (s.name, ring, "perforated" if s.perforated else "solid", str(s.owned), trunk, formats.volume(s.button_volume))


def _program(p: BurnoutProgram) -> Cells:
    return (p.name, str(len(p.segments)), formats.minutes(p.minutes), formats.temperature(p.peak), ", ".join(sorted(p.bonds)))


def _kiln(k: Kiln) -> Cells:
    floor = f"{formats.length(k.width)} × {formats.length(k.depth)}"
    return (k.name, floor, formats.length(k.height), formats.temperature(k.top_temperature), _yes(k.in_service), _yes(k.unattended))


def _machine(m: CastingMachine) -> Cells:
    limits = f"{formats.mass(m.crucible_mass)}, {formats.volume(m.crucible_volume)}"
    return (m.name, m.kind, m.heat, limits, formats.minutes(m.minutes_per_cast), _yes(m.in_service))


def _investment(i: InvestmentKind) -> Cells:
    return (
        i.name,
        i.bond,
        f"{formats.percent(i.water)} {i.liquid}",
        formats.minutes(i.bench_set_minutes),
        formats.temperature(i.peak),
    )


def _person(p: Person) -> Cells:
    shifts = ", ".join(f"{s.day} {formats.time_of_day(s.opens)}–{formats.time_of_day(s.closes)}" for s in p.shifts)
    return (p.name, _yes(p.casts), shifts or "none", _days(p.away) or "none")


def _days(outages: tuple[Outage, ...]) -> str:
    return ", ".join(f"{formats.day(o.first)} to {formats.day(o.last)}" for o in outages)


def _metal(m: Metal) -> Cells:
    lead = "not sold to this shop" if m.lead_days is None else formats.count(m.lead_days, "working day")
    price = f"{formats.number(m.price.decimal('unit', 2))} for {formats.mass(m.price_mass)}"
    return (m.name, m.kind, lead, formats.mass(m.pack), price)


def _lot(lot: Lot) -> Cells:
    where = f"expected {formats.day(lot.arrives)}" if lot.arrives else "on the shelf"
    owner = f"customer's, for job {lot.owner_job}" if lot.owner_job else "the shop's"
    return (lot.name, lot.kind, formats.mass(lot.mass), str(lot.melts), where, owner)


def _powder(p: Powder) -> Cells:
    return (p.investment, formats.bulk(p.mass, 2), formats.count(p.lead_days, "working day"), formats.bulk(p.pack, 2))


def _consumable(c: Consumable) -> Cells:
    use = f"{formats.amount(c.use, c.unit)} per {c.per}"
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
        one="alloy",
        many="Alloys",
        about="What the shop casts: composition, temperatures, limits on recycled metal.",
        kind=Alloy,
        document=AlloyDocument,
        heads=("Alloy", "Crucible family", "Standard", "Density", "Pour", "Flask, medium"),
        cells=_alloy,
    ),
    Noun(
        slug="metals",
        one="metal to buy",
        many="Metals to buy",
        about="Fine metals, master alloys and grain, with the supplier's lead time, pack and price.",
        kind=Metal,
        document=MetalDocument,
        heads=("Metal", "Kind", "Lead time", "Pack", "Price"),
        cells=_metal,
    ),
    Noun(
        slug="lots",
        one="metal lot",
        many="Metal lots",
        about="Containers on the shelf and deliveries on their way. The balance has its ledger.",
        kind=Lot,
        document=LotDocument,
        heads=("Lot", "Kind", "Left", "Melts", "Where", "Whose"),
        cells=_lot,
        keeps=frozenset({"mass"}),
    ),
    Noun(
        slug="powders",
        one="investment powder",
        many="Investment powder",
        about="Powder on the shelf by investment kind, with lead time and pack.",
        kind=Powder,
        document=PowderDocument,
        heads=("Investment", "Left", "Lead time", "Pack"),
        cells=_powder,
        keeps=frozenset({"mass", "investment"}),
    ),
    Noun(
        slug="consumables",
        one="consumable",
        many="Other consumables",
        about="Crucibles, flux, gas, wax wire, gloves: what a flask, a kiln load or a cast uses up.",
        kind=Consumable,
        document=ConsumableDocument,
        heads=("Consumable", "Left", "Use", "Pack", "Lead time"),
        cells=_consumable,
        keeps=frozenset({"amount", "unit"}),
    ),
    Noun(
        slug="materials",
        one="pattern material",
        many="Pattern materials",
        about="Waxes and resins: density, and what removes them.",
        kind=PatternMaterial,
        document=PatternMaterialDocument,
        heads=("Material", "Density", "Burnout at least", "Peak at least"),
        cells=lambda m: (
            m.name,
            formats.density(m.density),
            formats.minutes(m.burnout_minutes),
            formats.temperature(m.burnout_peak),
        ),
    ),
    Noun(
        slug="flask-sizes",
        one="flask size",
        many="Flask sizes and sprue bases",
        about="The rings that the shop owns, each with the sprue base that closes it.",
        kind=FlaskSize,
        document=FlaskSizeDocument,
        heads=("Size", "Diameter × height", "Steel", "Owned", "Trunk", "Button"),
        cells=_size,
    ),
    Noun(
        slug="investments",
        one="investment kind",
        many="Investment kinds",
        about="Mixing ratio, yield, working time, bench set.",
        kind=InvestmentKind,
        document=InvestmentKindDocument,
        heads=("Investment", "Bond", "Liquid", "Bench set", "Breaks down above"),
        cells=_investment,
    ),
    Noun(
        slug="programs",
        one="burnout program",
        many="Burnout programs",
        about="Segments up to the end of the burn; the soak at flask temperature follows by itself.",
        kind=BurnoutProgram,
        document=BurnoutProgramDocument,
        heads=("Program", "Segments", "Takes", "Peak", "For"),
        cells=_program,
    ),
    Noun(
        slug="kilns",
        one="kiln",
        many="Kilns",
        about="Floor, height, top temperature; days out of service.",
        kind=Kiln,
        document=KilnDocument,
        heads=("Kiln", "Floor", "Height", "Top", "In service", "Unattended"),
        cells=_kiln,
    ),
    Noun(
        slug="machines",
        one="casting machine",
        many="Casting machines",
        about="What they take, crucible limits, minutes for each cast; days out of service.",
        kind=CastingMachine,
        document=CastingMachineDocument,
        heads=("Machine", "Kind", "Heat", "Crucible", "Each cast", "In service"),
        cells=_machine,
    ),
    Noun(
        slug="people",
        one="person",
        many="People and shifts",
        about="Who casts, working hours, holidays and illness.",
        kind=Person,
        document=PersonDocument,
        heads=("Person", "Casts", "Hours", "Away"),
        cells=_person,
    ),
    Noun(
        slug="closures",
        one="closure",
        many="Closures",
        about="Days on which the whole shop is closed.",
        kind=Outage,
        document=OutageDocument,
        heads=("From", "To", "Why"),
        cells=lambda o: (formats.long_day(o.first), formats.long_day(o.last), o.reason),
    ),
    Noun(
        slug="rules",
        one="shop rules",
        many="Shop rules",
        about="Gaps on the tree, times, overtime, how far a plan looks ahead, currency and time zone.",
        kind=ShopRules,
        document=ShopRulesDocument,
        heads=("Time zone", "Looks ahead", "Overtime at most", "Currency"),
        cells=lambda r: (r.timezone, formats.count(r.horizon_days, "day"), formats.minutes(r.overtime_minutes), r.currency),
    ),
)

BY_SLUG = {noun.slug: noun for noun in NOUNS}
