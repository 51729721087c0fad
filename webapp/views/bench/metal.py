"""Pattern to metal: what patterns of wax or resin weigh in each alloy of the shop."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from domain.metallurgy.pattern_metal import button_metal, charge_mass, metal_of_pattern
from domain.saying import say
from domain.shop.alloy import Alloy
from domain.shop.flask import FlaskSize
from domain.shop.pattern import PatternMaterial
from domain.shop.shop import ShopRules
from domain.units import Mass, Volume
from webapp import formats, reading
from webapp.views.bench.sheet import Answer, Bench, Sheet, Slip, Table
from webapp.views.bench.written import a_mass, a_volume, both


def pattern_to_metal(bench: Bench, typed: Mapping[str, str]) -> Slip:
    """From a pattern's or a whole tree's mass, or from a model's volume; with a flask size the charge too."""
    shop = bench.shop
    sheet = Sheet({**({"material": shop.materials[0].id} if shop.materials else {}), **typed})
    by_volume = bool(typed.get("volume", "").strip())
    mass = sheet.value(
        "pattern",
        say("Mass of the patterns"),
        say("3.97 g or 1.2 dwt; a whole tree without its base"),
        a_mass,
        needed=not by_volume,
    )
    materials = [("", tuple((m.id, m.name) for m in shop.materials))]
    material = sheet.choice("material", say("Pattern material"), materials, needed=not by_volume)
    volume = sheet.value("volume", say("Or the model's volume"), say("480 mm³ or 1.2 ml"), a_volume, needed=False)
    count = sheet.value("count", say("How many of these"), say("1 where nothing is typed"), reading.count, needed=False) or 1
    sizes = [("", tuple((s.id, s.name) for s in shop.sizes))]
    size = sheet.choice("size", say("Button for flask size"), sizes, nothing=say("no button"), needed=False)
    if mass is not None and volume is not None:
        sheet.complain("volume", say("Type either a mass or a volume, not both."))
    if not sheet.ready:
        return sheet.slip(None)
    stuff = next((m for m in shop.materials if m.id == material), None)
    base = next((s for s in shop.sizes if s.id == size), None)
    rows = tuple(_row(alloy, shop.rules, _metal(alloy, mass, stuff, volume), count, stuff, base) for alloy in shop.alloys)
    return sheet.slip(_answer(rows, count, base))


def _metal(alloy: Alloy, mass: Mass | None, material: PatternMaterial | None, volume: Volume | None) -> Mass:
    if volume is not None:
        return alloy.density.mass_of(volume)
    assert mass is not None
    assert material is not None  # a sheet that is ready has either a volume or both of these
    return metal_of_pattern(mass, material.density, alloy.density)


def _row(
    alloy: Alloy, rules: ShopRules, one: Mass, count: int, material: PatternMaterial | None, size: FlaskSize | None
) -> tuple[str, ...]:
    together = one.times(count)
    times = f"× {formats.number(Decimal(f'{float(alloy.density.over(material.density)):.2f}'))}" if material else say("by volume")
    cells = (alloy.name, _density(alloy), times, both(one))
    if size is None:
        return (*cells, both(together))
    button = button_metal(together, size, rules, alloy.density)
    return (*cells, both(together), both(button), both(charge_mass(together, button, alloy.melt_loss)))


def _density(alloy: Alloy) -> str:
    written = formats.density(alloy.density)
    return say("{density} (estimate)", density=written) if alloy.density_estimated else written


def _answer(rows: tuple[tuple[str, ...], ...], count: int, size: FlaskSize | None) -> Answer:
    heads: tuple[str, ...] = (
        say("Alloy"),
        say("Density"),
        say("Pattern times"),
        say("One"),
        say("All") if count == 1 else say("All {count}", count=count),
    )
    notes = [say("Metal is the pattern's mass times the densities' ratio, or the volume times the alloy's density.")]
    if size is None:
        notes.append(say("Sprues that were not weighed with the patterns, the button and the melt loss come on top."))
    else:
        heads = (*heads, say("Button"), say("Charge"))
        notes.append(
            say("The button is the base's volume and the shop's share of the tree; the charge is both, with the melt loss added.")
        )
    return Answer(tables=(Table(caption=say("In each alloy"), heads=heads, rows=rows),), notes=tuple(notes), cautions=("scrap",))
