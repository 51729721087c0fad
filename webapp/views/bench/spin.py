"""The force of a spinning arm."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from functools import partial

from domain.errors import InvalidValue
from domain.saying import say
from domain.shop.casting import CastingMachine
from domain.spin import machine_force, relative_force, speed_for
from domain.units import Length
from webapp import formats, reading
from webapp.views.bench.sheet import Answer, Bench, Sheet, Slip, Table
from webapp.views.bench.written import a_length, both_lengths

FASTEST = 3_000
"""Turns a minute beyond which a figure for a casting arm is a slip of the pen. Common practice, no source."""


def spin_force(bench: Bench, typed: Mapping[str, str]) -> Slip:
    """From speed, or from turns counted in some seconds; or the speed that a force asks for."""
    sheet = Sheet(typed)
    radius = sheet.value("radius", say("Arm, from the axis to the middle of the flask"), say("150 mm or 6 in"), _an_arm)
    speed = sheet.value("rpm", say("Turns a minute"), "400", partial(reading.count, field="rpm"), needed=False)
    turns = sheet.value("turns", say("Or turns counted"), "20", partial(reading.count, field="turns"), needed=False)
    seconds = sheet.value("seconds", say("in so many seconds"), "3", _positive, needed=False)
    wanted = sheet.value(
        "force", say("Or the force wanted"), say("30, in multiples of the metal's own weight"), _positive, needed=False
    )
    rpm = _speed(sheet, radius, speed, turns, seconds, wanted)
    if not sheet.ready or radius is None or rpm is None:
        return sheet.slip(None)
    return sheet.slip(_answer(radius, rpm, bench.shop.machines))


def _speed(
    sheet: Sheet, radius: Length | None, speed: int | None, turns: int | None, seconds: Fraction | None, wanted: Fraction | None
) -> int | None:
    """Turns a minute, told in exactly one of three ways."""
    counted = turns is not None or seconds is not None
    if sum((speed is not None, counted, wanted is not None)) > 1:
        sheet.complain(
            "force" if wanted is not None else "turns", say("Type the speed, turns and seconds, or a force: only one of them.")
        )
        return None
    rpm = speed
    if turns is not None and seconds is not None:
        rpm = round(Fraction(turns * 60) / seconds)
    if wanted is not None and radius is not None:
        rpm = speed_for(float(wanted), radius)
    if rpm is not None and not 1 <= rpm <= FASTEST:
        where = "rpm" if speed is not None else "force" if wanted is not None else "turns"
        sheet.complain(
            where, say("That is {rpm} turns a minute; no casting arm turns so: type 1 to {fastest}.", rpm=rpm, fastest=FASTEST)
        )
    if rpm is None and wanted is None:
        sheet.missing.append(
            say("the seconds") if turns else say("the turns counted") if seconds else say("a speed, turns or a force")
        )
    return rpm


def _answer(radius: Length, rpm: int, machines: tuple[CastingMachine, ...]) -> Answer:
    arms = [(m, machine_force(m)) for m in machines]
    rows = tuple(
        (m.name, formats.length(m.arm_radius), f"{m.speed_rpm} rpm", f"{force:.0f} g")
        for m, force in arms
        if force is not None and m.arm_radius is not None
    )
    table = Table(caption=say("The shop's own arms"), heads=(say("Machine"), say("Arm"), say("Speed"), say("Force")), rows=rows)
    return Answer(
        facts=(
            (
                say("Force"),
                say(
                    "{force} times the metal's own weight (g)", force=formats.number(Decimal(f"{relative_force(radius, rpm):.1f}"))
                ),
            ),
            (say("Arm"), both_lengths(radius)),
            (say("Speed"), say("{rpm} turns a minute", rpm=rpm)),
        ),
        tables=(table,) if rows else (),
        notes=(
            say(
                "Force is ω²r over standard gravity, at full speed. A spring arm is fastest soon after release and slows from "
                "then on."
            ),
            say("More force is not better: it tears moulds and throws metal. Never wind beyond the machine's own sheet."),
        ),
        cautions=("centrifuge",),
    )


def _an_arm(text: str) -> Length:
    radius = a_length(text)
    if radius > Length.of(2, "m"):
        raise InvalidValue("radius", say("no casting arm is longer than 2 m; type its length, such as 150 mm"))
    return radius


def _positive(text: str) -> Fraction:
    value = reading.number(text)
    if value <= 0:
        raise InvalidValue("number", say("“{text}” is not above zero; type a number such as 3", text=text))
    return value
