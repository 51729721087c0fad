"""The shop's checklists are edited on a page, and what is printed follows them."""

from __future__ import annotations

import re
from collections.abc import AsyncIterator, Callable, Iterator
from html import unescape

import httpx
import pytest
from databases import NewDatabase
from fastapi import FastAPI
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError

from webapp.app import create_app
from webapp.settings import Settings
from webapp.store import checklists
from webapp.store.engine import Database
from webapp.store.plans import current_plan

HERE = "/shop/checklists"
ORIGIN = "http://localhost:8765"


@pytest.fixture
def app(new_database: NewDatabase, planned_demo: str, demo_settings: Callable[[str], Settings]) -> Iterator[FastAPI]:
    app = create_app(demo_settings(new_database(planned_demo)))
    yield app
    app.state.db.close()


@pytest.fixture
async def client(app: FastAPI) -> AsyncIterator[httpx.AsyncClient]:
    transport = httpx.ASGITransport(app=app, raise_app_exceptions=False)
    async with httpx.AsyncClient(transport=transport, base_url=ORIGIN, headers={"Origin": ORIGIN}) as client:
        yield client


@pytest.fixture
def db(app: FastAPI) -> Database:
    return app.state.db  # type: ignore[no-any-return]


@pytest.fixture
def sheet(db: Database) -> str:
    """The address of a flask's printed checklist."""
    with db.read() as session:
        stored = current_plan(session)
    assert stored is not None
    return f"/print/flask/{stored.plan.flasks[0].id}/checklist"


def kept(db: Database) -> dict[str, int]:
    with db.read() as session:
        return checklists.versions(session)


def words(answer: httpx.Response) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]*>", " ", answer.text)))


OWN = {
    "pause": "INVEST",
    "text": "Close the window to the yard.",
    "why": "Draught dries the rim.",
    "reading": "none",
    "required": "on",
}
TREE = {"version": "0", "text": "Weigh the bare tree twice.", "why": "One reading slips.", "reading": "mass", "required": "on"}


async def test_an_edit_is_the_shops_own_and_is_what_is_printed(client: httpx.AsyncClient, sheet: str) -> None:
    assert "Weigh the bare tree twice." not in words(await client.get(sheet))
    answer = await client.post(f"{HERE}/invest-tree", data=TREE)
    assert answer.status_code == 303
    assert answer.headers["location"] == f"{HERE}#invest-tree"
    page = words(await client.get(HERE))
    assert "Weigh the bare tree twice." in page
    assert "the shop's own" in page
    assert "Starting text: Weigh the tree without its base" in page
    printed = words(await client.get(sheet))
    assert "Weigh the bare tree twice." in printed
    assert "Weigh the tree without its base" not in printed


async def test_the_starting_text_comes_back_with_one_button(client: httpx.AsyncClient, sheet: str) -> None:
    await client.post(f"{HERE}/invest-tree", data=TREE)
    assert (await client.post(f"{HERE}/invest-tree/restore", data={"version": "1"})).status_code == 303
    assert "Weigh the tree without its base" in words(await client.get(sheet))
    assert "the shop's own" not in words(await client.get(HERE)).replace("is marked as the shop's own", "")


async def test_a_point_of_the_shops_own_is_added_moved_left_out_and_put_back(client: httpx.AsyncClient, sheet: str) -> None:
    answer = await client.post(HERE, data=OWN)
    assert answer.headers["location"] == f"{HERE}#own-close-the-window-to-the-yard"
    point = f"{HERE}/own-close-the-window-to-the-yard"
    assert OWN["text"] in words(await client.get(sheet))
    for _ in range(9):
        assert (await client.post(f"{point}/move/up")).status_code == 303
    page = (await client.get(HERE)).text
    assert page.index('id="own-close-the-window-to-the-yard"') < page.index('id="invest-number"')
    version = (await client.get(point)).text.split('name="version" value="')[1].split('"')[0]
    answer = await client.post(f"{point}/drop", data={"version": version, "drop_reason": "it was walled up"})
    assert answer.status_code == 303
    assert OWN["text"] not in words(await client.get(sheet))
    assert "Because: it was walled up." in words(await client.get(HERE))
    assert (await client.post(f"{point}/put-back", data={"version": str(int(version) + 1)})).status_code == 303
    assert OWN["text"] in words(await client.get(sheet))


async def test_a_tenth_point_is_refused_and_everything_typed_is_kept(client: httpx.AsyncClient, db: Database) -> None:
    answer = await client.post(HERE, data={**OWN, "pause": "MELT", "alone": "yes"})
    assert answer.status_code == 422
    assert "for these flasks: casting alone and torch (10 points)" in words(answer)
    assert "Leave out another point" in words(answer)
    assert OWN["text"] in answer.text
    assert re.search(r'value="MELT" selected', answer.text)
    assert re.search(r'value="yes" selected>casting alone', answer.text)
    assert kept(db) == {}
    assert (await client.post(HERE, data={**OWN, "pause": "MELT", "heat": "induction"})).status_code == 303


async def test_a_point_with_a_caution_is_not_left_out_without_a_reason(client: httpx.AsyncClient, db: Database, sheet: str) -> None:
    page = words(await client.get(f"{HERE}/invest-exhaust"))
    assert "rests on a published source (29 CFR 1910.1053(h))" in page
    answer = await client.post(f"{HERE}/invest-exhaust/drop", data={"version": "0", "drop_reason": "  "})
    assert answer.status_code == 422
    assert re.search(r'id="drop_reason-error">say why', answer.text)
    assert kept(db) == {}
    reason = "extraction runs by itself whenever the light is on"
    assert (await client.post(f"{HERE}/invest-exhaust/drop", data={"version": "0", "drop_reason": reason})).status_code == 303
    assert f"Because: {reason}." in words(await client.get(HERE))
    assert "Switch dust extraction on" not in words(await client.get(sheet))


async def test_making_such_a_point_optional_needs_a_reason_beside_its_field(client: httpx.AsyncClient, db: Database) -> None:
    typed = {"version": "0", "text": "Switch the fan on.", "why": "", "reading": "none"}
    answer = await client.post(f"{HERE}/invest-exhaust", data=typed)
    assert answer.status_code == 422
    assert re.search(r'id="reason-error">say why', answer.text)
    assert "Switch the fan on." in answer.text
    assert kept(db) == {}
    await client.post(f"{HERE}/invest-exhaust", data={**typed, "reason": "it runs all day"})
    assert "Need not be ticked, because: it runs all day" in words(await client.get(HERE))


async def test_the_second_editor_is_told_and_loses_nothing(client: httpx.AsyncClient) -> None:
    assert (await client.post(f"{HERE}/invest-tree", data=TREE)).status_code == 303
    answer = await client.post(f"{HERE}/invest-tree", data={**TREE, "text": "Weigh it thrice <now>."})
    assert answer.status_code == 409
    assert "Somebody else saved a newer version" in answer.text
    assert "Weigh it thrice &lt;now&gt;." in answer.text
    assert 'name="version" value="1"' in answer.text
    late = await client.post(f"{HERE}/invest-tree/drop", data={"version": "0", "drop_reason": "typed late"})
    assert late.status_code == 409
    assert 'value="typed late"' in late.text
    for stale in ({"version": "0"}, {}, {"version": "x"}):
        assert (await client.post(f"{HERE}/invest-tree/restore", data=stale)).status_code == 409
    again = await client.post(f"{HERE}/invest-tree", data={**TREE, "version": "1", "text": "Weigh it thrice."})
    assert again.status_code == 303


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("reading", "humidity"),
        ("heat", "microwave"),
        ("caution", "glitter"),
        ("pause", "LUNCH"),
        ("text", "x" * 90),
        ("text", "{moon}"),
    ],
)
async def test_what_is_not_known_is_refused_beside_its_field(
    client: httpx.AsyncClient, db: Database, field: str, value: str
) -> None:
    answer = await client.post(HERE, data={**OWN, field: value})
    assert answer.status_code == 422
    assert f'id="{field}-error"' in answer.text
    assert kept(db) == {}


async def test_a_caution_of_one_of_the_shops_alloys_may_call_for_a_point(client: httpx.AsyncClient, db: Database) -> None:
    with db.write() as session:
        session.connection().execute(text("UPDATE alloy SET cautions = '[\"tarnish\"]' WHERE id = (SELECT min(id) FROM alloy)"))
    assert (await client.post(HERE, data={**OWN, "caution": "tarnish"})).status_code == 303
    assert ">tarnish</span>" in (await client.get(HERE)).text


async def test_saving_every_form_as_it_was_shown_changes_nothing_that_is_asked(client: httpx.AsyncClient, sheet: str) -> None:
    before = words(await client.get(sheet))
    for point in re.findall(r'<li id="([^"]+)"', (await client.get(HERE)).text):
        html = (await client.get(f"{HERE}/{point}")).text
        form = html.split('<form class="fields"')[1].split("</form>")[0]
        typed = {
            name: unescape(inner)
            for name, inner in re.findall(r'<textarea[^>]*name="(\w+)"[^>]*>(.*?)</textarea>', form, re.DOTALL)
        }
        chosen = re.search(r'value="(\w+)" selected', form)
        assert chosen is not None
        typed |= {"version": "0", "reading": chosen[1], **({"required": "on"} if " checked" in form else {})}
        assert (await client.post(f"{HERE}/{point}", data=typed)).status_code == 303, point
    assert "Starting text" not in words(await client.get(HERE))
    assert words(await client.get(sheet)) == before


async def test_looking_changes_nothing(client: httpx.AsyncClient, db: Database, sheet: str) -> None:
    for address in (HERE, f"{HERE}/new", f"{HERE}/new?pause=KILN", f"{HERE}/new?pause=x", f"{HERE}/melt-gas", sheet):
        assert (await client.get(address)).status_code == 200, address
    for action in ("drop", "restore", "put-back", "move/up"):
        assert (await client.get(f"{HERE}/melt-gas/{action}")).status_code == 404
    assert kept(db) == {}


async def test_a_point_that_is_not_there_is_not_found(client: httpx.AsyncClient) -> None:
    assert (await client.get(f"{HERE}/own-nothing")).status_code == 404
    for action in ("", "/drop", "/restore", "/put-back", "/move/up"):
        assert (await client.post(f"{HERE}/own-nothing{action}")).status_code == 404
    assert (await client.post(f"{HERE}/melt-gas/move/sideways")).status_code == 422


@pytest.mark.parametrize(
    "wrong",
    [
        "pause = 'lunch'",
        "reading = 'humidity'",
        "text = ''",
        "text = '" + 90 * "1" + "'",
        "why = '" + 161 * "1" + "'",
        "position = -1",
        "text = NULL",
        "required = NULL",
        "reading = NULL",
    ],
)
async def test_the_database_itself_refuses_a_broken_point(client: httpx.AsyncClient, db: Database, wrong: str) -> None:
    await client.post(HERE, data=OWN)
    with pytest.raises(IntegrityError), db.write() as session:
        session.connection().execute(text(f"UPDATE checklist_point SET {wrong}"))
