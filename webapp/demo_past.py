"""The demo's floor record: how the flasks of its invented past were cast, and how their pieces came out."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property
from importlib.resources import files
from typing import Any, TypeAlias

from domain.floor.asks import JUDGED, written
from domain.floor.stages import Stage
from domain.floor.times import CastAs, PatternCast
from domain.intake.typed import read_mass
from domain.metallurgy.pattern_metal import feed_metal, trunk_metal
from domain.shop.alloy import Alloy, CoolingMethod, Section
from domain.shop.casting import CastingMachine, MachineKind
from domain.shop.flask import FlaskSize
from domain.shop.shop import Shop
from domain.units import Pressure, Temperature
from webapp.store import floor
from webapp.store.engine import Session

Row: TypeAlias = Mapping[str, Any]
WHO = {MachineKind.CENTRIFUGE: "Runa", MachineKind.VACUUM: "Ilko"}


@dataclass(frozen=True)
class _Past:
    """One cast. ``row`` of past.toml; ``job`` of its pieces; ``follows``: the flask cast before it on its machine."""

    row: Row
    shop: Shop
    alloy: Alloy
    job: str
    poured: datetime
    follows: str

    @cached_property
    def machine(self) -> CastingMachine:
        return next(m for m in self.shop.machines if m.id == self.row["machine"])

    @cached_property
    def size(self) -> FlaskSize:
        return next(s for s in self.shop.sizes if s.id == self.row["size"])

    @property
    def cast_as(self) -> CastAs:
        rules, density = self.shop.rules, self.alloy.density
        section, pieces = Section(self.row["section"]), self.row["pieces"]
        return CastAs(
            alloy=self.alloy.id,
            flask_temperature=Temperature.c(self.row["planned"]),
            machine=self.machine.name,
            patterns=(PatternCast(job=self.job, item=self.row["item"], section=section, pieces=pieces),),
            machine_id=self.machine.id,
            size=self.size.id,
            follows=self.follows,
            asked=read_mass(self.row["asked"], None),
            sprues=feed_metal(rules, density).times(pieces) + trunk_metal(self.size, rules, density),
            button=self.size.button_volume,
        )

    @property
    def readings(self) -> dict[str, str]:
        force = {"turns": "3"} if self.machine.kind is MachineKind.CENTRIFUGE else {"vacuum": written(Pressure.of(900, "mbar"))}
        metal = Temperature.c(self.row["metal"])
        return {
            "flask_temperature": written(Temperature.c(self.row["read"])),
            **({"metal_temperature": written(metal)} if metal in self.alloy.pour else {"judgement": JUDGED[0]}),
            **force,
            "started": written(self.poured),
        }


def past_casts() -> tuple[Row, ...]:
    table = tomllib.loads(files("webapp").joinpath("demo_data", "past.toml").read_text(encoding="utf-8"))["casts"]
    return tuple(dict(zip(table["columns"], row, strict=True)) for row in table["rows"])


def seed_record(session: Session, shop: Shop, cast: Mapping[str, tuple[str, str, datetime]]) -> None:
    """``cast``: for each flask its alloy, the job of its pieces, and midnight of the day of its cast (UTC)."""
    alloys = {alloy.id: alloy for alloy in shop.alloys}
    before: dict[tuple[datetime, str], str] = {}
    for row in past_casts():
        alloy, job, midnight = cast[row["flask"]]
        hours, minutes = row["at"].split(":")
        poured = midnight + timedelta(hours=int(hours), minutes=int(minutes))
        on = (midnight, row["machine"])
        _write(session, _Past(row, shop, alloys[alloy], job, poured, before.get(on, "")))
        before[on] = row["flask"]


def _write(session: Session, past: _Past) -> None:
    flask, who = past.row["flask"], WHO[past.machine.kind]
    held, quench = {past.job: past.row["pieces"]}, past.alloy.cooling.method is CoolingMethod.QUENCH
    wait = past.alloy.cooling.wait_minutes
    steps = (
        (Stage.INVESTED, -timedelta(hours=20)),
        (Stage.LOADED, -timedelta(hours=16)),
        (Stage.STARTED, -timedelta(hours=15, minutes=50)),
    )
    for stage, away in steps:
        floor.record(session, flask, stage, at=past.poured + away, who=who)
    floor.record(session, flask, Stage.CAST, at=past.poured, who=who, readings=past.readings, cast_as=past.cast_as)
    cooled = past.poured + timedelta(minutes=wait + 2)
    if quench:
        floor.record(session, flask, Stage.QUENCHED, at=cooled, who=who, readings={"no_glow": "yes"})
    floor.record(session, flask, Stage.KNOCKED_OUT, at=cooled + timedelta(minutes=10), who=who, pieces=held)
    bad = past.row["miscast"]
    seen = {"": past.row["pieces"] - bad} | ({past.row["defect"]: bad} if bad else {})
    for outcome, pieces in seen.items():
        at = cooled + timedelta(hours=2)
        floor.record(session, flask, Stage.LOOKED_AT, at=at, who=who, readings={"outcome": outcome}, pieces={past.job: pieces})
