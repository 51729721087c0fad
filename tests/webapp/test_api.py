"""The JSON interface as somebody who scripts meets it: tokens, jobs, the shop, planning, the floor, refusals."""

from __future__ import annotations

import json
import re
import shlex
from collections.abc import AsyncIterator, Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import httpx
import pytest
from databases import NewDatabase
from fastapi import FastAPI
from software import SERVER, software, token_of

from domain.week.week import Week
from webapp.actions import access as actions
from webapp.app import create_app
from webapp.auth.roles import Role
from webapp.exchange.documents import WeekDocument
from webapp.routes.api.description import description
from webapp.routes.api.table import API
from webapp.settings import Settings
from webapp.solving.runner import SolveState
from webapp.store import access, accounts, books

README = Path(__file__).resolve().parents[2] / "README.md"
RING = {
    "item": "Band ring",
    "alloy": "silver-925",
    "section": "medium",
    "material": "injection-wax",
    "quantity": 2,
    "pattern_mass": "0.8 g",
    "size": {"width": 20, "height": 22, "reach": 6},
    "ready": "2026-03-03",
    "due": "2026-03-20",
}


@pytest.fixture
def settings(
    new_database: NewDatabase,
    planned_demo: str,
    demo_settings: Callable[[str], Settings],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> Settings:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    return demo_settings(new_database(planned_demo))


@pytest.fixture
async def owner(app: FastAPI) -> AsyncIterator[httpx.AsyncClient]:
    async with software(app, token_of(app.state.db, Role.OWNER)) as client:
        yield client


@pytest.fixture
async def caster(app: FastAPI) -> AsyncIterator[httpx.AsyncClient]:
    async with software(app, token_of(app.state.db, Role.CASTER)) as client:
        yield client


def detail(answer: httpx.Response) -> str:
    assert answer.headers["content-type"] == "application/problem+json"
    problem = answer.json()
    assert problem["status"] == answer.status_code
    return str(problem["detail"])


async def test_a_token_is_made_shown_once_used_and_ended(app: FastAPI, client: httpx.AsyncClient) -> None:
    page = await client.post("/people/access", data={"name": "Order sheet", "role": "manager"})
    (token,) = re.findall(r'value="(castweek_[\w-]{43})"', page.text)
    again = (await client.get("/people/access")).text
    assert "Order sheet" in again
    assert "never" in again
    assert token not in again
    async with software(app, token) as sheet:
        assert (await sheet.get("/who")).json() == {"name": "Order sheet for This machine", "role": "manager"}
        with app.state.db.read() as session:
            ((row, _),) = access.accesses(session)
        assert token not in str(row.model_dump())
        assert row.used_on
        assert "never" not in (await client.get("/people/access")).text
        assert (await client.post(f"/people/access/{row.id}/end")).status_code == 303
        ended = await sheet.get("/who")
        assert ended.status_code == 401
        assert ended.headers["www-authenticate"].startswith("Bearer")
        assert "People, Other software" in detail(ended)


async def test_a_name_is_needed_and_is_given_once(client: httpx.AsyncClient) -> None:
    await client.post("/people/access", data={"name": "Sheet", "role": "caster"})
    twice = await client.post("/people/access", data={"name": "sheet", "role": "caster"})
    assert (twice.status_code, "named sheet already" in twice.text) == (422, True)
    assert "say what will use it" in (await client.post("/people/access", data={"name": " ", "role": "caster"})).text
    assert "a role that is yours to give" in (await client.post("/people/access", data={"name": "X", "role": "king"})).text


async def test_a_manager_gives_no_role_above_their_own_and_an_access_ends_with_its_maker(settings: Settings) -> None:
    app = create_app(replace(settings, sign_in=True))
    db = app.state.db
    with db.write() as session:
        mo = accounts.add_account(session, "Mo", Role.MANAGER, person=None, password="x", pin=None)
    who = accounts.Who(account=mo, name="Mo", role=Role.MANAGER)
    with pytest.raises(Exception, match="yours to give"):
        actions.give(db, who, {"name": "Sheet", "role": "owner"})
    token = actions.give(db, who, {"name": "Sheet", "role": "manager"})
    async with software(app, token) as sheet:
        assert (await sheet.get("/who")).json()["name"] == "Sheet for Mo"
        with db.write() as session:
            row = accounts.account(session, mo)
            assert row is not None
            accounts.end_account(session, row)
        assert (await sheet.get("/who")).status_code == 401
    db.close()


async def test_no_cookie_opens_the_interface_and_no_token_a_page(settings: Settings) -> None:
    app = create_app(replace(settings, sign_in=True))
    token = token_of(app.state.db, Role.OWNER)
    async with software(app, token) as client:
        assert (await client.get(f"{SERVER}/jobs", headers={"Origin": SERVER})).status_code == 303
        client.cookies.set("castweek_session", token)
        assert (await client.get("/jobs", headers={"Authorization": ""})).status_code == 401
        assert (await client.get("/jobs", headers={"Authorization": f"Basic {token}"})).status_code == 401
    app.state.db.close()


async def test_a_job_is_taken_in_read_changed_archived_and_restored(owner: httpx.AsyncClient) -> None:
    made = await owner.post("/jobs", json=RING)
    assert made.status_code == 201, made.text
    kept = made.json()
    assert kept["standing"]["state"] == "not planned yet"
    assert kept["value"]["pattern_mass"] == 0.8
    where = f"/jobs/{kept['key']}"
    assert (await owner.get(where)).json() == kept
    wanted = {"version": kept["version"], "value": {**kept["value"], "quantity": 5, "pattern_mass": "1 dwt"}}
    changed = (await owner.put(where, json=wanted)).json()
    assert (changed["value"]["quantity"], changed["value"]["pattern_mass"]) == (5, 1.555)
    late = await owner.put(where, json=wanted)
    assert late.status_code == 409
    assert late.json()["version"] == changed["version"]
    assert (await owner.delete(where)).json()["archived"] is True
    assert kept["key"] not in [one["key"] for one in (await owner.get("/jobs")).json()["items"]]
    assert kept["key"] in [one["key"] for one in (await owner.get("/jobs?archived=true")).json()["items"]]
    assert (await owner.post(f"{where}/restore")).json()["archived"] is False


async def test_what_is_wrong_is_told_by_field_and_changes_nothing(owner: httpx.AsyncClient) -> None:
    before = (await owner.get("/jobs")).json()
    wrong = {**RING, "alloy": "unobtainium", "size": {"width": "wide", "height": 22, "reach": 6}, "colour": "red"}
    answer = await owner.post("/jobs", json=wrong)
    assert (answer.status_code, detail(answer).startswith("Nothing was changed")) == (422, True)
    errors = {one["field"]: one["detail"] for one in answer.json()["errors"]}
    assert errors["colour"] == "is not a field of this document"
    assert "size.width" in errors
    unknown = await owner.post("/jobs", json={**RING, "alloy": "unobtainium"})
    assert [one["field"] for one in unknown.json()["errors"]] == ["alloy"]
    assert (await owner.post("/jobs", content="{", headers={"Content-Type": "application/json"})).status_code == 422
    assert (await owner.get("/jobs")).json() == before


async def test_what_is_sent_twice_with_a_key_happens_once(owner: httpx.AsyncClient, caster: httpx.AsyncClient) -> None:
    key = {"Idempotency-Key": "row 17"}
    first = await owner.post("/jobs", json=RING, headers=key)
    again = await owner.post("/jobs", json=RING, headers=key)
    assert (first.status_code, first.json()) == (again.status_code, again.json())
    assert again.headers["content-type"] == "application/json"
    other = await owner.post("/jobs", json={**RING, "quantity": 9}, headers=key)
    assert other.status_code == 409
    assert (await owner.post("/jobs", json=RING)).json()["key"] != first.json()["key"]
    assert (await caster.post("/jobs", json=RING, headers=key)).status_code == 403


@pytest.mark.parametrize("slug", ["alloys", "kilns", "lots", "powders", "consumables", "closures", "rules", "people"])
async def test_what_the_shop_owns_is_read_and_put_back_as_it_was(owner: httpx.AsyncClient, slug: str) -> None:
    where = f"/shop/{slug}/1" if slug == "rules" else f"/shop/{slug}/{(await owner.get(f'/shop/{slug}')).json()['items'][0]['key']}"
    kept = (await owner.get(where)).json()
    put = await owner.put(where, json={"version": kept["version"], "value": kept["value"]})
    assert put.status_code == 200, put.text
    assert put.json()["value"] == kept["value"]


async def test_a_lot_moves_by_movements_and_its_entry_names_the_software(owner: httpx.AsyncClient) -> None:
    lot = next(one for one in (await owner.get("/shop/lots")).json()["items"] if not one["value"]["arrives"])
    there = lot["value"]["mass"]
    moved = await owner.post(f"/shop/lots/{lot['key']}/movements", json={"kind": "count", "mass": there + 5, "reason": "weighing"})
    assert moved.status_code == 201, moved.text
    assert moved.json()["value"]["mass"] == there + 5
    newest = (await owner.get(f"/books/entries?kind=lot&ref={lot['key']}")).json()["items"][0]
    assert (newest["kind"], newest["who"]) == ("counted", "Sheet of a owner for This machine")
    assert sum(posting["mass"] for posting in newest["postings"]) == 0
    written = {"version": moved.json()["version"], "value": {**moved.json()["value"], "mass": 1}}
    refused = await owner.put(f"/shop/lots/{lot['key']}", json=written)
    assert refused.status_code == 422
    assert "movement" in detail(refused)
    back = await owner.post(f"/books/entries/{newest['number']}/take-back", json={"reason": "counted wrongly"})
    assert back.status_code == 201, back.text
    assert (await owner.get(f"/shop/lots/{lot['key']}")).json()["value"]["mass"] == there


async def test_the_week_is_read_as_the_document_that_the_app_takes_in(owner: httpx.AsyncClient) -> None:
    week = WeekDocument.model_validate((await owner.get("/week")).json()).to_domain()
    assert isinstance(week, Week)
    plan = (await owner.get("/plan")).json()
    flasks = (await owner.get("/flasks")).json()
    assert flasks["version"] == plan["version"]
    assert {one["id"] for one in flasks["items"]} == {one["id"] for one in plan["plan"]["flasks"]}
    assert [one["cast_at"] for one in flasks["items"]] == sorted(one["cast_at"] for one in flasks["items"])


async def test_planning_starts_is_waited_for_and_stopped(
    app: FastAPI, owner: httpx.AsyncClient, caster: httpx.AsyncClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    runner, asked = app.state.runner, []
    monkeypatch.setattr(
        runner, "start", lambda _shop, ask, _keep: asked.append(ask) or SolveState(phase="running", limit=ask.seconds)
    )
    started = await owner.post("/plan/planning", json={"seconds": 3, "anew": True})
    assert (started.status_code, started.json()["busy"]) == (202, True)
    assert (asked[0].seconds, asked[0].anew) == (3, True)
    assert (await owner.post("/plan/planning", json={"seconds": 1})).status_code == 422
    assert (await owner.get("/plan/planning?wait=0")).json()["phase"] == "idle"
    assert (await owner.delete("/plan/planning")).json()["phase"] == "idle"
    assert (await caster.get("/plan/planning")).status_code == 200
    assert (await caster.post("/plan/planning", json={})).status_code == 403


async def test_a_move_by_hand_passes_the_checker_or_is_refused_and_is_asked_about(owner: httpx.AsyncClient) -> None:
    flasks = (await owner.get("/flasks")).json()
    where, version = flasks["items"][-1], flasks["version"]
    job = next(iter(where["pieces"]))
    wanted = {"version": version, "job": job, "pieces": 1}
    tried = (await owner.post(f"/flasks/{where['id']}/moves/try", json=wanted)).json()
    assert tried["before"]
    kept = await owner.post(f"/flasks/{where['id']}/moves", json=wanted)
    assert kept.status_code == (200 if tried["allowed"] else 422), kept.text
    if tried["allowed"]:
        stale = await owner.post(f"/flasks/{where['id']}/moves", json=wanted)
        assert (stale.status_code, stale.json()["version"]) == (409, version + 1)
        asked = await owner.post("/plan/planning", json={})
        assert (asked.status_code, "by hand" in detail(asked)) == (409, True)
    pinned = (await owner.put(f"/flasks/{where['id']}/pin", json={"reason": "the customer comes"})).json()
    assert pinned["pinned"] == "the customer comes"
    assert (await owner.delete(f"/flasks/{where['id']}/pin")).json()["pinned"] is None


async def test_a_stage_asks_is_held_back_by_its_checklist_and_recorded(owner: httpx.AsyncClient, caster: httpx.AsyncClient) -> None:
    flask = (await caster.get("/flasks")).json()["items"][0]["id"]
    asks = (await caster.get(f"/flasks/{flask}/stages/invested")).json()["asks"]
    assert {"powder", "liquid"} <= {one["name"] for one in asks}
    bare = await caster.post(f"/flasks/{flask}/stages", json={"stage": "invested"})
    assert bare.status_code == 422
    assert "readings.powder" in {one["field"] for one in bare.json()["errors"]}
    readings = {"powder": "2 kg", "liquid": "800 g", "water_temperature": "22 C", "vacuum_minutes": "2"}
    sent: dict[str, Any] = {"stage": "invested", "readings": readings}
    odd = await caster.post(f"/flasks/{flask}/stages", json=sent)
    if odd.status_code == 409 and "sure" in odd.json():
        sent["sure"] = odd.json()["sure"]
        odd = await caster.post(f"/flasks/{flask}/stages", json=sent)
    assert odd.status_code == 409
    assert odd.json()["open"]
    check = (await caster.get(f"/flasks/{flask}/checks/invest")).json()
    point = check["points"][0]
    stale = await caster.post(f"/flasks/{flask}/checks/invest/ticks", json={"point": point["id"], "read": "{}"})
    assert stale.status_code == 409
    ticked = await caster.post(
        f"/flasks/{flask}/checks/invest/ticks",
        json={"point": point["id"], "read": point["read"], "reading": "22 C" if point["unit"] else ""},
    )
    assert ticked.status_code == 201, ticked.text
    rest = (await owner.get(f"/flasks/{flask}/checks/invest")).json()
    wanted = {"reason": "other things are tested here", "read": rest["read"]}
    assert (await caster.post(f"/flasks/{flask}/checks/invest/pass", json=wanted)).status_code == 403
    assert (await owner.post(f"/flasks/{flask}/checks/invest/pass", json=wanted)).status_code == 201
    done = await caster.post(f"/flasks/{flask}/stages", json=sent)
    assert done.status_code == 201, done.text
    record = (await caster.get(f"/flasks/{flask}/record")).json()
    assert (record["items"][0]["stage"], record["items"][0]["who"]) == ("invested", "Sheet of a caster for This machine")
    assert (await caster.post(f"/flasks/{flask}/record/undo", json={"last": record["last"]})).status_code == 200
    assert (await caster.get(f"/flasks/{flask}")).json()["stage"] == ""


async def test_metal_is_ordered_arrives_and_stands_in_the_books(app: FastAPI, owner: httpx.AsyncClient) -> None:
    metal = (await owner.get("/shop/metals")).json()["items"][0]["key"]
    ordered = await owner.post("/metal/orders", json={"metal": metal, "mass": 1234.567, "arrives": "2026-03-09", "price": 1234.56})
    assert ordered.status_code == 201, ordered.text
    (coming,) = [one for one in (await owner.get("/metal")).json()["coming"] if one["metal"] == metal and one["mass"] == 1234.567]
    came = await owner.post(f"/metal/orders/{coming['lot']}/arrived", json={"mass": 1000.001, "rest": "2026-03-12"})
    assert came.status_code == 201, came.text
    with app.state.db.read() as session:
        newest = books.entries(session, newest=1)[0]
    assert max(posting.content.mass.base for posting in newest.postings) == 1_000_001
    rest = next(one for one in (await owner.get("/metal")).json()["coming"] if one["mass"] == 234.566)
    assert (await owner.delete(f"/metal/orders/{rest['lot']}")).status_code == 200


async def test_powder_is_ordered_and_arrives(owner: httpx.AsyncClient) -> None:
    powder = next(one for one in (await owner.get("/metal/consumables")).json()["items"] if one["kind"] == "powder")
    wanted = {"kind": "powder", "ref": powder["ref"], "amount": 22_000, "arrives": "2026-03-05"}
    assert (await owner.post("/metal/consumables/orders", json=wanted)).status_code == 201
    (coming,) = (await owner.get("/metal/consumables")).json()["deliveries"]
    assert (await owner.post(f"/metal/consumables/orders/{coming['number']}/arrived", json={"amount": 22_000})).status_code == 201
    there = next(one for one in (await owner.get("/metal/consumables")).json()["items"] if one["ref"] == powder["ref"])
    assert there["amount"] == powder["amount"] + 22_000


async def test_lists_and_the_whole_shop_are_there_as_files(owner: httpx.AsyncClient, caster: httpx.AsyncClient) -> None:
    for table in ("jobs", "flasks", "metal-order", "consumables", "books"):
        assert (await caster.get(f"/files/{table}.csv")).headers["content-type"].startswith("text/csv")
        assert (await caster.get(f"/files/{table}.xlsx")).content[:2] == b"PK"
    assert b"BEGIN:VCALENDAR" in (await caster.get("/files/week.ics")).content
    assert (await owner.get("/archive.zip")).content[:2] == b"PK"
    assert (await caster.get("/archive.zip")).status_code == 403


async def test_refusals_are_problems_whatever_is_wrong(owner: httpx.AsyncClient) -> None:
    for method, path, status in (
        ("GET", "/jobs/none", 404),
        ("GET", "/nothing", 404),
        ("PATCH", "/jobs", 405),
        ("GET", "/flasks/none", 404),
        ("DELETE", "/shop/alloys/none", 404),
        ("GET", "/books/accounts/none", 422),
        ("GET", "/jobs/a%00b", 422),
    ):
        answer = await owner.request(method, path)
        assert answer.status_code == status, path
        assert detail(answer)
    large = await owner.post("/jobs", content=b" " * 6_000_001, headers={"Content-Type": "application/json"})
    assert large.status_code == 413


@pytest.mark.parametrize("role", Role)
async def test_each_role_may_what_its_description_says(app: FastAPI, role: Role) -> None:
    async with software(app, token_of(app.state.db, role)) as client:
        for path, methods in description()["paths"].items():
            for method, call in methods.items():
                address = SERVER + re.sub(r"{stage}", "cast", re.sub(r"{(key|number)}", "9999999", path))
                if role not in call["x-roles"]:
                    assert (await client.request(method, address)).status_code == 403, (method, path)
                elif method != "get":
                    # an empty body, and things that are not there: let in, and nothing is changed
                    answer = await client.request(method, address, json={} if "requestBody" in call else None)
                    assert answer.status_code in {200, 201, 202, 404, 409, 422}, (method, path, answer.text)


async def test_the_description_is_there_for_programs_and_people(client: httpx.AsyncClient) -> None:
    answer = await client.get("/api/v1/openapi.json")
    found = answer.json()
    assert found["openapi"].startswith("3.1")
    routes = sum(len(route.methods) for router, _ in API for route in router.routes)
    assert sum(len(methods) for methods in found["paths"].values()) == routes
    for methods in found["paths"].values():
        for call in methods.values():
            assert call["summary"]
            assert call["x-roles"]
    assert found["components"]["schemas"]["JobDocument-Input"]["properties"]["metal_volume"]["anyOf"][0]["unit"] == "mm³"
    page = (await client.get("/help/api")).text
    assert 'href="/help/api"' in (await client.get("/help")).text
    chapters = re.findall(r'<h2 id="[\w-]+"><a href="(/help/api/[\w-]+)"', page)
    assert len(chapters) > 20
    for chapter in chapters:
        assert "curl -" in (await client.get(chapter)).text
    assert (await client.get("/help/api/nothing")).status_code == 404


async def test_the_examples_of_the_readme_do_what_they_say(
    app: FastAPI, owner: httpx.AsyncClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(app.state.runner, "start", lambda _shop, ask, _keep: SolveState(phase="running", limit=ask.seconds))
    text = README.read_text(encoding="utf-8").replace("\\\n", " ")
    examples = [shlex.split(line) for line in re.findall(r"^ +(curl .*\$CASTWEEK.*)$", text, re.MULTILINE)]
    assert len(examples) == 4
    answers = []
    for words in examples:
        (address,) = [word.replace("$CASTWEEK", f"{SERVER}/api/v1") for word in words if word.startswith("$CASTWEEK")]
        body = json.loads(words[words.index("--json") + 1]) if "--json" in words else None
        assert "Authorization: Bearer $TOKEN" in words
        answers.append(await owner.request("POST" if body is not None else "GET", address.replace("wait=60", "wait=0"), json=body))
    assert [answer.status_code for answer in answers] == [200, 201, 202, 200]
    assert answers[1].json()["value"]["item"] in README.read_text(encoding="utf-8")
