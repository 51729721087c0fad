"""What a reading should be, and what is odd about one that is not: it is asked about, never refused."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from importlib.resources import files
from typing import Any

from domain.floor.asks import TOO_COLD, TOO_HOT, Kind, Value
from domain.intake.typed import read_pressure
from domain.metallurgy.cooling import wait_minutes
from domain.mould.mix import InvestmentMix
from domain.saying import say
from domain.shop.alloy import Alloy
from domain.shop.flask import FlaskSize
from domain.shop.investment import InvestmentKind
from domain.sources import Mark, Source
from domain.starting.reading import temperature
from domain.units import Mass, Pressure, Share, Temperature, TemperatureRange

_TABLE: Mapping[str, Any] = tomllib.loads(files("domain.floor").joinpath("expected.toml").read_text(encoding="utf-8"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """``planned``: the value that the plan gives, none where it gives a range alone."""

    planned: Value | None = None
    low: Value | None = None
    high: Value | None = None
    source: Source | None = None

    def holds(self, value: Value) -> bool:
        if isinstance(value, str) or type(value) is not type(self.low if self.low is not None else self.high):
            return True
        too_low = self.low is not None and value < self.low  # type: ignore[operator]
        return not too_low and not (self.high is not None and value > self.high)  # type: ignore[operator]


def usual(name: str) -> Expected:
    """The usual range of a reading that depends on no flask."""
    row = _TABLE[name]
    kind = {"water_temperature": Kind.TEMPERATURE, "vacuum": Kind.PRESSURE}.get(name, Kind.COUNT)
    return Expected(low=_value(kind, row["low"]), high=_value(kind, row["high"]), source=_source(row))


def _value(kind: Kind, text: str) -> Value:
    if kind is Kind.TEMPERATURE:
        return temperature(text)
    return read_pressure(text, None) if kind is Kind.PRESSURE else int(text)


def _source(row: Mapping[str, str]) -> Source:
    return Source(Mark(row["mark"]), say(row.get("note", "")))


def _tolerance(name: str) -> Share:
    return Share.of(_TABLE[name]["tolerance"].removesuffix(" %"), "%")


def powder_expected(mix: InvestmentMix) -> Expected:
    slack = _tolerance("powder").of_mass(mix.powder)
    return Expected(planned=mix.powder, low=mix.powder - slack, source=_source(_TABLE["powder"]))


def liquid_expected(kind: InvestmentKind, powder: Mass) -> Expected:
    """For the powder that was really weighed: the ratio decides how strong the mould is."""
    asked = kind.water.of_mass(powder)
    slack = _tolerance("liquid").of_mass(asked)
    return Expected(planned=asked, low=asked - slack, high=asked + slack, source=_source(_TABLE["liquid"]))


def flask_expected(planned: Temperature, allowed: TemperatureRange | None) -> Expected:
    """``allowed``: what all pieces of the flask share; the plan's own temperature where that is not known."""
    low, high = (allowed.low, allowed.high) if allowed else (planned, planned)
    return Expected(planned=planned, low=low, high=high)


def metal_expected(alloy: Alloy) -> Expected:
    return Expected(low=alloy.pour.low, high=alloy.pour.high)


def mix_oddities(kind: InvestmentKind, mix: InvestmentMix | None, values: Mapping[str, Value]) -> Iterable[tuple[str, str]]:
    """What is odd about a mix: the field, and the words."""
    powder, liquid = values.get("powder"), values.get("liquid")
    if isinstance(powder, Mass) and mix is not None and not powder_expected(mix).holds(powder):
        yield (
            "powder",
            say("{powder} of powder is less than the {powder2} that fill this flask", powder=_g(powder), powder2=_g(mix.powder)),
        )
    if isinstance(powder, Mass) and isinstance(liquid, Mass):
        expected = liquid_expected(kind, powder)
        if not expected.holds(liquid) and isinstance(expected.planned, Mass):
            yield (
                "liquid",
                say(
                    "{powder} of powder asks for {planned} of {liquid}, not {liquid2}",
                    powder=_g(powder),
                    planned=_g(expected.planned),
                    liquid=kind.liquid,
                    liquid2=_g(liquid),
                ),
            )


def range_oddities(expected: Mapping[str, Expected], values: Mapping[str, Value]) -> Iterable[tuple[str, str]]:
    """What lies outside its range."""
    for name, value in values.items():
        if name in expected and not expected[name].holds(value):
            yield name, say("{value} is outside {expected}", value=in_words(value), expected=range_in_words(expected[name]))


def judgement_oddities(values: Mapping[str, Value]) -> Iterable[tuple[str, str]]:
    if values.get("judgement") in (TOO_HOT, TOO_COLD):
        yield "judgement", say("metal that is “{judged}” gives gas, or does not fill", judged=say(f"{values['judgement']}"))


def range_in_words(expected: Expected) -> str:
    if expected.low is None:
        return say("at most {high}", high=in_words(expected.high)) if expected.high is not None else ""
    if expected.high is None or expected.high == expected.low:
        low = in_words(expected.low)
        return say("at least {low}", low=low) if expected.high is None else low
    return say("{low} to {high}", low=in_words(expected.low), high=in_words(expected.high))


def in_words(value: Value) -> str:
    if isinstance(value, Mass):
        return _g(value)
    if isinstance(value, Temperature):
        return f"{value.celsius()} °C ({value.fahrenheit()} °F)"
    if isinstance(value, Pressure):
        return f"{value.decimal('mbar', 0)} mbar"
    return str(value)


def _g(mass: Mass) -> str:
    return f"{mass.decimal('g', 0 if mass.base >= 1_000_000 else 1)} g"


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait:
    """``until``: not before; ``latest``: not after, where there is such a limit. ``what``: for what, in words."""

    what: str
    until: datetime
    latest: datetime | None = None

    def too_early(self, at: datetime) -> str:
        """What is odd about going on at ``at``; empty where nothing is."""
        if at < self.until:
            return say("{what}: {left} to go", what=self.what, left=left(self.until - at))
        if self.latest is not None and at > self.latest:
            return say(
                "{what} ended long ago: it has dried for {left} too long, unless it was kept damp",
                what=self.what,
                left=left(at - self.latest),
            )
        return ""


def left(time: timedelta) -> str:
    hours, minutes = divmod(max(1, -(-int(time.total_seconds()) // 60)), 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min"


def bench_rest(kind: InvestmentKind, started: datetime, gloss_off: datetime | None) -> Wait:
    """From gloss-off, or from when it was to be expected after ``started``."""
    since = gloss_off or started + timedelta(minutes=kind.gloss_off_minutes)
    return Wait(
        what=say("the bench rest"),
        until=since + timedelta(minutes=kind.bench_set_minutes),
        latest=since + timedelta(minutes=kind.bench_limit_minutes),
    )


def program_runs(started: datetime, minutes: int) -> Wait:
    """``minutes`` of the program, its soak at the flask's temperature included."""
    return Wait(what=say("the burnout program"), until=started + timedelta(minutes=minutes))


def cooling_wait(alloy: Alloy, size: FlaskSize, poured: datetime) -> Wait:
    return Wait(what=say("the wait after the pour"), until=poured + timedelta(minutes=wait_minutes(alloy.cooling, size)))
