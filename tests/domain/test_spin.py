"""Relative centrifugal force, against 1.118e-5 · r[cm] · rpm² of the centrifuge makers' handbooks:
5 cm at 10,000 rpm is about 5,590; 15 cm at 400 rpm is 26.84 (computed)."""

import pytest

from domain.spin import machine_force, relative_force
from domain.starting.machines import starting_machines
from domain.units import Length


@pytest.mark.parametrize(("radius", "rpm", "force"), [("5", 10_000, 5590), ("15", 400, 26.84)])
def test_published_forces_are_met(radius: str, rpm: int, force: float) -> None:
    assert relative_force(Length.of(radius, "cm"), rpm) == pytest.approx(force, rel=1e-3)


def test_only_a_machine_with_an_arm_spins() -> None:
    forces = {m.id: machine_force(m) for m in starting_machines()}
    assert forces["spring-torch"] == pytest.approx(26.84, abs=0.01)
    assert forces["vacuum-torch"] is None
