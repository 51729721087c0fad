"""Program curves and why a program does not suit. The wax program for small flasks, 1 h at 149 °C, 1 at
371, 2 at 732, 1 soak, is a practitioners' table."""

from dataclasses import replace

from domain.mould.program import CastAt, CurvePoint, load_curve, program_curve, reasons_against
from domain.starting.machines import starting_kilns
from domain.starting.mould import starting_investments, starting_materials, starting_programs, starting_sizes
from domain.units import Temperature

PROGRAMS = {p.id: p for p in starting_programs()}
SIZES = {s.id: s for s in starting_sizes()}
MATERIALS = {m.id: m for m in starting_materials()}
GYPSUM, PHOSPHATE = starting_investments()
KILN = starting_kilns()[0]


def points(curve: tuple[CurvePoint, ...]) -> list[tuple[int, int]]:
    return [(p.minute, int(p.temperature.celsius())) for p in curve]


def test_a_curve_joins_ramps_and_holds() -> None:
    assert points(program_curve(PROGRAMS["wax-5h"])) == [
        (0, 20),
        (30, 149),
        (60, 149),
        (100, 371),
        (120, 371),
        (185, 732),
        (240, 732),
        (300, 600),
    ]


def test_a_load_steps_down_with_a_soak_at_each_flask_temperature() -> None:
    casts = [CastAt(360, Temperature.c(560)), CastAt(372, Temperature.c(560)), CastAt(420, Temperature.c(450))]
    curve = points(load_curve(PROGRAMS["wax-5h"], casts, 60, 30))
    assert curve[-5:] == [(300, 600), (300, 560), (372, 560), (390, 450), (420, 450)]


def test_cooling_stops_at_a_flask_temperature_above_its_target() -> None:
    curve = points(load_curve(PROGRAMS["wax-5h"], [CastAt(380, Temperature.c(650))], 60, 30))
    assert curve[-3:] == [(240, 732), (300, 650), (380, 650)]


def test_a_load_without_casts_is_the_program() -> None:
    assert load_curve(PROGRAMS["wax-8h"], [], 60, 30) == program_curve(PROGRAMS["wax-8h"])


def test_a_suiting_program_has_nothing_against_it() -> None:
    wax = [MATERIALS["injection-wax"]]
    assert reasons_against(PROGRAMS["wax-5h"], size=SIZES["2x2.5"], materials=wax, investment=GYPSUM, kiln=KILN) == ()
    resin = [MATERIALS["injection-wax"], MATERIALS["castable-resin"]]
    assert reasons_against(PROGRAMS["resin"], size=SIZES["4x8p"], materials=resin, investment=GYPSUM, kiln=KILN) == ()


def test_each_reason_is_named_in_words() -> None:
    slow = replace(KILN, fastest_ramp=300, top_temperature=Temperature.c(700))
    reasons = reasons_against(
        PROGRAMS["wax-5h"], size=SIZES["3.5x4"], materials=[MATERIALS["castable-resin"]], investment=PHOSPHATE, kiln=slow
    )
    assert reasons == (
        "Wax, 5 h, small flasks runs 5 h; a 3½ × 4 in (89 × 102 mm), solid flask needs 8 h",
        "Wax, 5 h, small flasks runs 5 h; Castable resin (printed) needs 12 h 30 min",
        "Wax, 5 h, small flasks is written for gypsum-bonded investment; the flask is in Phosphate-bonded investment",
        "Wax, 5 h, small flasks goes to 732 °C; Bench kiln goes to 700 °C",
        "Wax, 5 h, small flasks asks for 149 °C to 371 °C in 40 min; Bench kiln heats 300 °C an hour at most",
        "Wax, 5 h, small flasks asks for 371 °C to 732 °C in 65 min; Bench kiln heats 300 °C an hour at most",
    )


def test_a_program_too_hot_for_gypsum_is_refused_and_one_too_cool_for_the_pattern() -> None:
    hot = reasons_against(PROGRAMS["phosphate"], size=SIZES["3x4"], materials=[], investment=GYPSUM, kiln=KILN)
    assert any("breaks down above 750 °C" in reason for reason in hot)
    cool = replace(PROGRAMS["wax-5h"], segments=PROGRAMS["wax-5h"].segments[:2])
    reasons = reasons_against(cool, size=SIZES["2x2.5"], materials=[MATERIALS["carving-wax"]], investment=GYPSUM, kiln=KILN)
    assert "Wax, 5 h, small flasks goes to 371 °C; Carving wax burns out at 700 °C" in reasons
