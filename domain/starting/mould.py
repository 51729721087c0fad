"""Starting pattern materials, flask sizes, investments and burnout programs, from ``mould.toml``."""

from __future__ import annotations

from domain.shop.alloy import Bond
from domain.shop.burnout import BurnoutProgram, Purpose, Segment
from domain.shop.flask import FlaskSize
from domain.shop.investment import InvestmentKind
from domain.shop.pattern import PatternMaterial
from domain.starting.reading import Row, quantity, sources, table, temperature
from domain.units import Density, Length, Share, Volume


def starting_materials() -> tuple[PatternMaterial, ...]:
    return tuple(_material(row) for row in table("mould.toml")["material"])


def starting_sizes() -> tuple[FlaskSize, ...]:
    rows = table("mould.toml")
    return tuple(_size(row, rows["size_sources"]) for row in rows["size"])


def starting_investments() -> tuple[InvestmentKind, ...]:
    return tuple(_investment(row) for row in table("mould.toml")["investment"])


def starting_programs() -> tuple[BurnoutProgram, ...]:
    return tuple(_program(row) for row in table("mould.toml")["program"])


def _material(row: Row) -> PatternMaterial:
    return PatternMaterial(
        id=row["id"],
        name=row["name"],
        density=quantity(Density, row["density"]),
        burnout_minutes=row["burnout_minutes"],
        burnout_peak=temperature(row["burnout_peak"]),
        fume=row["fume"],
        sources=sources(row),
    )


def _size(row: Row, common: Row) -> FlaskSize:
    return FlaskSize(
        id=row["id"],
        name=row["name"],
        inner_diameter=quantity(Length, row["inner_diameter"]),
        height=quantity(Length, row["height"]),
        wall=quantity(Length, row["wall"]),
        perforated=row["perforated"],
        owned=row["owned"],
        burnout_minutes=row["burnout_minutes"],
        cost=row["cost"],
        base_height=quantity(Length, row["base_height"]),
        trunk_diameter=quantity(Length, row["trunk_diameter"]),
        button_volume=quantity(Volume, row["button_volume"]),
        sources=sources({"sources": common}),
    )


def _investment(row: Row) -> InvestmentKind:
    return InvestmentKind(
        id=row["id"],
        name=row["name"],
        bond=Bond(row["bond"]),
        water=quantity(Share, row["water"]),
        slurry_yield=quantity(Volume, row["slurry_yield"]),
        waste=quantity(Share, row["waste"]),
        working_minutes=row["working_minutes"],
        gloss_off_minutes=row["gloss_off_minutes"],
        bench_set_minutes=row["bench_set_minutes"],
        bench_limit_minutes=row["bench_limit_minutes"],
        peak=temperature(row["peak"]),
        liquid=row["liquid"],
        sources=sources(row),
    )


def _program(row: Row) -> BurnoutProgram:
    return BurnoutProgram(
        id=row["id"],
        name=row["name"],
        segments=tuple(_segment(segment) for segment in row["segments"]),
        bonds=frozenset(Bond(bond) for bond in row["bonds"]),
        sources=sources(row),
    )


def _segment(row: Row) -> Segment:
    return Segment(
        target=temperature(row["target"]),
        ramp_minutes=row["ramp"],
        hold_minutes=row["hold"],
        purpose=Purpose(row["purpose"]),
    )
