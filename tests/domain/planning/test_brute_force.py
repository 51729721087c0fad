"""The planner's optimum equals that of every plan of a tiny week, on all six levels."""

import importlib.util
import sys
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import pytest

from domain.planning.check import check
from domain.stock.week_charges import WeekCharges
from domain.week import answer
from domain.week.answer import plan_week

STEPS = 9_000
"""What an enumeration may look at; a week with more plans than that is passed over for the next."""


@pytest.fixture(scope="module")
def tiny() -> ModuleType:
    path = Path(__file__).resolve().parents[2] / "benchmarks" / "tiny.py"
    spec = importlib.util.spec_from_file_location("benchmark_tiny", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def test_tiny_weeks_are_planned_as_well_as_every_plan_of_them(
    studio: ModuleType, tiny: ModuleType, monkeypatch: pytest.MonkeyPatch, long_slices: bool
) -> None:
    monkeypatch.setattr(answer, "week_charges", lambda *_: WeekCharges(composed={}))
    weeks = 200 if long_slices else 20
    compared = full = late = passed_over = 0
    seed = -1
    while compared < weeks:
        seed += 1
        week = tiny.tiny_week(studio, seed)
        try:
            best = tiny.EveryPlan(week, most=STEPS).run()
        except tiny.TooMany:
            passed_over += 1
            continue
        plan = plan_week(week, seconds=20, deterministic=True)
        assert tuple(level.value for level in plan.levels[:6]) == best, f"week {seed}"
        assert all(level.proven for level in plan.levels[:6]), f"week {seed}"
        assert check(week, plan, metal=False) == (), f"week {seed}"
        compared += 1
        full += best[0] == 0
        late += best[1] > 0
    assert full >= 0.3 * weeks, "too few of the weeks have room for everything to say much"
    assert late >= 0.2 * weeks, "too few of the weeks are late to say much"
    assert passed_over < weeks


def test_the_enumeration_sees_a_worse_week_when_the_shop_has_less(studio: ModuleType, tiny: ModuleType) -> None:
    week = tiny.tiny_week(studio, 5)
    kiln = replace(week.shop.kilns[0], in_service=False)
    plan = plan_week(replace(week, shop=replace(week.shop, kilns=(kiln,))), seconds=1, deterministic=True)
    assert plan.flasks == ()
    assert tiny.EveryPlan(week).run()[0] < plan.levels[0].value
