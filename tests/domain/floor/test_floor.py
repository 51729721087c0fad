"""Stages in their order, readings that are asked about, waits, and the last times."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from domain.errors import InvalidValue
from domain.floor.asks import ASKS, JUDGED, Asked, Kind, kept, read, written
from domain.floor.defects import defect, defects
from domain.floor.expect import (
    bench_rest,
    cooling_wait,
    flask_expected,
    judgement_oddities,
    liquid_expected,
    mix_oddities,
    program_runs,
    range_oddities,
    usual,
)
from domain.floor.stages import ON_THE_WAY, Stage, missing, next_stage, too_late
from domain.floor.times import CastAs, Outcome, PastCast, PatternCast, same_alloy, same_pattern
from domain.intake.typed import Usual
from domain.mould.mix import investment_mix
from domain.shop.alloy import Section
from domain.starting.alloys import starting_alloys
from domain.starting.mould import starting_investments, starting_sizes
from domain.units import Mass, Pressure, Temperature, TemperatureRange, Volume

NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)
GYPSUM = starting_investments()[0]


def test_each_stage_asks_for_the_ones_before_it() -> None:
    assert missing(Stage.CAST, {Stage.INVESTED, Stage.LOADED}) is Stage.STARTED
    assert missing(Stage.CAST, ()) is Stage.INVESTED
    for n, stage in enumerate(ON_THE_WAY):
        assert missing(stage, ON_THE_WAY[:n]) is None


def test_what_cools_in_air_is_knocked_out_without_a_quench() -> None:
    cast = set(ON_THE_WAY[:4])
    assert missing(Stage.KNOCKED_OUT, cast) is None
    assert next_stage(cast, quenches=True) is Stage.QUENCHED
    assert next_stage(cast, quenches=False) is Stage.KNOCKED_OUT
    assert next_stage(set(ON_THE_WAY), quenches=True) is None
    assert too_late(Stage.QUENCHED, set(ON_THE_WAY)) is Stage.KNOCKED_OUT


@pytest.mark.parametrize("value", [Mass.g("1234.567"), Mass.g(1200), Temperature.c("538.4"), Pressure.of("912.5", "mbar"), NOON, 3])
def test_what_is_written_down_is_read_again_as_it_was(value: Mass | Temperature | Pressure | datetime | int) -> None:
    kind = {Mass: Kind.MASS, Temperature: Kind.TEMPERATURE, Pressure: Kind.PRESSURE, datetime: Kind.MOMENT, int: Kind.COUNT}
    assert kept(Asked(name="x", label="x", kind=kind[type(value)]), written(value)) == value


def test_a_reading_may_be_typed_in_any_unit() -> None:
    powder, _, water, _, vacuum, _ = ASKS[Stage.INVESTED]
    assert read(powder, "2 lb") == Mass.of(2, "lb")
    assert read(water, "72", Usual(degrees="°F")) == Temperature.f(72)
    assert read(water, "22") == Temperature.c(22)
    assert read(vacuum, "2 min") == 2
    assert read(ASKS[Stage.CAST][4], "0.9 bar") == Pressure.of(900, "mbar")


@pytest.mark.parametrize(("field", "text"), [(0, "much"), (0, "0 g"), (2, "cold"), (4, "-1"), (4, "a while")])
def test_what_is_no_reading_is_refused_in_words(field: int, text: str) -> None:
    with pytest.raises(InvalidValue):
        read(ASKS[Stage.INVESTED][field], text)


def test_a_choice_is_one_of_those_offered() -> None:
    with pytest.raises(InvalidValue):
        read(ASKS[Stage.CAST][2], "hot enough", choices=JUDGED)


def test_water_is_held_against_the_powder_that_was_weighed() -> None:
    mix = investment_mix(starting_sizes()[0], GYPSUM, Volume(0))
    right = GYPSUM.water.of_mass(mix.powder)
    assert liquid_expected(GYPSUM, mix.powder).planned == right
    assert not list(mix_oddities(GYPSUM, mix, {"powder": mix.powder, "liquid": right}))
    odd = dict(mix_oddities(GYPSUM, mix, {"powder": mix.powder.times("0.9"), "liquid": right}))
    assert odd.keys() == {"powder", "liquid"}


def test_readings_outside_their_range_are_named_and_those_on_its_edge_are_not() -> None:
    expected = {"flask_temperature": flask_expected(Temperature.c(500), TemperatureRange.c(480, 540)), "turns": usual("turns")}
    assert not list(range_oddities(expected, {"flask_temperature": Temperature.c(480), "turns": 2}))
    odd = dict(range_oddities(expected, {"flask_temperature": Temperature.c(479), "turns": 9}))
    assert "479 °C" in odd["flask_temperature"]
    assert "480 °C" in odd["flask_temperature"]
    assert odd["turns"] == "9 is outside 2 to 5"
    assert list(judgement_oddities({"judgement": JUDGED[2]}))
    assert not list(judgement_oddities({"judgement": JUDGED[0]}))


def test_the_bench_rest_counts_from_gloss_off() -> None:
    gloss = NOON + timedelta(minutes=14)
    assert bench_rest(GYPSUM, NOON, gloss).until == gloss + timedelta(minutes=GYPSUM.bench_set_minutes)
    assert bench_rest(GYPSUM, NOON, None).until == NOON + timedelta(minutes=GYPSUM.gloss_off_minutes + GYPSUM.bench_set_minutes)
    wait = bench_rest(GYPSUM, NOON, gloss)
    assert wait.too_early(gloss).endswith("to go")
    assert not wait.too_early(wait.until)
    assert wait.latest is not None
    assert "too long" in wait.too_early(wait.latest + timedelta(minutes=1))


def test_waits_count_real_minutes_over_a_change_of_the_clock() -> None:
    """From UTC to UTC: the night on which summer time begins is an hour shorter on the wall, not in the kiln."""
    before = datetime(2026, 3, 28, 22, 0, tzinfo=UTC)
    assert program_runs(before, 720).until == datetime(2026, 3, 29, 10, 0, tzinfo=UTC)


def test_a_wider_flask_waits_longer_for_its_quench() -> None:
    silver = next(a for a in starting_alloys() if a.id == "silver-925")
    sizes = sorted(starting_sizes(), key=lambda s: s.inner_diameter)
    assert cooling_wait(silver, sizes[0], NOON).until <= cooling_wait(silver, sizes[-1], NOON).until
    assert cooling_wait(silver, sizes[0], NOON).until == NOON + timedelta(minutes=silver.cooling.wait_minutes)


def test_defects_have_causes_a_correction_and_a_mark() -> None:
    assert len({one.id for one in defects()}) == len(defects()) >= 10
    assert all(one.causes and one.correction and str(one.source) for one in defects())
    with pytest.raises(InvalidValue):
        defect("bad luck")


def _cast(flask: str, day: int, item: str, alloy: str = "silver-925", section: Section = Section.THIN, bad: str = "") -> PastCast:
    pattern = PatternCast(job=f"J{day}", item=item, section=section, pieces=3)
    planned = CastAs(alloy=alloy, flask_temperature=Temperature.c(500), machine="m", patterns=(pattern,))
    outcomes = (Outcome(job=f"J{day}", pieces=3, defect=bad), Outcome(job="other", pieces=1, defect=""))
    return PastCast(flask=flask, at=NOON + timedelta(days=day), cast_as=planned, readings={}, outcomes=outcomes)


def test_the_last_five_times_of_a_pattern_are_shown_newest_first_with_its_own_outcomes() -> None:
    casts = [_cast(f"F{n}", n, "Leaf  Ring", bad="misrun" if n == 6 else "") for n in range(1, 8)]
    times = same_pattern([*casts, _cast("X", 9, "bangle")], "leaf ring")
    assert [time.cast.flask for time in times] == ["F7", "F6", "F5", "F4", "F3"]
    assert [[(o.job, o.defect) for o in time.outcomes] for time in times[:2]] == [[("J7", "")], [("J6", "misrun")]]


def test_an_alloy_is_looked_for_at_its_section() -> None:
    casts = [_cast("A", 1, "a"), _cast("B", 2, "b", section=Section.HEAVY), _cast("C", 3, "c", alloy="bronze")]
    assert [time.cast.flask for time in same_alloy(casts, "silver-925", Section.THIN)] == ["A"]
