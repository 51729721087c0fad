"""The JSON interface beyond jobs and plan: trials, slots, the record, lists, models, checklists, people, copies, weeks."""

from __future__ import annotations

import struct
from collections.abc import AsyncIterator, Callable
from pathlib import Path
from typing import Any

import anyio
import httpx
import pytest
from databases import NewDatabase
from fastapi import FastAPI
from software import software, token_of

from webapp.auth.roles import Role
from webapp.settings import Settings


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


def good(answer: httpx.Response) -> Any:
    assert answer.is_success, answer.text
    return answer.json()


def cube(side: float) -> bytes:
    """A closed box of twelve triangles as binary STL."""
    corners = [(x * side, y * side, z * side) for x in (0, 1) for y in (0, 1) for z in (0, 1)]
    faces = ((0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3))
    triangles = [t for a, b, c, d in faces for t in ((a, b, c), (a, c, d))]
    packed = b"".join(struct.pack("<12fH", 0, 0, 0, *(v for n in t for v in corners[n]), 0) for t in triangles)
    return bytes(80) + struct.pack("<I", len(triangles)) + packed


async def test_changes_are_tried_compared_and_kept(owner: httpx.AsyncClient) -> None:
    before = good(await owner.get("/trial"))
    assert (before["phase"], before["weeks"]) == ("idle", None)
    wrong = await owner.post("/trial", json={})
    assert wrong.status_code == 422
    assert "at least one change" in wrong.json()["detail"]
    size = good(await owner.get("/shop/flask-sizes"))["items"][0]
    begun = await owner.post("/trial", json={"flasks": {"size": size["key"], "count": 2}})
    assert begun.status_code == 202, begun.text
    with anyio.fail_after(60):
        while (found := good(await owner.get("/trial")))["busy"]:
            await anyio.sleep(0.1)
    assert found["phase"] == "done", found
    assert found["changes"] == begun.json()["changes"]
    weeks = found["weeks"]
    assert [level[0]["name"] for level in weeks["levels"]][:2] == [level[1]["name"] for level in weeks["levels"]][:2]
    assert all(after["value"] <= now["value"] for now, after in weeks["levels"][:1])
    refused = await owner.post("/trial/keep", json={"key": "another"})
    assert refused.status_code == 422
    good(await owner.post("/trial/keep", json={"key": found["key"]}))
    now = good(await owner.get(f"/shop/flask-sizes/{size['key']}"))
    assert now["value"]["owned"] == size["value"]["owned"] + 2
    assert good(await owner.get("/trial"))["key"] == ""


async def test_a_flask_gets_another_slot_of_those_named_and_an_older_plan_is_refused(owner: httpx.AsyncClient) -> None:
    flasks = good(await owner.get("/flasks"))
    found = [(f, good(await owner.get(f"/flasks/{f['id']}/slots"))["items"]) for f in flasks["items"][-3:]]
    flask, slots = next((f, slots) for f, slots in found if slots)
    wanted = {name: slots[0][name] for name in ("load", "machine", "cast_start")}
    late = await owner.put(f"/flasks/{flask['id']}/slot", json={**wanted, "version": flasks["version"] + 7})
    assert (late.status_code, late.json()["version"]) == (409, flasks["version"])
    moved = good(await owner.put(f"/flasks/{flask['id']}/slot", json={**wanted, "version": flasks["version"]}))
    assert moved["cast_at"] == slots[0]["cast_at"] != flask["cast_at"]


async def test_other_places_are_named_with_their_cost(owner: httpx.AsyncClient) -> None:
    flask = good(await owner.get("/flasks"))["items"][-1]
    job = next(iter(flask["pieces"]))
    found = good(await owner.get(f"/flasks/{flask['id']}/places", params={"job": job, "pieces": 1}))
    assert len(found["items"]) <= 3
    assert all(place["cost"] and (place["to"] or place["flask"]) for place in found["items"])


async def test_the_record_suggests_and_is_answered_once(owner: httpx.AsyncClient) -> None:
    found = good(await owner.get("/record/suggestions"))
    assert found["casts"] == 40
    one = found["items"][0]
    said = good(await owner.post("/record/suggestions", json={"mark": one["mark"], "accept": False}))["said"]
    assert said == f"{one['planned']} stays."
    again = await owner.post("/record/suggestions", json={"mark": one["mark"], "accept": True})
    assert again.status_code == 422
    assert len(good(await owner.get("/record/suggestions"))["items"]) == len(found["items"]) - 1


async def test_the_work_of_a_day_is_read_in_the_order_of_the_clock(owner: httpx.AsyncClient) -> None:
    tasks = good(await owner.get("/today", params={"day": "2026-03-03"}))["items"]
    assert [task["at"] for task in tasks] == sorted(task["at"] for task in tasks)
    assert {"weigh", "cast"} <= {task["doing"] for task in tasks}
    assert (await owner.get("/today", params={"day": "soon"})).status_code == 422


@pytest.mark.outside("G. W. Warren's dental manual, p. 206–207, 6 oz of fine gold to 16 carat, by the interface")
async def test_the_bench_works_out_what_its_pages_do(owner: httpx.AsyncClient) -> None:
    asked = good(await owner.post("/bench/fineness", json={"fields": {}}))
    assert {"mass", "have", "want"} <= {field["name"] for field in asked["fields"]}
    assert asked["missing"]
    told = good(await owner.post("/bench/fineness", json={"fields": {"mass": "6 ozt", "have": "24 k", "want": "16 k"}}))
    assert any(value.replace("\u202f", " ").startswith("93.31 g") for value in told["facts"].values())
    assert (await owner.post("/bench/nothing", json={})).status_code == 404


async def test_prices_are_read_and_set_all_or_none(owner: httpx.AsyncClient) -> None:
    items = good(await owner.get("/metal/prices"))["items"]
    first = items[0]["metal"]
    good(await owner.put("/metal/prices", json={"items": [{"metal": first, "price": 12.34, "per": "ozt"}]}))
    now = {one["metal"]: one for one in good(await owner.get("/metal/prices"))["items"]}
    assert (now[first]["price"], now[first]["mass"]) == (12.34, pytest.approx(31.1035, abs=5e-4))
    wrong = [{"metal": first, "price": 1}, {"metal": "unobtainium", "price": 1}]
    refused = await owner.put("/metal/prices", json={"items": wrong})
    assert refused.json()["errors"] == [{"field": "unobtainium", "detail": "the shop knows no such metal"}]
    assert good(await owner.get("/metal/prices"))["items"][0]["price"] == 12.34


async def test_losses_returns_and_the_way_of_a_lot_are_read(owner: httpx.AsyncClient) -> None:
    losses = good(await owner.get("/metal/loss"))
    assert sum(line["flasks"] for line in losses["items"]) == 40
    for line in losses["items"]:
        assert round(line["charged"] - line["castings"] - line["returned"], 3) == line["lost"]
    assert good(await owner.get("/metal/back"))["refiner"] >= 0
    way = good(await owner.get("/books/where/forth/lot/L04"))
    assert way["account"] == {"kind": "lot", "ref": "L04"}
    assert sum(end["mass_ng"] for end in way["ends"]) <= way["mass_mg"] * 1_000_000


async def test_a_list_is_brought_in_asked_mended_and_taken(owner: httpx.AsyncClient) -> None:
    text = "Job,Piece,Alloy,Qty,Wax g,Due\nX1,Band,925,2,1.2,2026-03-20\nX2,Stud,925,two,0.4,2026-03-20\n"
    found = good(await owner.post("/lists", content=text.encode(), params={"name": "mail"}, headers=OCTETS))
    assert found["headings"] == ["Job", "Piece", "Alloy", "Qty", "Wax g", "Due"]
    key = found["draft"]
    stale = await owner.put(f"/lists/{key}/rows/3", json={"version": 99, "cells": {}})
    assert stale.status_code == 409
    said = {"size:missing": "18x20x6 mm", "material:usual": "injection-wax", "section:usual": "medium"}
    assert {question["kind"] for question in found["questions"]} == said.keys()
    found = good(await owner.post(f"/lists/{key}/answers", json={"version": found["version"], "answers": said}))
    assert found["questions"] == []
    assert [row["state"] for row in found["rows"]] == ["skipped", "ready", "error"]
    body = {"version": found["version"], "cells": {3: "2"}}
    found = good(await owner.put(f"/lists/{key}/rows/3", json=body))
    assert found["rows"][2]["job"]["quantity"] == 2
    taken = good(await owner.post(f"/lists/{key}/take-in", json={"version": found["version"]}))
    assert (taken["added"], taken["replaced"], taken["left"]) == (2, 0, 0)
    assert good(await owner.get("/jobs/X2"))["value"]["quantity"] == 2


async def test_a_model_is_measured_and_its_figures_go_into_the_job(owner: httpx.AsyncClient) -> None:
    found = good(await owner.post("/models", content=cube(10), params={"name": "cube.stl", "job": "J103"}, headers=OCTETS))
    key = found["model"]["id"]
    found = good(await owner.put(f"/models/{key}/unit", json={"unit": "mm"}))
    assert found["job"] == "J103"
    assert found["model"]["shape"]["volume"] == pytest.approx(1000)
    good(await owner.post(f"/models/{key}/take"))
    assert good(await owner.get("/jobs/J103"))["value"]["metal_volume"] == 1000
    good(await owner.delete(f"/models/{key}"))
    broken = await owner.post("/models", content=b"solid nothing", params={"name": "x.stl"}, headers=OCTETS)
    assert broken.status_code == 422


async def test_points_of_checklists_are_added_changed_left_out_and_put_back(owner: httpx.AsyncClient) -> None:
    new = {"pause": "before quench and devest", "text": "Look at the gauge of the booth.", "required": True}
    assert (await owner.post("/checklists", json={**new, "pause": "at noon"})).status_code == 422
    good(await owner.post("/checklists", json=new))
    mine = next(p for p in good(await owner.get("/checklists"))["items"] if p["text"] == new["text"])
    changed = {"version": mine["version"], "text": "Look at the gauge.", "required": False}
    unsaid = await owner.put(f"/checklists/{mine['id']}", json=changed)
    if unsaid.status_code == 422:
        assert [one["field"] for one in unsaid.json()["errors"]] == ["reason"]
        changed["reason"] = "no booth"
        good(await owner.put(f"/checklists/{mine['id']}", json=changed))
    late = await owner.put(f"/checklists/{mine['id']}", json=changed)
    assert late.status_code == 409
    now = next(p for p in good(await owner.get("/checklists"))["items"] if p["id"] == mine["id"])
    assert (now["text"], now["required"]) == ("Look at the gauge.", False)
    good(await owner.post(f"/checklists/{mine['id']}/drop", json={"version": now["version"], "reason": "no booth"}))
    assert next(p for p in good(await owner.get("/checklists"))["items"] if p["id"] == mine["id"])["dropped"]


async def test_accounts_are_made_and_ended_and_nobody_gives_more_than_they_have(app: FastAPI, owner: httpx.AsyncClient) -> None:
    wanted = {"name": "Ada Test", "role": "caster", "pin": "482913"}
    good(await owner.post("/people", json=wanted))
    number = next(a["number"] for a in good(await owner.get("/people"))["items"] if a["name"] == "Ada Test")
    async with software(app, token_of(app.state.db, Role.MANAGER)) as manager:
        refused = await manager.post("/people", json={"name": "Eve", "role": "owner", "password": "long enough 12"})
        assert refused.json()["errors"][0]["field"] == "role"
    good(await owner.delete(f"/people/{number}"))
    assert all(a["name"] != "Ada Test" for a in good(await owner.get("/people"))["items"])


async def test_feeds_and_copies_are_made_and_counted(client: httpx.AsyncClient, owner: httpx.AsyncClient) -> None:
    path = good(await owner.post("/feeds", json={"name": "Door"}))["path"]
    assert (await client.get(path)).text.startswith("BEGIN:VCALENDAR")
    (feed,) = good(await owner.get("/feeds"))["items"]
    good(await owner.delete(f"/feeds/{feed['number']}"))
    assert (await client.get(path)).status_code == 404
    before = len(good(await owner.get("/copies"))["items"])
    good(await owner.post("/copies"))
    good(await owner.put("/copies/rule", json={"daily": True, "keep": 5}))
    now = good(await owner.get("/copies"))
    assert (len(now["items"]), now["rule"]["keep"]) == (before + 1, 5)


async def test_a_week_is_previewed_and_brought_in_as_it_was(owner: httpx.AsyncClient) -> None:
    week = good(await owner.get("/week"))
    week["jobs"][0]["item"] = "Another name"
    seen = good(await owner.post("/week/preview", json=week))
    (jobs,) = [change for change in seen["changes"] if change["changed"]]
    assert jobs["changed"] == [week["jobs"][0]["id"]]
    assert "copy" in good(await owner.post("/week/load", json={"key": seen["key"]}))["said"]
    assert good(await owner.get(f"/jobs/{week['jobs'][0]['id']}"))["value"]["item"] == "Another name"


OCTETS = {"Content-Type": "application/octet-stream"}
