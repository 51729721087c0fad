"""Each stage of a flask is recorded by doing it: in order, once, with its readings, and undone by a counter-entry."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from urllib.parse import unquote

import httpx
import pytest
import sqlalchemy.exc
from sqlalchemy import text

from domain.floor.stages import Stage
from domain.planning.check import check
from domain.planning.manager import plan_by_hand
from domain.planning.plan import PlannedFlask
from domain.planning.problem import Problem
from domain.shop.casting import MachineKind
from domain.shop.jobs import Job
from domain.units import Mass
from domain.week.build import charge_alone
from webapp.actions import flask as flasks
from webapp.actions.planning import load_desk
from webapp.settings import Settings
from webapp.store import floor, nouns, plans, stock
from webapp.store.engine import Database
from webapp.store.stock import Happening
from webapp.views.flask import flask_mix


@pytest.fixture
def flask(db: Database) -> PlannedFlask:
    with db.read() as session:
        stored = plans.current_plan(session)
    assert stored is not None
    return min(stored.plan.flasks, key=lambda f: f.cast_start)


def readings(problem: Problem, flask: PlannedFlask, step: str) -> dict[str, str]:
    mix = flask_mix(problem, flask)
    assert mix is not None
    load = problem.machine[flask.machine].kind
    force = {"turns": "3"} if load is MachineKind.CENTRIFUGE else {"vacuum": "0.9 bar"}
    metal = problem.melt[flask.melt].alloy.pour.low
    return {
        "invested": {
            "powder": f"{mix.powder.decimal('g', 0) + 1} g",
            "liquid": f"{mix.liquid.decimal('g', 0)} g",
            "water_temperature": "72 °F",
            "vacuum_minutes": "2",
        },
        "started": {"ventilation": "yes"},
        "cast": {
            "flask_temperature": f"{flask.temperature.celsius()} °C",
            "metal_temperature": f"{metal.celsius()} °C",
            **force,
        },
        "quenched": {"no_glow": "yes"},
        "knocked_out": {},
    }[step]


def standing(db: Database, name: str) -> list[Stage]:
    with db.read() as session:
        return [one.stage for one in floor.happened_to(session, name)]


async def sent(client: httpx.AsyncClient, name: str, step: str, fields: dict[str, str], key: str = "") -> httpx.Response:
    """A form; what is asked about is confirmed as on the screen."""
    address = f"/flask/{name}/floor/{step}"
    fields = {**fields, "key": key or step}
    answer = await client.post(address, data=fields)
    sure = re.search(r'name="sure" value="([^"]*)"', answer.text)
    if answer.status_code == 422 and sure:
        return await client.post(address, data={**fields, "sure": sure[1].replace("&#39;", "'")})
    return answer


async def cast_and_out(client: httpx.AsyncClient, db: Database, settings: Settings, problem: Problem, name: str) -> None:
    if not standing(db, name):
        flasks.mark(db, settings, (name,), Stage.INVESTED, "1")
    flasks.mark(db, settings, (name,), Stage.LOADED, "2")
    flasks.mark(db, settings, (name,), Stage.STARTED, "3")
    with db.read() as session:
        stored = plans.current_plan(session)
    planned = stored.plan.flask(name) if stored else None
    assert planned is not None
    for step in ("cast", "knocked_out"):
        answer = await sent(client, name, step, readings(problem, planned, step))
        assert answer.status_code == 303, answer.text


async def test_investing_is_recorded_with_its_readings_in_any_unit(
    client: httpx.AsyncClient, db: Database, problem: Problem, flask: PlannedFlask
) -> None:
    form = (await client.get(f"/flask/{flask.id}/floor/invested")).text
    assert "planned: " in form
    assert "usual: 21" in form
    answer = await sent(client, flask.id, "invested", {**readings(problem, flask, "invested"), "who": "Somebody"})
    assert (answer.status_code, answer.headers["location"]) == (303, f"/flask/{flask.id}/floor")
    with db.read() as session:
        row = floor.happened_to(session, flask.id)[0]
    assert (row.stage, row.who, row.note) == (Stage.INVESTED, "Somebody", "")
    assert row.readings["water_temperature"] == "22.222 °C"
    assert "wait" not in (await client.get(f"/flask/{flask.id}/floor")).text[:10]
    assert "the bench rest ends at" in (await client.get(f"/flask/{flask.id}/floor/loaded")).text


async def test_one_step_of_the_way_is_next_from_the_tree_to_the_pieces(
    client: httpx.AsyncClient, db: Database, settings: Settings, problem: Problem, flask: PlannedFlask
) -> None:
    async def next_step() -> list[str]:
        page = (await client.get(f"/flask/{flask.id}/floor")).text
        return [name.strip() for name in re.findall(r"▶ next</span>\s*([^<]*)", page)]

    assert await next_step() == ["Weigh the tree"]
    flasks.mark(db, settings, (flask.id,), Stage.INVESTED, "0")
    assert await next_step() == ["Load it into the kiln"]
    await cast_and_out(client, db, settings, problem, flask.id)
    assert await next_step() == ["Cut off, weigh castings and returns"]


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("powder", "", "type what was read"),
        ("powder", "a lot", "a lot"),
        ("water_temperature", "warm", "warm"),
        ("vacuum_minutes", "-2", "less than nothing"),
        ("started", "25:00", "not a time of day"),
    ],
)
async def test_a_bad_reading_is_told_beside_its_field_and_nothing_typed_is_lost(
    client: httpx.AsyncClient, db: Database, problem: Problem, flask: PlannedFlask, field: str, typed: str, says: str
) -> None:
    fields = {**readings(problem, flask, "invested"), field: typed}
    answer = await client.post(f"/flask/{flask.id}/floor/invested", data={**fields, "key": "k"})
    assert answer.status_code == 422
    error = re.search(rf'id="{field}-error">([^<]*)<', answer.text)
    assert error
    assert says in error[1]
    assert f'value="{fields["liquid"]}"' in answer.text
    assert standing(db, flask.id) == []


async def test_a_reading_out_of_range_is_asked_about_and_kept_with_the_remark(
    client: httpx.AsyncClient, db: Database, problem: Problem, flask: PlannedFlask
) -> None:
    fields = {**readings(problem, flask, "invested"), "water_temperature": "40 °C", "key": "k"}
    asked = await client.post(f"/flask/{flask.id}/floor/invested", data=fields)
    assert asked.status_code == 422
    assert "Is this so?" in asked.text
    assert standing(db, flask.id) == []
    other = await client.post(f"/flask/{flask.id}/floor/invested", data={**fields, "sure": "something else"})
    assert other.status_code == 422
    assert (await sent(client, flask.id, "invested", fields, "k")).status_code == 303
    with db.read() as session:
        assert "40 °C" in floor.happened_to(session, flask.id)[0].note


async def test_nothing_is_cast_before_its_program_was_started(
    client: httpx.AsyncClient, db: Database, settings: Settings, problem: Problem, flask: PlannedFlask
) -> None:
    flasks.mark(db, settings, (flask.id,), Stage.INVESTED, "1")
    answer = await sent(client, flask.id, "cast", readings(problem, flask, "cast"))
    assert answer.status_code == 422
    assert f"{flask.id} is not marked loaded yet" in answer.text
    assert standing(db, flask.id) == [Stage.INVESTED]


async def test_a_kiln_starts_for_all_that_are_in_it_and_with_its_ventilation(
    client: httpx.AsyncClient, db: Database, settings: Settings
) -> None:
    with db.read() as session:
        stored = plans.current_plan(session)
    assert stored is not None
    load = next(one for one in stored.plan.loads if len(one.flasks) > 2)
    first, *others = load.flasks
    flasks.mark(db, settings, load.flasks, Stage.INVESTED, "1")
    flasks.mark(db, settings, load.flasks[:-1], Stage.LOADED, "2")
    dry = await client.post(f"/flask/{first}/floor/started", data={"key": "s"})
    assert "tick it when it is so" in dry.text
    asked = await client.post(f"/flask/{first}/floor/started", data={"ventilation": "yes", "key": "s"})
    assert f"{load.flasks[-1]} of this load is not marked loaded" in asked.text
    assert (await sent(client, first, "started", {"ventilation": "yes"})).status_code == 303
    assert [standing(db, name)[-1] for name in load.flasks] == [Stage.STARTED] * (len(others)) + [Stage.INVESTED]
    step = re.search(r'name="step" value="([^"]+)"', (await client.get(f"/flask/{first}/floor")).text)
    assert step
    await client.post(f"/flask/{first}/record/undo", data={"step": step[1], "key": "u"})
    assert {standing(db, name)[-1] for name in load.flasks[:-1]} == {Stage.LOADED}


async def test_a_stage_that_is_sent_twice_counts_once_and_another_marks_nothing_more(
    client: httpx.AsyncClient, db: Database, problem: Problem, flask: PlannedFlask
) -> None:
    for key in ("a", "a", "b"):
        assert (await sent(client, flask.id, "invested", readings(problem, flask, "invested"), key)).status_code == 303
    assert standing(db, flask.id) == [Stage.INVESTED]


async def test_whoever_records_a_stage_second_is_shown_what_the_first_wrote_and_may_put_it_right(
    client: httpx.AsyncClient, db: Database, problem: Problem, flask: PlannedFlask
) -> None:
    first = {**readings(problem, flask, "invested"), "who": "Runa"}
    assert (await sent(client, flask.id, "invested", first, "a")).status_code == 303
    second = {**first, "who": "Ilko", "vacuum_minutes": "3"}
    late = await sent(client, flask.id, "invested", second, "b")
    assert late.status_code == 409
    told = late.text.split("Somebody wrote this down already", 1)[1]
    assert ", Runa. Yours differs" in told
    assert re.search(r'Under vacuum for</th><td data-label="Theirs">2</td><td data-label="Yours">3<', told)
    assert "Powder</th>" not in told.split("</table>", 1)[0]
    assert 'value="3"' in told
    assert standing(db, flask.id) == [Stage.INVESTED]
    instead = re.search(r'name="instead" value="(\d+)"', told)
    assert instead
    for _ in range(2):
        assert (await sent(client, flask.id, "invested", {**second, "instead": instead[1]}, "b")).status_code == 303
    with db.read() as session:
        (row,) = floor.happened_to(session, flask.id)
        assert len(floor.everything(session, flask.id)) == 3
    assert (row.who, row.readings["vacuum_minutes"]) == ("Ilko", "3")


async def test_loading_somewhere_else_than_planned_is_asked_about(
    client: httpx.AsyncClient, db: Database, settings: Settings, problem: Problem, flask: PlannedFlask
) -> None:
    flasks.mark(db, settings, (flask.id,), Stage.INVESTED, "1")
    kiln = problem.shop.kilns[0].name
    page = (await client.get(f"/flask/{flask.id}/floor/loaded")).text
    assert "Paper does not go into a kiln" in page
    asked = await client.post(f"/flask/{flask.id}/floor/loaded", data={"kiln": kiln, "position": "elsewhere", "key": "k"})
    assert asked.status_code == 422
    assert "the plan has position" in asked.text
    wrong = await client.post(f"/flask/{flask.id}/floor/loaded", data={"kiln": "the oven", "position": "elsewhere", "key": "k"})
    assert "not one of the choices" in wrong.text


async def test_the_cast_wants_the_metal_read_or_judged(
    client: httpx.AsyncClient, db: Database, settings: Settings, problem: Problem, flask: PlannedFlask
) -> None:
    for n, stage in enumerate((Stage.INVESTED, Stage.LOADED, Stage.STARTED)):
        flasks.mark(db, settings, (flask.id,), stage, str(n))
    fields = readings(problem, flask, "cast")
    del fields["metal_temperature"]
    answer = await client.post(f"/flask/{flask.id}/floor/cast", data={**fields, "key": "k"})
    assert "read it, or judge the metal by eye below" in answer.text
    judged = {**fields, "judgement": "still and mirror-bright, flows freely"}
    assert (await sent(client, flask.id, "cast", judged, "k")).status_code == 303
    with db.read() as session:
        row = floor.happened_to(session, flask.id)[-1]
    assert row.cast_as is not None
    assert row.cast_as.flask_temperature == flask.temperature
    assert "the burnout program" in row.note


async def test_the_last_step_is_undone_by_a_counter_entry_and_struck_through_in_the_record(
    client: httpx.AsyncClient, db: Database, problem: Problem, flask: PlannedFlask
) -> None:
    await sent(client, flask.id, "invested", readings(problem, flask, "invested"))
    step = re.search(r'name="step" value="([^"]+)"', (await client.get(f"/flask/{flask.id}/floor")).text)
    assert step
    for _ in range(2):
        answer = await client.post(f"/flask/{flask.id}/record/undo", data={"step": step[1], "key": "back"})
        assert answer.status_code == 303
    assert standing(db, flask.id) == []
    page = (await client.get(f"/flask/{flask.id}/record")).text
    assert "<s>" in page
    assert "undone" in page
    stale = await client.post(f"/flask/{flask.id}/record/undo", data={"step": step[1], "key": "again"})
    assert stale.status_code == 422
    with db.read() as session:
        assert len(floor.everything(session, flask.id)) == 2


async def test_a_miscast_becomes_a_job_of_its_own_once(
    client: httpx.AsyncClient, db: Database, settings: Settings, problem: Problem, flask: PlannedFlask
) -> None:
    await cast_and_out(client, db, settings, problem, flask.id)
    job, count = next(iter(flask.contents.items()))
    too_many = await client.post(
        f"/flask/{flask.id}/pieces", data={"job": job, "pieces": str(count + 1), "outcome": "misrun", "key": "a"}
    )
    assert too_many.status_code == 422
    assert f"{count} of {job} are left to look at" in too_many.text
    for key in ("b", "b"):
        await client.post(f"/flask/{flask.id}/pieces", data={"job": job, "pieces": "1", "outcome": "misrun", "key": key})
    page = (await client.get(f"/flask/{flask.id}/pieces")).text
    assert "Usual causes" in page
    link = re.search(r'href="(/flask/[^"]+/recast/\d+)"', page)
    assert link
    form = (await client.get(link[1])).text
    fields = dict(re.findall(r'name="(quantity|due|ready)" value="([^"]*)"', form))
    assert fields["quantity"] == "1"
    bad = await client.post(link[1], data={**fields, "due": "soon", "key": "r"})
    assert "choose a day" in bad.text
    for key in ("r", "r", "s"):
        assert (await client.post(link[1], data={**fields, "key": key})).status_code == 303
    with db.read() as session:
        old = nouns.find(session, Job, job)
        new = [one for one in nouns.all_of(session, Job) if one.notes.startswith(f"Recast of {job}")]
    assert old is not None
    assert [(one.quantity, one.item, one.alloy, one.weight) for one in new] == [(1, old.item, old.alloy, old.weight)]


async def cast_own_again(client: httpx.AsyncClient, db: Database, settings: Settings, problem: Problem) -> tuple[str, str]:
    """One piece of a customer's own metal is miscast and is to be cast again; sent three times. Returns the flask, and
    what the page said."""
    with db.read() as session:
        stored = plans.current_plan(session)
    assert stored is not None
    name = next(f.id for f in stored.plan.flasks if "J126" in f.contents)
    await cast_and_out(client, db, settings, problem, name)
    await client.post(f"/flask/{name}/pieces", data={"job": "J126", "pieces": "1", "outcome": "misrun", "key": "a"})
    link = re.search(r'href="(/flask/[^"]+/recast/\d+)"', (await client.get(f"/flask/{name}/pieces")).text)
    assert link
    form = (await client.get(link[1])).text
    assert "from lot C01, the customer's own metal" in form
    fields = dict(re.findall(r'name="(quantity|due|ready)" value="([^"]*)"', form))
    answers = [await client.post(link[1], data={**fields, "key": key}) for key in ("r", "r", "s")]
    assert [answer.status_code for answer in answers] == [303] * 3
    return name, unquote(answers[0].headers["set-cookie"]).replace("\u202f", " ")


async def test_a_customers_own_metal_is_cast_again_for_the_same_job(
    client: httpx.AsyncClient, db: Database, settings: Settings, problem: Problem
) -> None:
    with db.write() as session:
        stock.change_lot(session, "C01", Happening.RECEIPT, Mass.g(40))
    before = {job.id: job for job in nouns_of(db)}
    name, told = await cast_own_again(client, db, settings, problem)
    assert "J126 is to cast more, from its customer's own metal. The next plan finds a place for it." in told
    after = {job.id: job for job in nouns_of(db)}
    assert after.keys() == before.keys()
    assert (after["J126"].quantity, after["J126"].own_metal) == (before["J126"].quantity + 1, "C01")
    with db.read() as session:
        desk = load_desk(session, settings)
    plan = plan_by_hand(desk.problem)
    assert not check(desk.problem, plan, metal=False)
    again = [flask for flask in plan.flasks if "J126" in flask.contents]
    assert sum(flask.contents["J126"] for flask in again) == before["J126"].quantity + 1
    assert {desk.problem.melt[flask.melt].own_lot for flask in again} == {"C01"}
    step = re.search(r'name="step" value="([^"]*)"', (await client.get(f"/flask/{name}/record")).text)
    assert step
    await client.post(f"/flask/{name}/record/undo", data={"step": step[1], "key": "u"})
    assert {job.id: job for job in nouns_of(db)} == before


async def test_a_page_says_how_much_of_a_customers_own_metal_is_missing(
    client: httpx.AsyncClient, db: Database, settings: Settings, problem: Problem
) -> None:
    own = problem.job["J126"]
    wants = charge_alone(problem.shop, problem.melt[own.melt].alloy, own, 1)
    with db.read() as session:
        stored = plans.current_plan(session)
    assert stored is not None
    gone = next(c for c in stored.plan.charges if c.parts[0].ref == "C01")
    kept = Mass(sum(part.mass.base for part in gone.parts) + 1_000)
    with db.write() as session:
        stock.change_lot(session, "C01", Happening.COUNT, kept, note="weighed again")
    _, told = await cast_own_again(client, db, settings, problem)
    assert f"wants {wants.decimal('g', 1)} g, and lot C01 holds 1.0 g" in told
    assert f"{(wants - Mass.g(1)).decimal('g', 1)} g are missing. Ask the customer for more of their metal." in told


async def test_last_times_show_the_readings_and_how_it_came_out(
    client: httpx.AsyncClient, db: Database, settings: Settings, problem: Problem, flask: PlannedFlask
) -> None:
    await cast_and_out(client, db, settings, problem, flask.id)
    job = next(iter(flask.contents))
    await client.post(f"/flask/{flask.id}/pieces", data={"job": job, "pieces": "1", "outcome": "gas-porosity", "key": "p"})
    with db.read() as session:
        stored = plans.current_plan(session)
    assert stored is not None
    sections = {j.id: j.section for j in nouns_of(db)}
    alike = {(flask.melt.partition("/")[0], sections[j]) for j in flask.contents}
    other = next(
        f
        for f in stored.plan.flasks
        if f.id != flask.id and any((f.melt.partition("/")[0], sections[j]) in alike for j in f.contents)
    )
    page = (await client.get(f"/flask/{other.id}/times")).text
    assert flask.id in page
    assert "not read" not in page.split("This alloy", 1)[1].split("</tr>")[1]


def nouns_of(db: Database) -> tuple[Job, ...]:
    with db.read() as session:
        return nouns.all_of(session, Job)


def test_the_database_refuses_to_change_what_was_recorded(db: Database, settings: Settings, flask: PlannedFlask) -> None:
    flasks.mark(db, settings, (flask.id,), Stage.INVESTED, "1")
    for statement in ("UPDATE floor_record SET who = 'x'", "DELETE FROM floor_record"):
        with pytest.raises(sqlalchemy.exc.DatabaseError), db.write() as session:
            session.execute(text(statement))


async def test_a_tree_that_is_no_weight_is_told_beside_its_field(client: httpx.AsyncClient, flask: PlannedFlask) -> None:
    bad = await client.post(f"/flask/{flask.id}/tree", data={"gross": "heavy", "base": "1 g", "key": "t"})
    assert bad.status_code == 422
    assert 'value="heavy"' in bad.text


def test_moments_are_kept_in_utc(db: Database, settings: Settings, flask: PlannedFlask) -> None:
    flasks.mark(db, settings, (flask.id,), Stage.INVESTED, "1")
    with db.read() as session:
        at = floor.happened_to(session, flask.id)[0].at
    assert at.utcoffset() == timedelta(0)
    assert isinstance(at, datetime)
