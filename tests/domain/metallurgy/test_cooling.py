"""What to do after the pour."""

import pytest

from domain.metallurgy.cooling import after_pour
from domain.shop.alloy import CoolingMethod
from domain.shop.flask import FlaskSize
from domain.starting.alloys import starting_alloys
from domain.units import Length, Temperature, Volume

ALLOYS = {a.id: a for a in starting_alloys()}


def flask(diameter: int) -> FlaskSize:
    return FlaskSize(
        id="f",
        name="f",
        inner_diameter=Length.mm(diameter),
        height=Length.mm(100),
        wall=Length.mm(2),
        perforated=False,
        owned=1,
        burnout_minutes=300,
        cost=1,
        base_height=Length.mm(10),
        trunk_diameter=Length.mm(8),
        button_volume=Volume.cm3(1),
    )


@pytest.mark.parametrize(("diameter", "minutes"), [(50, 15), (75, 15), (100, 20), (125, 25)])
def test_larger_flasks_wait_longer_and_none_less_than_the_alloy_asks(diameter, minutes):
    """Casters' tables give 12–20 min for silver by flask size."""
    assert after_pour(ALLOYS["silver-925"], flask(diameter)).minutes == minutes


def test_germanium_silver_is_never_quenched():
    after = after_pour(ALLOYS["silver-germanium"], flask(75))
    assert after.method is CoolingMethod.AIR
    assert "Let it cool in air until it can be handled; do not quench." in after.words


def test_nickel_white_gold_waits_until_below_480_and_not_for_cold_water():
    after = after_pour(ALLOYS["14kt-white-nickel"], flask(75))
    assert after.not_above == Temperature.c(480)
    assert any("at 480 °C or below" in line for line in after.words)
    assert after.words[-1] == "Not in cold water."


def test_red_gold_is_not_put_off_past_its_brittle_window_in_a_large_flask():
    small, large = (after_pour(ALLOYS["14kt-red"], flask(d)) for d in (50, 150))
    assert small.minutes == large.minutes == 5
    assert any("above 427 °C, if the alloy's supplier says" in line for line in large.words)
