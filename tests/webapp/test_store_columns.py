"""What the database holds is whole base units, and it refuses what the trade refuses."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError, IntegrityError, StatementError

from domain.shop.alloy import Section
from domain.shop.pattern import PatternMaterial
from domain.units import Density, Length, Mass, Temperature, Volume
from webapp.store import nouns
from webapp.store.engine import Database
from webapp.store.tables import JobRow, MaterialRow

WAX = PatternMaterial(
    id="wax", name="Injection wax", density=Density.g_cm3("0.95"), burnout_minutes=300, burnout_peak=Temperature.c(732)
)


def test_a_density_is_kept_as_whole_milligrams_per_cubic_centimetre(empty_db: Database) -> None:
    with empty_db.write() as session:
        nouns.add(session, WAX)
    with empty_db.read() as session:
        assert session.connection().execute(text("SELECT density, burnout_peak FROM pattern_material")).one() == (950, 732_000)
        assert nouns.find(session, PatternMaterial, "wax") == WAX


def test_a_quantity_of_another_kind_is_refused(empty_db: Database) -> None:
    row = MaterialRow(id="x", name="x", density=Length(950), burnout_minutes=0, burnout_peak=Temperature(0))
    with pytest.raises(StatementError, match="Density expected"), empty_db.write() as session:
        session.add(row)


def test_a_negative_density_is_refused_by_the_database_itself(empty_db: Database) -> None:
    row = MaterialRow(id="x", name="x", density=Density(-1), burnout_minutes=0, burnout_peak=Temperature(0))
    with pytest.raises(IntegrityError, match="density_at_least_1"), empty_db.write() as session:
        session.add(row)


def test_an_unknown_enum_text_is_refused_by_the_database_itself(empty_db: Database) -> None:
    insert = text("INSERT INTO ledger_entry (at, kind, who, note) VALUES ('2026-01-01', 'theft', '', '')")
    with pytest.raises(IntegrityError, match="entrykind"), empty_db.write() as session:
        session.connection().execute(insert)


def test_a_job_with_both_a_mass_and_a_volume_is_refused_by_the_database_itself(empty_db: Database) -> None:
    size = {"size_width": Length.mm(20), "size_height": Length.mm(20), "size_reach": Length.mm(5)}
    both = {"pattern_mass": Mass.g(1), "metal_volume": Volume.mm3(100)}
    row = JobRow(
        id="J",
        item="ring",
        alloy="a",
        section=Section.THIN,
        material="m",
        quantity=1,
        ready="2026-03-02",
        due="2026-03-06",
        **size,
        **both,
    )
    with pytest.raises(IntegrityError, match="mass_or_volume"), empty_db.write() as session:
        session.add(row)


def test_a_reading_session_refuses_to_change_anything(empty_db: Database) -> None:
    with pytest.raises(DBAPIError, match=r"read-?only"), empty_db.read() as session:
        nouns.add(session, WAX)


def test_a_write_that_fails_leaves_nothing_behind(empty_db: Database) -> None:
    def fail_half_way() -> None:
        with empty_db.write() as session:
            nouns.add(session, WAX)
            raise RuntimeError

    with pytest.raises(RuntimeError):
        fail_half_way()
    with empty_db.read() as session:
        assert nouns.all_of(session, PatternMaterial) == ()


def test_an_edit_counts_the_version_and_marks_the_time(empty_db: Database) -> None:
    with empty_db.write() as session:
        nouns.add(session, WAX)
    before = datetime.now(UTC)
    with empty_db.write() as session:
        nouns.change(session, "wax", PatternMaterial(**{**_fields(WAX), "name": "Red wax"}), version=1)
    with empty_db.read() as session:
        row = session.get(MaterialRow, "wax")
        assert row is not None
        assert (row.name, row.version) == ("Red wax", 2)
        assert row.updated_at >= before


def test_saving_without_a_change_counts_no_version(empty_db: Database) -> None:
    with empty_db.write() as session:
        nouns.add(session, WAX)
    with empty_db.write() as session:
        nouns.change(session, "wax", WAX, version=1)
    with empty_db.read() as session:
        assert [stored.version for stored in nouns.all_stored(session, PatternMaterial)] == [1]


def test_the_second_of_two_editors_is_told(empty_db: Database) -> None:
    with empty_db.write() as session:
        nouns.add(session, WAX)
        nouns.change(session, "wax", PatternMaterial(**{**_fields(WAX), "name": "first"}), version=1)
    with pytest.raises(nouns.Edited), empty_db.write() as session:
        nouns.change(session, "wax", PatternMaterial(**{**_fields(WAX), "name": "second"}), version=1)


def _fields(material: PatternMaterial) -> dict[str, object]:
    return {name: getattr(material, name) for name in ("id", "name", "density", "burnout_minutes", "burnout_peak")}
