"""The bars of yield and loss are as high as the sums beside them, and no month with a charge is left out."""

from __future__ import annotations

from datetime import date

from domain.stock.loss import FlaskLoss, by_month
from domain.units import Mass
from webapp.views.month_bars import BOTTOM, HEIGHT, SHOWN, TOP, month_bars


def cast(flask: str, day: date, charged: int, castings: int, returned: int, alloy: str = "silver") -> FlaskLoss:
    return FlaskLoss(
        flask=flask, alloy=alloy, day=day, charged=Mass.g(charged), castings=Mass.g(castings), returned=Mass.g(returned)
    )


def test_a_bar_is_parted_as_the_charge_was() -> None:
    casts = [
        cast("F1", date(2026, 1, 5), 100, 60, 39),
        cast("F2", date(2026, 1, 9), 100, 40, 57),
        cast("F3", date(2026, 2, 2), 50, 40, 10),
    ]
    [drawing] = month_bars(casts, {"silver": "Silver 925"})
    january, february = drawing.bars
    whole = HEIGHT - TOP - BOTTOM
    assert (january.label, february.label) == ("Jan 2026", "Feb 2026")
    assert january.x + january.width < february.x
    assert round((drawing.base - january.returned) / whole, 3) == 0.5
    assert round((january.lost - january.top) / whole, 2) == 0.02
    assert february.lost == february.top
    assert [round(line.yielded.base / 10_000) for line in by_month(casts)] == [80, 50]


def test_the_newest_months_are_shown_and_more_than_was_charged_stays_in_the_drawing() -> None:
    casts = [cast(f"F{n}", date(2024 + n // 12, n % 12 + 1, 3), 10, 9, 3) for n in range(SHOWN + 5)]
    [drawing] = month_bars([*casts, cast("F99", date(2023, 1, 1), 0, 0, 0, "gold")], {})
    assert len(drawing.bars) == SHOWN
    assert drawing.bars[-1].label == "May 2025"
    assert all(TOP <= bar.top <= bar.lost <= bar.returned <= drawing.base for bar in drawing.bars)
