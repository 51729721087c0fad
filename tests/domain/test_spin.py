"""Relative centrifugal force, against 1.118e-5 · r[cm] · rpm² of the centrifuge makers' handbooks:
5 cm at 10,000 rpm is about 5,590; 15 cm at 400 rpm is 26.84 (computed)."""

import pint
import pytest

from domain.shop.casting import CastingMachine
from domain.spin import machine_force, relative_force
from domain.starting.machines import starting_machines
from domain.units import Length


@pytest.mark.outside("centrifuge makers' formula 1.118·10⁻⁵ · r · rpm² and its worked example, 5 cm at 10,000 rpm")
@pytest.mark.parametrize(("radius", "rpm", "force"), [("5", 10_000, 5590), ("15", 400, 26.84)])
def test_published_forces_are_met(radius: str, rpm: int, force: float) -> None:
    assert relative_force(Length.of(radius, "cm"), rpm) == pytest.approx(force, rel=1e-3)


def test_only_a_machine_with_an_arm_spins() -> None:
    forces = {m.id: machine_force(m) for m in starting_machines()}
    assert forces["spring-torch"] == pytest.approx(26.84, abs=0.01)
    assert forces["vacuum-torch"] is None


@pytest.mark.outside("ω²r over standard gravity, in units of pint")
@pytest.mark.parametrize("machine", [m for m in starting_machines() if m.arm_radius], ids=lambda m: m.id)
def test_force_is_the_acceleration_in_standard_gravities(machine: CastingMachine) -> None:
    units = pint.UnitRegistry()
    assert machine.arm_radius is not None
    turning = machine.speed_rpm * units.revolution / units.minute
    acceleration = turning**2 * float(machine.arm_radius.to("mm")) * units.millimeter
    expected = (acceleration / units.standard_gravity).to("dimensionless").magnitude
    assert machine_force(machine) == pytest.approx(expected, rel=1e-9)
