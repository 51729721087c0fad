"""Loss by flask, alloy and month, and the limits that the shop's own history gives."""

from datetime import date
from fractions import Fraction

import pytest

from domain.stock.loss import ENOUGH, FlaskLoss, by_month, limits_of, loss_charts
from domain.units import Mass, Share


def cast(n: int, lost: str, alloy: str = "silver-925", day: date = date(2026, 3, 2)) -> FlaskLoss:
    """100 g charged, of which ``lost`` grams are not found again."""
    returned = Mass.g(40) - Mass.g(lost)
    return FlaskLoss(flask=f"F{n}", alloy=alloy, day=day, charged=Mass.g(100), castings=Mass.g(60), returned=returned)


@pytest.mark.outside("NIST/SEMATECH e-Handbook 6.3.2.2, individuals chart of ten batches (figures from memory)")
def test_limits_are_those_of_the_handbooks_example():
    flow = [Fraction(x) for x in ("49.6", "47.6", "49.9", "51.3", "47.8", "51.2", "52.6", "52.4", "53.6", "52.1")]
    limits = limits_of(flow)
    assert float(limits.mean) == pytest.approx(50.81, abs=1e-9)
    assert float(limits.high) == pytest.approx(55.8041, abs=1e-4)
    assert float(limits.low) == pytest.approx(45.8159, abs=1e-4)


def test_a_loss_is_what_is_left_over_of_the_charge():
    one = cast(1, "1.25")
    assert one.lost == Mass.g("1.25")
    assert one.share == Share.percent("1.25")


def test_a_flask_that_lost_three_times_as_much_stands_out_and_the_others_do_not():
    usual = ["0.9", "1.1", "1.0", "0.8", "1.2", "1.0"] * 3
    (chart,) = loss_charts([cast(n, lost) for n, lost in enumerate([*usual, "3.1"])])
    assert [c.flask for c in chart.outliers] == ["F18"]


def test_no_limits_are_given_before_there_are_enough_casts():
    (chart,) = loss_charts([cast(n, "1") for n in range(ENOUGH - 1)])
    assert chart.limits is None
    assert chart.outliers == ()
    (chart,) = loss_charts([cast(n, "1") for n in range(ENOUGH)])
    assert chart.limits is not None


def test_alloys_have_charts_of_their_own():
    casts = [cast(n, "1") for n in range(12)] + [cast(n, "5", "platinum-950-ru") for n in range(12, 24)]
    charts = loss_charts(casts)
    assert [c.alloy for c in charts] == ["platinum-950-ru", "silver-925"]
    assert all(not c.outliers for c in charts)


def test_months_are_summed_newest_first():
    casts = [cast(1, "1", day=date(2026, 2, 27)), cast(2, "2"), cast(3, "3")]
    march, february = by_month(casts)
    assert (march.month, march.flasks, march.lost, march.share) == ("2026-03", 2, Mass.g(5), Share.percent("2.5"))
    assert (february.month, february.charged) == ("2026-02", Mass.g(100))
