"""Starting kilns and casting machines, from ``machines.toml``."""

from __future__ import annotations

from domain.shop.alloy import Heat
from domain.shop.burnout import Kiln
from domain.shop.casting import CastingMachine, MachineKind
from domain.starting.reading import Row, quantity, sources, table, temperature
from domain.units import Length, Mass, Volume


def starting_kilns() -> tuple[Kiln, ...]:
    rows = table("machines.toml")
    return tuple(_kiln(row, rows["kiln_sources"]) for row in rows["kiln"])


def starting_machines() -> tuple[CastingMachine, ...]:
    rows = table("machines.toml")
    return tuple(_machine(row, rows["machine_sources"]) for row in rows["machine"])


def _kiln(row: Row, common: Row) -> Kiln:
    return Kiln(
        id=row["id"],
        name=row["name"],
        width=quantity(Length, row["width"]),
        depth=quantity(Length, row["depth"]),
        height=quantity(Length, row["height"]),
        gap=quantity(Length, row["gap"]),
        top_temperature=temperature(row["top_temperature"]),
        fastest_ramp=row["fastest_ramp"],
        in_service=True,
        unattended=row["unattended"],
        cooldown_minutes=row["cooldown_minutes"],
        cost=row["cost"],
        sources=sources({"sources": common}),
    )


def _machine(row: Row, common: Row) -> CastingMachine:
    return CastingMachine(
        id=row["id"],
        name=row["name"],
        kind=MachineKind(row["kind"]),
        heat=Heat(row["heat"]),
        fits=frozenset(row["fits"]),
        crucible_mass=quantity(Mass, row["crucible_mass"]),
        crucible_volume=quantity(Volume, row["crucible_volume"]),
        minutes_per_cast=row["minutes_per_cast"],
        people=row["people"],
        arm_radius=quantity(Length, row["arm_radius"]) if "arm_radius" in row else None,
        speed_rpm=row.get("speed_rpm"),
        sources=sources({"sources": common}),
    )
