"""Starting values fit each other and stay under the limits that sources give.

Figures: practitioners' pages give program totals of 5, 6, 8 and 12 h for flasks of small, 2½ × 2½,
3½ × 4 and 4 × 8 in, a peak of 732 °C, a breakdown of gypsum-bonded investment from about 760 °C with
carbon present, and never 788 °C. Inch: 25.4 mm (NIST Handbook 44, Appendix C).
"""

from itertools import product

import pytest

from domain.mould.program import reasons_against
from domain.mould.tree import reaches_inside, tree_space
from domain.shop.alloy import Alloy, Bond, Heat, Suitability
from domain.shop.burnout import BurnoutProgram, Kiln, Purpose
from domain.shop.pattern import PieceSize
from domain.shop.shop import ShopRules
from domain.starting.alloys import starting_alloys
from domain.starting.machines import starting_kilns, starting_machines
from domain.starting.mould import starting_investments, starting_materials, starting_programs, starting_sizes
from domain.units import Length, Temperature

PROGRAMS = {p.id: p for p in starting_programs()}
SIZES = {s.id: s for s in starting_sizes()}
MATERIALS = {m.id: m for m in starting_materials()}


def fastest_ramp(program: BurnoutProgram) -> float:
    at, fastest = 20.0, 0.0
    for segment in program.segments:
        target = float(segment.target.celsius(3))
        fastest = max(fastest, (target - at) * 60 / segment.ramp_minutes)
        at = target
    return fastest


@pytest.mark.parametrize(("program", "hours"), [("wax-5h", 5), ("wax-6h", 6), ("wax-8h", 8), ("wax-12h", 12), ("resin", 12.5)])
def test_programs_keep_their_published_totals(program: str, hours: float) -> None:
    assert PROGRAMS[program].minutes == hours * 60


def test_gypsum_programs_stay_below_its_breakdown() -> None:
    gypsum = next(i for i in starting_investments() if i.bond is Bond.GYPSUM)
    assert gypsum.peak < Temperature.c(760)
    for program in PROGRAMS.values():
        if Bond.GYPSUM in program.bonds:
            assert program.peak <= gypsum.peak
            assert program.peak == Temperature.c(732)


def test_phosphate_programs_stay_below_the_peak_of_the_investment() -> None:
    phosphate = next(i for i in starting_investments() if i.bond is Bond.PHOSPHATE)
    peaks = [p.peak for p in PROGRAMS.values() if Bond.PHOSPHATE in p.bonds]
    assert peaks
    assert max(peaks) <= phosphate.peak


def test_every_program_ends_by_cooling() -> None:
    for program in PROGRAMS.values():
        assert program.segments[-1].purpose is Purpose.COOL
        assert program.segments[-1].target < program.peak


@pytest.mark.parametrize("kiln", starting_kilns(), ids=lambda k: k.id)
def test_no_kiln_may_run_unattended_before_the_shop_says_so(kiln: Kiln) -> None:
    assert not kiln.unattended


@pytest.mark.parametrize("kiln", starting_kilns(), ids=lambda k: k.id)
def test_every_kiln_can_run_every_program(kiln: Kiln) -> None:
    for program in PROGRAMS.values():
        assert program.peak <= kiln.top_temperature
        assert fastest_ramp(program) <= kiln.fastest_ramp


def test_each_size_has_a_wax_program_and_the_small_ones_the_short_one() -> None:
    for size in SIZES.values():
        assert any(p.minutes >= size.burnout_minutes for p in PROGRAMS.values() if p.id.startswith("wax"))
    assert SIZES["2x2.5"].burnout_minutes <= PROGRAMS["wax-5h"].minutes < SIZES["2.5x2.5"].burnout_minutes
    assert SIZES["3.5x4"].burnout_minutes == PROGRAMS["wax-8h"].minutes
    assert SIZES["4x8p"].burnout_minutes == PROGRAMS["wax-12h"].minutes


def test_no_wax_program_passes_for_resin() -> None:
    resin = MATERIALS["castable-resin"]
    suited = {p.id for p in PROGRAMS.values() if p.minutes >= resin.burnout_minutes and p.peak >= resin.burnout_peak}
    assert suited == {"resin", "phosphate"}


def test_sizes_are_whole_half_inches_and_named_by_them() -> None:
    assert SIZES["2x2.5"].inner_diameter == Length.mm("50.8")
    assert SIZES["2.5x4"].height == Length.mm("101.6")
    for size in SIZES.values():
        across, tall = size.id.removesuffix("p").split("x")
        assert size.inner_diameter == Length.of(across, "in")
        assert size.height == Length.of(tall, "in")
        assert ("perforated" in size.name) is size.perforated


def test_a_small_piece_fits_a_tree_in_every_size() -> None:
    stud = PieceSize(width=Length.mm(6), height=Length.mm(8), reach=Length.mm(6))
    for size in SIZES.values():
        space = tree_space(size, ShopRules())
        assert space.height >= stud.height
        assert reaches_inside(stud, space)


def test_machines_take_known_sizes_and_every_size_has_one() -> None:
    machines = starting_machines()
    assert {(m.kind, m.heat) for m in machines} == {(k, h) for k in {m.kind for m in machines} for h in Heat}
    assert frozenset().union(*(m.fits for m in machines)) == set(SIZES)
    assert all((m.arm_radius is None) == (m.speed_rpm is None) for m in machines)


@pytest.mark.parametrize("alloy", starting_alloys(), ids=lambda a: a.id)
def test_every_alloy_can_be_cast_in_wax_and_in_resin(alloy: Alloy) -> None:
    """Some investment, machine, size and program go together, and the mould may be as cool as the alloy asks."""
    kinds = [i for i in starting_investments() if alloy.investment[i.bond] is not Suitability.NEVER]
    sizes = {size for m in starting_machines() if m.heat in alloy.heat for size in m.fits}
    coolest = max(r.low for r in alloy.flask_temperature.values())
    for material, size in product(MATERIALS.values(), sizes):
        assert any(
            coolest <= program.peak
            and not reasons_against(program, size=SIZES[size], materials=[material], investment=kind, kiln=kiln)
            for program, kind, kiln in product(PROGRAMS.values(), kinds, starting_kilns())
        )


def test_every_starting_number_names_where_it_comes_from() -> None:
    things = [*starting_materials(), *starting_sizes(), *starting_investments(), *starting_programs()]
    for thing in [*things, *starting_kilns(), *starting_machines()]:
        fields = set(type(thing).__dataclass_fields__)
        unsourced = {"id", "name", "bond", "bonds", "perforated", "in_service", "outages", "nights", "kind", "heat", "sources"}
        for name in fields - unsourced - set(thing.sources):
            assert name in {"fume", "arm_radius", "speed_rpm"}, f"{thing.id}: {name} has no source"
        assert set(thing.sources) <= fields
