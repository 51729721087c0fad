"""Investment: powder and water for a flask or a volume, and how long there is to pour it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from domain.mould.mix import InvestmentMix, mix_for
from domain.mould.tree import cylinder
from domain.saying import say
from domain.shop.investment import InvestmentKind
from domain.units import Length, Mass, Volume
from webapp import formats, reading
from webapp.views.bench.sheet import Answer, Bench, Sheet, Slip
from webapp.views.bench.written import a_length, a_volume
from webapp.ways import Investment, current


def investment(bench: Bench, typed: Mapping[str, str]) -> Slip:
    """For one of the shop's flasks, for a diameter and a height, or for a volume."""
    sheet, shop = Sheet(typed), bench.shop
    kinds = [("", tuple((k.id, k.name) for k in shop.investments))]
    chosen = sheet.choice("kind", say("Investment"), kinds)
    sizes = [("", tuple((s.id, s.name) for s in shop.sizes))]
    size = sheet.choice("size", say("Flask size"), sizes, nothing=say("as typed"), needed=False)
    diameter = sheet.value("diameter", say("Or inner diameter"), say("90 mm or 3 1/2 in"), a_length, needed=False)
    height = sheet.value("height", say("and height"), say("160 mm or 6 in"), a_length, needed=False)
    volume = sheet.value("volume", say("Or the volume to fill"), say("750 ml or 1.2 l"), a_volume, needed=False)
    tree = sheet.value(
        "tree",
        say("The tree takes"),
        say("40 ml; nothing where nothing is typed"),
        partial(reading.volume, unit="ml"),
        needed=False,
    )
    count = sheet.value("count", say("How many flasks"), say("1 where nothing is typed"), reading.count, needed=False) or 1
    flask = next(((s.inner_diameter, s.height) for s in shop.sizes if s.id == size), None)
    hollow = _hollow(sheet, flask, diameter, height, volume)
    kind = next((k for k in shop.investments if k.id == chosen), None)
    if hollow is not None and tree is not None and tree >= hollow:
        sheet.complain(
            "tree", say("The tree is not smaller than the flask, which holds {hollow}.", hollow=formats.volume(hollow, "ml", 0))
        )
    if not sheet.ready or kind is None or hollow is None:
        return sheet.slip(None)
    return sheet.slip(_answer(mix_for(hollow - (tree or Volume(0)), kind), kind, count))


def _hollow(
    sheet: Sheet, flask: tuple[Length, Length] | None, diameter: Length | None, height: Length | None, volume: Volume | None
) -> Volume | None:
    """What the mould holds, told in exactly one of three ways."""
    pair = diameter is not None or height is not None
    if sum((flask is not None, pair, volume is not None)) > 1:
        sheet.complain(
            "volume" if volume is not None else "diameter", say("Choose a flask, type its size or type a volume: only one of them.")
        )
        return None
    if flask is not None:
        return cylinder(*flask)
    if diameter is not None and height is not None:
        return cylinder(diameter, height)
    if volume is None:
        sheet.missing.append(
            say("the flask's height")
            if diameter
            else say("its inner diameter")
            if height
            else say("a flask size, or a size or volume")
        )
    return volume


def _answer(mix: InvestmentMix, kind: InvestmentKind, count: int) -> Answer:
    powder, liquid = mix.powder.times(count), mix.liquid.times(count)
    spare = formats.percent(kind.waste)
    slurry = formats.volume(mix.slurry, "ml", 0)
    facts = (
        (say("Powder"), _each(powder, mix.powder, count)),
        (formats.begun(mix.liquid_name), _each(liquid, mix.liquid, count)),
        (
            say("Slurry"),
            say("{slurry} a flask, {spare} of it to spare", slurry=slurry, spare=spare)
            if count > 1
            else say("{slurry}, {spare} of it to spare", slurry=slurry, spare=spare),
        ),
        (
            say("Poured and still by"),
            say(
                "{minutes} after powder meets {liquid}",
                minutes=formats.minutes(kind.working_minutes),
                liquid=mix.liquid_name,
            ),
        ),
        (say("Gloss-off at about"), formats.minutes(kind.gloss_off_minutes)),
        (say("Then rests"), say("{minutes} before burnout", minutes=formats.minutes(kind.bench_set_minutes))),
    )
    notes = [
        say(
            "By the ratio and the yield kept for {kind}; the supplier's sheet comes first. Powder into {liquid}.",
            kind=kind.name,
            liquid=mix.liquid_name,
        )
    ]
    if count > 1:
        notes.append(
            say("One batch must be mixed, vacuumed and poured within the working time: several flasks may be several batches.")
        )
    return Answer(facts=facts, notes=tuple(notes), cautions=("silica", *(("phosphate",) if kind.bond == "phosphate" else ())))


def _each(together: Mass, one: Mass, count: int) -> str:
    if count == 1:
        return _amount(together)
    return say("{together}, {one} a flask", together=_amount(together), one=_amount(one))


def _amount(mass: Mass) -> str:
    heavy = mass >= Mass.of(1, "kg") and current().investment is Investment.G
    return formats.mass(mass, "kg") if heavy else formats.bulk(mass)
