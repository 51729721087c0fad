"""What people see of the books, and write into them."""

from __future__ import annotations

import csv
import io
import re

import httpx
import pytest

from domain.books.accounts import Account, AccountKind, melt
from domain.books.entries import EntryKind
from domain.planning.plan import From
from domain.units import Mass, total
from webapp.actions import flask as flasks
from webapp.actions import melts
from webapp.actions.books import CUSTODY_FIELDS, ENTRY_FIELDS
from webapp.settings import Settings
from webapp.store import books, plans
from webapp.store.books_check import broken
from webapp.store.engine import Database
from webapp.store.flasks import Stage
from webapp.views.books import held


@pytest.fixture
def first(db: Database, settings: Settings) -> str:
    with db.read() as session:
        stored = plans.current_plan(session)
        assert stored is not None
        name = next(c.flask for c in stored.plan.charges if all(p.origin is From.LOT for p in c.parts) and len(c.parts) > 1)
    for stage in (Stage.INVESTED, Stage.LOADED, Stage.STARTED):
        flasks.mark(db, settings, (name,), stage, str(stage))
    return name


def _form(page: str, action: str) -> dict[str, str]:
    """The fields of a form as a browser would send them."""
    form = page[page.index(f'action="{action}"') :]
    form = form[: form.index("</form>")]
    fields = dict(re.findall(r'<input[^>]*name="([^"]+)"[^>]*value="([^"]*)"', form))
    for name, options in re.findall(r'<select[^>]*name="([^"]+)"[^>]*>(.*?)</select>', form, re.DOTALL):
        fields[name] = next(iter(re.findall(r'value="([^"]*)" selected', options)), "")
    return fields


async def test_a_flasks_metal_is_weighed_in_and_out_and_put_back_on_the_shelf(
    client: httpx.AsyncClient, db: Database, first: str
) -> None:
    address = f"/flask/{first}/metal"
    charge = _form((await client.get(address)).text, f"{address}/charge")
    assert sum(1 for name in charge if name.startswith("mass.") and charge[name]) > 1
    for _ in range(2):  # the second press of the button counts once
        assert (await client.post(f"{address}/charge", data=charge)).status_code == 303
    with db.read() as session:
        charged = books.balance(session, melt(first)).mass
        jobs = list(melts.planned_flask(session, first).contents)
    too_much = {f"job.{job}": "900" for job in jobs} | {"back": "10", "key": "a"}
    refused = await client.post(f"{address}/out", data=too_much)
    assert refused.status_code == 422
    assert "more came out than was charged" in refused.text
    assert 'value="900"' in refused.text
    rest = charged.base - 1000 * len(jobs) - 300
    out = {f"job.{job}": "1" for job in jobs} | {"back": f"{rest / 1000:.3f}", "key": "b"}
    assert (await client.post(f"{address}/out", data=out)).status_code == 303
    shelf = _form((await client.get(address)).text, f"{address}/shelf")
    assert (await client.post(f"{address}/shelf", data={**shelf, "to": "shelf"})).status_code == 303
    page = (await client.get(address)).text
    assert f"R-{first}" in page
    with db.read() as session:
        assert broken(session) == ()
        assert books.balance(session, Account(AccountKind.LOSS, first)).mass.base == 300


async def test_a_lot_that_holds_too_little_is_said_beside_its_row(client: httpx.AsyncClient, first: str) -> None:
    answer = await client.post(
        f"/flask/{first}/metal/charge", data={"lot.0": "L03", "mass.0": "1", "lot.1": "R06", "mass.1": "900"}
    )
    assert answer.status_code == 422
    assert "lot R06 holds" in answer.text
    assert 'id="mass.1-error"' in answer.text


async def test_a_flask_of_weeks_ago_still_shows_its_metal(client: httpx.AsyncClient) -> None:
    page = await client.get("/flask/P07/metal")
    assert page.status_code == 200
    assert "back on the shelf" in page.text
    assert 'action="/flask/P07/metal/charge"' not in page.text
    assert (await client.get("/flask/none-such/metal")).status_code == 422


async def test_an_entry_is_taken_back_with_a_reason(
    client: httpx.AsyncClient, db: Database, first: str, settings: Settings
) -> None:
    flasks.mark(db, settings, (first,), Stage.CAST, "cast")
    with db.read() as session:
        (entry,) = melts.books_of(session, first).kind(EntryKind.CHARGE)
    address = f"/books/entries/{entry.id}/take-back"
    assert "goes back to" in (await client.get(address)).text
    assert "say why" in (await client.post(address, data={"reason": ""})).text
    for _ in range(2):
        assert (await client.post(address, data={"reason": "wrong flask", "key": "once"})).status_code == 303
    again = await client.post(address, data={"reason": "wrong flask", "key": "twice"})
    assert "taken back already" in again.text
    assert "taken back by" in (await client.get("/books")).text


async def test_the_chain_of_custody_leads_from_a_piece_to_its_lots_and_back(
    client: httpx.AsyncClient, db: Database, first: str, settings: Settings
) -> None:
    flasks.mark(db, settings, (first,), Stage.CAST, "cast")
    with db.write() as session:
        charged = books.balance(session, melt(first)).mass
        job = next(iter(melts.planned_flask(session, first).contents))
        melts.weigh_out(session, first, {job: charged}, charged - charged)
        parts = {name for name, _ in melts.planned_parts(session, first)}
    back = f"/books/where/back/job/{job}"
    page = (await client.get(back)).text
    assert all(f"lot {name}" in page for name in parts)
    document = (await client.get(f"{back}?form=json")).json()
    assert document["mass_mg"] == charged.base
    assert sum(end["mass_ng"] for end in document["ends"]) == charged.base * 1_000_000
    rows = list(csv.DictReader(io.StringIO((await client.get(f"{back}?form=csv")).text)))
    assert tuple(rows[0]) == CUSTODY_FIELDS
    assert {row["from_ref"] for row in rows if row["to_ref"] == first} == parts
    lot = min(parts)
    assert f"job {job}" in (await client.get(f"/books/where/forth/lot/{lot}")).text


async def test_entries_say_who_made_them_where_somebody_was_signed_in(client: httpx.AsyncClient, db: Database) -> None:
    with db.write() as session:
        told = books.entries(session, newest=1)[0]
        assert not told.who
        back = books.take_back(session, told.id, "typed twice", who="Ida <Keeper>")
    page = (await client.get("/books")).text
    assert f"entry {back.entry}, by Ida &lt;Keeper&gt;</small>" in page
    assert f"entry {told.id}</small>" in page


async def test_the_books_and_every_kind_of_account_can_be_read_and_taken_away(client: httpx.AsyncClient, db: Database) -> None:
    page = (await client.get("/books")).text
    assert "in lots on the shelf" in page
    for kind in AccountKind:
        assert (await client.get(f"/books?of={kind}")).status_code == 200
    assert "Reserved for planned charges" in (await client.get("/books/account/lot/L04")).text
    assert (await client.get("/books?of=nonsense")).status_code == 422
    rows = list(csv.DictReader(io.StringIO((await client.get("/books/entries.csv")).text)))
    assert tuple(rows[0]) == ENTRY_FIELDS
    assert sum(int(row["mass_mg"]) for row in rows) == 0
    with db.read() as session:
        assert len({row["entry"] for row in rows}) == len(books.entries(session, newest=None))


def test_what_came_is_what_is_accounted_for_and_powder_stands_apart(db: Database) -> None:
    with db.read() as session:
        found = held(books.totals(session), books.powder_outside(session), books.lost_in_cleaning(session))
        losses = books.balances(session, AccountKind.LOSS).values()
    assert total(Mass, (line.mass for line in found.came)) == found.together
    assert sum(line.share.base for line in found.came) in range(999_998, 1_000_003)
    melted, cleaned = (line.mass for line in found.there if line.kind is AccountKind.LOSS)
    assert cleaned.base > 0
    assert melted + cleaned == total(Mass, (one.mass for one in losses))
    assert {line.kind for line in found.powder} <= {AccountKind.POWDER, AccountKind.MOULD}


async def test_accounts_entries_and_reasons_are_called_in_the_readers_language(client: httpx.AsyncClient) -> None:
    await client.post("/who/units", data={"language": "Español"})
    page = (await client.get("/books/account/lot/L03")).text
    assert "<h1>Lote L03</h1>" in page
    assert "contado" in page
    assert "ajuste derrames y limaduras" in page
    assert "composición según ensayo" in (await client.get("/books")).text, "a note that is kept in English"
    asked = (await client.get("/books/where/back/lot/L03")).text
    assert "De dónde vino el metal: lote L03" in asked
    refused = await client.post("/books/entries/1/take-back", data={"reason": " ", "key": "es"})
    assert (refused.status_code, "decir por qué se anula" in refused.text) == (422, True)
