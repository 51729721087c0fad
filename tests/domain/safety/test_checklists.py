"""Checklists and cautions depend on the flask.

Figures, each with its paragraph: 29 CFR 1910.133(a)(5) filter shades (torch soldering 2, torch brazing 3,
gas welding light 4, medium 5, heavy 6); 1910.253(a)(2) acetylene 15 psig (103 kPa); 1910.253(b)(4)(iii)
20 ft (6.1 m) or a barrier 5 ft high; 1910.252(a)(2)(iii) 35 ft and half an hour; 1910.1053 silica 50 and
25 µg/m³; 1910.1027 cadmium 5 µg/m³. Draper point 525 °C. Conversions: 1 ft = 0.3048 m, 1 psi = 6894.757 Pa.
"""

import re
import tomllib
from dataclasses import replace
from functools import cache
from importlib.resources import files
from itertools import product

import pytest
from scipy import constants

from domain.mould.mix import investment_mix
from domain.safety.checklist import MOST_POINTS, STANDING_CAUTION, Pause, Point, Reading, cautions_for, checklist, pause_title
from domain.safety.context import CONDITIONS, FlaskContext, flask_context
from domain.shop.alloy import Bond, CoolingMethod, CoolingRule, Heat
from domain.shop.casting import MachineKind
from domain.sources import Mark
from domain.starting.alloys import starting_alloys
from domain.starting.machines import starting_machines
from domain.starting.mould import starting_investments, starting_materials, starting_sizes
from domain.units import Mass, Temperature, TemperatureRange, Volume

CAUTIONS = ("zinc fume", "nickel", "copper-rich", "platinum glare", "palladium")
QUENCH = CoolingRule(method=CoolingMethod.QUENCH, wait_minutes=12)
WINDOW = replace(QUENCH, not_above=Temperature.c(480), not_below=Temperature.c(300))
AIR = CoolingRule(method=CoolingMethod.AIR, wait_minutes=30)
SILVER = FlaskContext(
    alloy="Silver 925",
    alloy_cautions=frozenset(),
    heat=Heat.TORCH,
    machine=MachineKind.CENTRIFUGE,
    fume=False,
    bond=Bond.GYPSUM,
    advised_against=False,
    liquid="water",
    size="3 × 4 in",
    large=False,
    people=1,
    pour=TemperatureRange.c(950, 980),
    flask_temperature=Temperature.c(540),
    charge=Mass.g(120),
    powder=Mass.g(644),
    cooling=QUENCH,
)


@cache
def every_context() -> list[FlaskContext]:
    some = [frozenset(c for c, on in zip(CAUTIONS, bits, strict=True) if on) for bits in product((False, True), repeat=5)]
    yes_no = (False, True)
    return [
        replace(SILVER, heat=h, machine=m, bond=b, fume=f, large=g, people=p, cooling=c, alloy_cautions=a, advised_against=f)
        for h, m, b, f, g, p, c, a in product(Heat, MachineKind, Bond, yes_no, yes_no, (1, 2), (QUENCH, WINDOW, AIR), some)
    ]


@cache
def every_checklist() -> list[tuple[Pause, FlaskContext, tuple[Point, ...]]]:
    return [(pause, context, checklist(pause, context)) for context in every_context() for pause in Pause]


def ids(pause: Pause, context: FlaskContext) -> list[str]:
    return [p.id for p in checklist(pause, context)]


def text_of(pause: Pause, context: FlaskContext) -> str:
    return " ".join(f"{p.text} {p.why}" for p in checklist(pause, context))


def point(pause: Pause, context: FlaskContext, point_id: str) -> Point:
    return next(p for p in checklist(pause, context) if p.id == point_id)


def test_no_pause_of_any_flask_has_more_points_than_are_read() -> None:
    for pause, context, points in every_checklist():
        assert 3 <= len(points) <= MOST_POINTS, (pause, context, [p.id for p in points])
        assert sum(p.required for p in points) >= 3


def test_points_are_short_and_each_has_a_reason_and_a_source() -> None:
    seen = {p.id: p for _, _, points in every_checklist() for p in points}
    for p in seen.values():
        assert len(p.text) < 90, p.id
        assert p.why
        assert "{" not in p.text
        assert (p.unit is None) is (p.reading is Reading.NONE)
        if p.source.mark is Mark.PUBLISHED:
            assert re.search(r"29 CFR 1910\.\d+|Draper", p.source.note), p.id


def test_every_row_applies_to_some_flask_and_knows_only_its_columns() -> None:
    reached = {p.id for _, _, points in every_checklist() for p in points}
    warned = {c.id for context in every_context() for c in cautions_for(context)}
    columns = {"id", "pause", "text", "why", "source", "required", "reading", "expected", *CONDITIONS}
    for file, found in (("checklist.toml", reached), ("cautions.toml", warned)):
        rows = tomllib.loads(files("domain.safety").joinpath(file).read_text(encoding="utf-8"))["row"]
        assert [r["id"] for r in rows if r["id"] not in found] == []
        assert len({r["id"] for r in rows}) == len(rows)
        assert all(set(r) <= columns for r in rows)


@pytest.mark.outside(
    "29 CFR 1910.133(a)(5) shades, 1910.253(a)(2) acetylene, 1910.253(b)(4)(iii) oxygen, 1910.252(a)(2) fire watch"
)
def test_a_torch_asks_for_gas_fire_and_a_soldering_or_brazing_shade() -> None:
    torch = text_of(Pause.MELT, SILVER)
    assert "shade 2 as for torch soldering, 3 as for torch brazing" in torch
    assert "15 psig (103 kPa): 29 CFR 1910.253(a)(2)" in torch
    assert "20 ft (6.1 m)" in torch
    assert "5 ft (1.5 m) high that stands fire half an hour: 29 CFR 1910.253(b)(4)(iii)" in torch
    assert "within 35 ft (10.7 m)" in torch
    assert "half an hour at least" in text_of(Pause.QUENCH, SILVER)
    assert point(Pause.MELT, SILVER, "melt-gas").reading is Reading.PRESSURE
    induction = ids(Pause.MELT, replace(SILVER, heat=Heat.INDUCTION))
    assert {"melt-coil", "melt-shade-induction"} <= set(induction)
    assert not {"melt-gas", "melt-cylinders", "melt-fire", "melt-shade"} & set(induction)


@pytest.mark.outside("foot and pound-force per square inch of scipy.constants")
def test_figures_in_two_units_agree_wherever_a_text_or_a_source_gives_them() -> None:
    """The paragraph on acetylene prints 206 kPa for 30 psi, which is 206.8."""
    texts = "".join(files("domain.safety").joinpath(f).read_text(encoding="utf-8") for f in ("checklist.toml", "cautions.toml"))
    feet = re.findall(r"(\d+) ft \(([\d.]+) m\)", texts)
    pressures = re.findall(r"(\d+) psi[ag] \((\d+) kPa", texts)
    assert {f for f, _ in feet} == {"5", "20", "35"}
    assert {p for p, _ in pressures} == {"15", "30"}
    assert all(round(int(f) * constants.foot, 1) == float(m) for f, m in feet)
    assert all(0 <= int(p) * constants.psi / 1000 - int(kilopascals) < 1 for p, kilopascals in pressures)


@pytest.mark.outside("29 CFR 1910.133(a)(5), filter shades for gas welding")
@pytest.mark.parametrize("heat", Heat)
def test_platinum_asks_for_a_welding_shade_and_never_for_less(heat: Heat) -> None:
    platinum = replace(SILVER, heat=heat, alloy_cautions=frozenset({"platinum glare"}))
    text = text_of(Pause.MELT, platinum)
    assert "welding shade that the platinum supplier's sheet names" in text
    assert "gas welding asks 4 light, 5 medium, 6 heavy" in text
    assert "torch soldering" not in text
    assert "platinum" in [c.id for c in cautions_for(platinum)]


def test_zinc_nickel_copper_and_palladium_are_warned_of_where_they_are() -> None:
    plain = {c.id for c in cautions_for(SILVER)}
    assert not plain & {"zinc", "nickel", "copper", "palladium-torch"}
    brass = replace(SILVER, alloy_cautions=frozenset({"zinc fume", "copper-rich"}))
    assert {"zinc", "copper"} <= {c.id for c in cautions_for(brass)}
    assert "melt-exhaust-zinc" in ids(Pause.MELT, brass)
    assert "melt-exhaust" not in ids(Pause.MELT, brass)
    white = replace(SILVER, alloy_cautions=frozenset({"nickel"}))
    assert "quench-nickel" in ids(Pause.QUENCH, white)
    palladium = replace(SILVER, heat=Heat.INDUCTION, alloy_cautions=frozenset({"palladium"}))
    assert "melt-argon" in ids(Pause.MELT, palladium)


@pytest.mark.outside("29 CFR 1910.1027(c), cadmium 5 µg/m³")
def test_unknown_cadmium_and_beryllium_scrap_is_refused_for_every_flask() -> None:
    for context in every_context()[::7]:
        charge = point(Pause.MELT, context, "melt-charge")
        assert charge.required
        assert "no unknown, cadmium or beryllium scrap" in charge.text
        assert "limit 5 µg/m³ (29 CFR 1910.1027(c))" in charge.why
        assert cautions_for(context)[0].id == "scrap"


@pytest.mark.outside("29 CFR 1910.1053(c), respirable crystalline silica 50 µg/m³")
def test_silica_is_named_for_mixing_and_for_devesting() -> None:
    for pause in (Pause.INVEST, Pause.QUENCH):
        assert re.search(r"limit 50 µg.*8 h \(29 CFR 1910\.1053\(c\)\)", text_of(pause, SILVER))


def test_an_investment_that_sources_advise_against_is_warned_of() -> None:
    warned = {c.id: c.text for c in cautions_for(replace(SILVER, advised_against=True))}
    assert "in gypsum-bonded investment" in warned["advised-against"]
    assert "advised-against" not in {c.id for c in cautions_for(SILVER)}


def test_resin_asks_for_more_air() -> None:
    resin = replace(SILVER, fume=True)
    assert {"kiln-resin"} == set(ids(Pause.KILN, resin)) - set(ids(Pause.KILN, SILVER))
    assert {"invest-resin"} == set(ids(Pause.INVEST, resin)) - set(ids(Pause.INVEST, SILVER))
    assert "resin" in {c.id for c in cautions_for(resin)}


def test_a_centrifuge_is_balanced_and_a_vacuum_is_read() -> None:
    vacuum = replace(SILVER, machine=MachineKind.VACUUM)
    assert "pour-balance" in ids(Pause.POUR, SILVER)
    assert "pour-balance" not in ids(Pause.POUR, vacuum)
    assert point(Pause.POUR, vacuum, "pour-vacuum").unit == "kPa"
    assert pause_title(Pause.POUR, SILVER) == "before release of the arm"
    assert pause_title(Pause.POUR, vacuum) == "before the vacuum pour"
    assert pause_title(Pause.MELT, SILVER) == "before lighting the torch"
    assert pause_title(Pause.MELT, replace(SILVER, heat=Heat.INDUCTION)) == "before switching the heat on"


def test_working_alone_and_with_an_assistant_ask_for_different_things() -> None:
    assert "melt-alone" in ids(Pause.MELT, SILVER)
    pair = replace(SILVER, people=2)
    assert "melt-alone" not in ids(Pause.MELT, pair)
    assert "all 2 wear the same protection" in text_of(Pause.MELT, pair)


def test_cooling_follows_the_alloys_rule() -> None:
    assert "at least 12 min since the pour" in text_of(Pause.QUENCH, SILVER)
    assert "quench-window" not in ids(Pause.QUENCH, SILVER)
    read = point(Pause.QUENCH, replace(SILVER, cooling=WINDOW), "quench-window")
    assert (read.not_below, read.not_above) == (Temperature.c(300), Temperature.c(480))
    air = replace(SILVER, cooling=AIR)
    assert "Do not quench Silver 925: at least 30 min in air" in text_of(Pause.QUENCH, air)
    assert "quench-wait" not in ids(Pause.QUENCH, air)


def test_readings_carry_what_the_flask_expects() -> None:
    assert point(Pause.MELT, SILVER, "melt-charge").expected == Mass.g(120)
    assert point(Pause.INVEST, SILVER, "invest-powder").expected == Mass.g(644)
    assert point(Pause.POUR, SILVER, "pour-flask-temperature").expected == Temperature.c(540)
    assert point(Pause.POUR, SILVER, "pour-melt-temperature").expected == TemperatureRange.c(950, 980)


@pytest.mark.outside("Draper point, 525 °C")
def test_what_does_not_glow_is_said_to_be_below_the_draper_point() -> None:
    glow = next(c for c in cautions_for(SILVER) if c.id == "no-glow")
    assert "500 °C" in glow.text
    assert "525 °C" in glow.source.note


def test_the_closing_note_defers_to_codes_sheets_and_licensed_practice() -> None:
    for words in ("local codes", "data sheets", "licensed practice", "does not replace training"):
        assert words in STANDING_CAUTION


def test_every_alloy_caution_of_a_new_shop_is_known_here() -> None:
    assert {c for alloy in starting_alloys() for c in alloy.cautions} <= set(CAUTIONS)


def test_a_context_is_made_from_what_a_planned_flask_has() -> None:
    alloy = next(a for a in starting_alloys() if a.cautions)
    resin = [m for m in starting_materials() if m.fume]
    size, machine, investment = starting_sizes()[-1], starting_machines()[0], starting_investments()[0]
    powder = investment_mix(size, investment, Volume(0)).powder
    temperature, charge = Temperature.c(600), Mass.g(300)
    context = flask_context(
        alloy, machine, size, investment, resin, people=2, flask_temperature=temperature, charge=charge, powder=powder
    )
    assert context.large
    assert context.fume
    assert context.alloy_cautions == frozenset(alloy.cautions)
    small = flask_context(
        alloy, machine, starting_sizes()[0], investment, [], people=2, flask_temperature=temperature, charge=charge, powder=powder
    )
    assert not small.large
    assert not small.fume
