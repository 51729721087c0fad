"""Jobs: what is typed is understood or refused beside its field, and the list says how each job stands."""

from __future__ import annotations

import re
from datetime import UTC, datetime

import httpx
import pytest
from databases import rows_of
from fastapi import FastAPI

from domain.mould.ring import Ring
from domain.planning.plan import KilnLoad, LeftOut, Plan, PlannedFlask
from domain.shop.jobs import Job
from domain.units import Length, Mass, Temperature, Volume
from webapp.store import flasks, nouns
from webapp.store.engine import Database
from webapp.store.flasks import Stage
from webapp.store.week import save_plan

MONDAY = datetime(2026, 3, 2, 8, 0)
RING = {
    "id": "J-0041",
    "customer": "Invented Jewels",
    "item": "band ring",
    "alloy": "silver-925",
    "section": "thin",
    "material": "injection-wax",
    "quantity": "6 ",
    "pattern_mass": "0.41 g",
    "size.width": '7/8"',
    "size.height": "24",
    "size.reach": "0.6 cm",
    "ready": "2026-03-02",
    "due": "2026-03-06",
    "weight": "1",
    "may_split": "on",
    "per_tree.0.key": "2x2.5",
    "per_tree.0.value": "12",
}


@pytest.fixture
def db(app: FastAPI) -> Database:
    return app.state.db  # type: ignore[no-any-return]


def _job(db: Database, key: str = "J-0041") -> Job:
    with db.read() as session:
        job = nouns.find(session, Job, key)
    assert job is not None
    return job


def _planned(db: Database, knockout_day: int = 1, left_out: tuple[LeftOut, ...] = ()) -> None:
    """A plan with four of the six rings in flask F1, knocked out ``knockout_day`` days from Monday."""
    start = knockout_day * 1440 + 600
    flask = PlannedFlask(
        id="F1",
        melt="silver-925",
        size="2x2.5",
        investment="gypsum",
        rings=(Ring(pieces=(("J-0041", 4),), height=Length.mm(24)),),
        temperature=Temperature.c(650),
        charge=Mass.g(40),
        invest_start=500,
        invest_end=515,
        load="K1",
        machine="torch",
        people=("caster",),
        cast_start=start,
        cast_end=start + 15,
        knockout_start=start + 30,
        knockout_end=start + 35,
    )
    load = KilnLoad(id="K1", kiln="bench-kiln", program="p", rows=(("F1",),), load_at=600, start=600, program_end=1000)
    with db.write() as session:
        save_plan(session, Plan(flasks=(flask,), loads=(load,), left_out=left_out), MONDAY)


async def test_an_empty_list_says_what_it_is_empty_of_and_what_to_do(client: httpx.AsyncClient) -> None:
    html = (await client.get("/jobs")).text
    assert "There is no job yet" in html
    assert 'href="/jobs/new"' in html


async def test_every_measure_is_read_in_the_unit_it_was_typed_in(client: httpx.AsyncClient, db: Database) -> None:
    assert (await client.post("/jobs", data=RING)).status_code == 303
    job = _job(db)
    assert job.pattern_mass == Mass.g("0.41")
    assert job.size.width == Length.of("0.875", "in")
    assert job.size.height == Length.mm(24)
    assert job.size.reach == Length.mm(6)
    assert job.quantity == 6
    assert job.per_tree == {"2x2.5": 12}
    assert job.may_split


async def test_a_volume_may_be_given_instead_of_a_mass(client: httpx.AsyncClient, db: Database) -> None:
    await client.post("/jobs", data={**RING, "pattern_mass": "", "metal_volume": "cad 412 mm3"})
    assert _job(db).metal_volume == Volume.mm3(412)
    assert _job(db).pattern_mass is None


async def test_a_mass_and_a_volume_together_are_refused(client: httpx.AsyncClient) -> None:
    answer = await client.post("/jobs", data={**RING, "metal_volume": "412"})
    assert answer.status_code == 422
    assert re.search(r'id="pattern_mass-error">[^<]*one of them', answer.text)


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("pattern_mass", "1.2 gr"),
        ("pattern_mass", "heavy"),
        ("quantity", "0"),
        ("size.width", "-3 mm"),
        ("due", "soon"),
        ("weight", "0"),
    ],
)
async def test_what_cannot_be_read_is_refused_beside_its_field_and_kept(
    client: httpx.AsyncClient, db: Database, field: str, typed: str
) -> None:
    answer = await client.post("/jobs", data={**RING, field: typed, "notes": "<b>mind the stone</b>"})
    assert answer.status_code == 422
    assert f'id="{field}-error"' in answer.text
    assert f'value="{typed}"' in answer.text
    assert "&lt;b&gt;mind the stone&lt;/b&gt;" in answer.text
    with db.read() as session:
        assert nouns.all_of(session, Job) == ()


async def test_an_alloy_that_is_not_there_is_refused(client: httpx.AsyncClient) -> None:
    answer = await client.post("/jobs", data={**RING, "alloy": "unobtainium"})
    assert answer.status_code == 422
    assert 'id="alloy-error"' in answer.text


async def test_a_number_that_is_taken_is_refused_and_the_next_one_proposed(client: httpx.AsyncClient) -> None:
    await client.post("/jobs", data=RING)
    answer = await client.post("/jobs", data=RING)
    assert answer.status_code == 422
    assert 'id="id-error"' in answer.text
    assert 'value="J-0042"' in (await client.get("/jobs/new")).text


async def test_a_copy_has_everything_but_the_due_day(client: httpx.AsyncClient) -> None:
    await client.post("/jobs", data=RING)
    html = (await client.get("/jobs/new?like=J-0041")).text
    assert 'value="22.225 mm"' in html
    assert re.search(r'id="due"[^>]*value=""', html)
    assert 'value="J-0042"' in html


async def test_a_job_number_with_a_slash_has_a_page(client: httpx.AsyncClient) -> None:
    await client.post("/jobs", data={**RING, "id": "26/041 a"})
    assert "Job 26/041 a" in (await client.get("/jobs/26/041%20a")).text


async def test_the_list_shows_metal_each_and_in_all(client: httpx.AsyncClient) -> None:
    await client.post("/jobs", data=RING)
    html = (await client.get("/jobs")).text
    # 0.41 g of wax of 0.95 g/cm³ in 10.36 g/cm³ silver is 4.471 g; six of them 26.827 g
    material_density = 0.95
    assert f"{0.41 * 10.36 / material_density:.2f}" == "4.47"
    assert "4.47" in html
    assert "26.8" in html
    assert "not planned yet" in html


async def test_metal_is_told_while_the_form_is_filled_in(client: httpx.AsyncClient) -> None:
    typed = {name: RING[name] for name in ("alloy", "material", "quantity", "pattern_mass")}
    assert "4.47" in (await client.get("/jobs/metal", params=typed)).text
    assert "is shown here once" in (await client.get("/jobs/metal", params={**typed, "quantity": ""})).text


async def test_the_list_shows_flask_and_day_and_what_is_in_no_flask(client: httpx.AsyncClient, db: Database) -> None:
    await client.post("/jobs", data=RING)
    _planned(db, left_out=(LeftOut(job="J-0041", pieces=2, rule=5, reason="No flask is free.", remedy="Buy one."),))
    html = (await client.get("/jobs")).text
    assert "Tue\N{NO-BREAK SPACE}3\N{NO-BREAK SPACE}Mar" in html
    assert 'href="/flask/F1"' in html
    assert "2 pieces in no flask" in html
    assert "No flask is free. Buy one." in html


async def test_a_job_whose_flask_comes_out_after_its_due_day_is_late_by_the_days_between(
    client: httpx.AsyncClient, db: Database
) -> None:
    await client.post("/jobs", data={**RING, "quantity": "4"})
    _planned(db, knockout_day=7)
    assert "late by 3 days" in (await client.get("/jobs?state=late")).text


async def test_a_job_whose_flasks_are_all_knocked_out_is_cast(client: httpx.AsyncClient, db: Database) -> None:
    await client.post("/jobs", data={**RING, "quantity": "4"})
    _planned(db)
    with db.write() as session:
        flasks.record(session, "F1", Stage.KNOCKED_OUT, plan_version=1, at=datetime(2026, 3, 3, 12, tzinfo=UTC))
    assert ">cast</span>" in (await client.get("/jobs")).text


async def test_a_filter_without_a_match_says_so(client: httpx.AsyncClient) -> None:
    await client.post("/jobs", data=RING)
    assert "None of the 1 job is like that" in (await client.get("/jobs?state=cast")).text


async def test_htmx_gets_the_list_alone(client: httpx.AsyncClient) -> None:
    html = (await client.get("/jobs", headers={"HX-Request": "true"})).text
    assert "<html" not in html
    back = (await client.get("/jobs", headers={"HX-Request": "true", "HX-History-Restore-Request": "true"})).text
    assert "<html" in back


async def test_a_job_can_be_archived_and_brought_back(client: httpx.AsyncClient, db: Database) -> None:
    await client.post("/jobs", data=RING)
    await client.post("/jobs/J-0041/archive")
    with db.read() as session:
        assert nouns.all_of(session, Job) == ()
    assert "Archive (1)" in (await client.get("/jobs")).text
    await client.post("/jobs/J-0041/restore")
    assert _job(db).item == "band ring"
    with db.read() as session:
        assert len(nouns.all_of(session, Job)) == 1


async def test_a_job_in_a_flask_that_was_begun_cannot_be_archived(client: httpx.AsyncClient, db: Database) -> None:
    await client.post("/jobs", data=RING)
    _planned(db)
    with db.write() as session:
        flasks.record(session, "F1", Stage.INVESTED, plan_version=1)
    answer = await client.post("/jobs/J-0041/archive")
    assert answer.status_code == 422
    assert "F1 holds it" in answer.text


async def test_what_is_in_a_pinned_flask_is_not_edited_away(client: httpx.AsyncClient, db: Database) -> None:
    await client.post("/jobs", data=RING)
    _planned(db)
    with db.write() as session:
        flasks.pin(session, "F1")
    answer = await client.post("/jobs/J-0041", data={**RING, "quantity": "3", "alloy": "fine-silver", "version": "1"})
    assert answer.status_code == 422
    assert 'id="quantity-error">4 of them are in flasks that do not move (F1)' in answer.text
    assert 'id="alloy-error"' in answer.text
    assert (await client.post("/jobs/J-0041", data={**RING, "quantity": "4", "version": "1"})).status_code == 303


async def test_the_second_editor_of_a_job_is_told_and_loses_nothing(client: httpx.AsyncClient, db: Database) -> None:
    await client.post("/jobs", data=RING)
    assert (await client.post("/jobs/J-0041", data={**RING, "quantity": "7", "version": "1"})).status_code == 303
    answer = await client.post("/jobs/J-0041", data={**RING, "quantity": "8", "version": "1"})
    assert answer.status_code == 409
    assert 'value="8"' in answer.text
    assert _job(db).quantity == 7
    assert (await client.post("/jobs/J-0041", data={**RING, "quantity": "8", "version": "2"})).status_code == 303


async def test_no_page_changes_anything_when_it_is_looked_at(client: httpx.AsyncClient, app: FastAPI) -> None:
    await client.post("/jobs", data=RING)
    app.state.pulse.lasts = 1  # an open page listens for minutes
    before = rows_of(app.state.settings.database_url)
    for route in _get_addresses(app):
        answer = await client.get(route)
        assert answer.status_code < 500, (route, answer.status_code)
    assert rows_of(app.state.settings.database_url) == before


def _get_addresses(app: FastAPI) -> list[str]:
    """Each GET route once, with a job, a flask or a kiln where the address asks for one."""
    fill = {"slug": "kilns", "key:path": "bench-kiln", "key": "bench-kiln", "job": "J-0041", "flask": "F1", "flask_id": "F1"}
    paths = {path for path in _paths(app.router) if path}
    return sorted(re.sub(r"\{([^}]*)\}", lambda m: fill.get(m[1], "1"), path) for path in paths)


def _paths(router: object) -> list[str]:
    found: list[str] = []
    for route in getattr(router, "routes", []):
        if "GET" in (getattr(route, "methods", None) or ()):
            found.append(route.path)
        found += _paths(getattr(route, "original_router", None))
    return found
