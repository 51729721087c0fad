"""Bringing in a list over HTTP: nothing is saved before it is said, and nothing is taken twice."""

from __future__ import annotations

import re
from pathlib import Path

import httpx
import pytest
from lists import ANSWERS, LIST, begin, jobs, post, with_alloys

from domain.shop.jobs import Job
from domain.units import Mass
from webapp.actions.intake import LARGEST_LIST
from webapp.store import nouns
from webapp.store.engine import Database


@pytest.fixture(autouse=True)
def shop(db: Database) -> Database:
    return with_alloys(db)


async def test_a_pasted_list_shows_questions_errors_and_every_row(client: httpx.AsyncClient, shop: Database) -> None:
    page = (await client.get(await begin(client))).text
    assert "“gr” in a weight means …" in page
    assert "this shop casts no “steel”" in page
    assert "“a few” is not a number of pieces" in page
    assert page.count('<tr id="row-') == 4
    assert "Colour" in page
    assert jobs(shop) == {}


async def test_hostile_cells_are_shown_as_text(client: httpx.AsyncClient) -> None:
    page = (await client.get(await begin(client))).text
    assert "&lt;b&gt;knob&lt;/b&gt;" in page
    assert "<b>knob" not in page


async def test_answers_then_take_in_saves_what_is_ready(client: httpx.AsyncClient, shop: Database) -> None:
    address = await begin(client)
    assert (await post(client, address, "answers", **ANSWERS)).status_code == 303
    page = (await client.get(address)).text
    assert "Take in 1 job<" in page
    assert jobs(shop) == {}
    answer = await post(client, address, "take-in")
    assert (answer.status_code, answer.headers["location"]) == (303, address)
    saved = jobs(shop)
    assert list(saved) == ["1"]
    assert (saved["1"].alloy, saved["1"].pattern_mass, saved["1"].notes) == ("14kt-yellow", Mass.of(71, "gr"), "Colour: gold")
    assert "there already" in (await client.get(address)).text


async def test_wrong_cells_are_mended_in_place(client: httpx.AsyncClient, shop: Database) -> None:
    address = await begin(client)
    await post(client, address, "answers", **ANSWERS)
    await client.post(f"{address}/rows/3", data={"cell:2": "sterling"})
    await client.post(f"{address}/rows/4", data={"cell:3": "4"})
    assert "Take in 3 jobs" in (await client.get(address)).text
    answer = await post(client, address, "take-in")
    assert answer.headers["location"] == "/jobs"
    assert jobs(shop)["3"].notes == "see sketch\nboth sides"
    assert (await client.get(address)).status_code == 404


async def test_a_row_can_be_typed_anew_with_fields_that_no_column_holds(client: httpx.AsyncClient) -> None:
    address = await begin(
        client, "Job,Item,Metal,Qty,Size,Due\n7,ring,925,1,20 x 15 x 5 mm,2026-03-20\n8,ring,925,1,20 x 15 x 5 mm,2026-03-20\n"
    )
    page = (await client.get(f"{address}/rows/2")).text
    assert 'name="cell:5"' in page
    assert 'name="field:pattern_mass"' in page
    assert 'name="field:due"' not in page
    await client.post(f"{address}/rows/2", data={"field:pattern_mass": "1.2 g"})
    await post(client, address, "answers", **ANSWERS)
    assert "Take in 1 job<" in (await client.get(address)).text
    assert (await client.get(f"{address}/rows/99")).status_code == 404


async def test_the_same_list_twice_makes_no_duplicates(client: httpx.AsyncClient, shop: Database) -> None:
    for _ in range(2):
        address = await begin(client)
        await post(client, address, "answers", **ANSWERS)
        await post(client, address, "take-in")
    assert list(jobs(shop)) == ["1"]
    page = (await client.get(address)).text
    assert "already taken in" in page
    assert "No row is ready yet" in page
    assert (await post(client, address, "take-in")).status_code == 422


async def test_a_list_with_nothing_to_mend_is_gone_after_it_was_taken_in(client: httpx.AsyncClient) -> None:
    address = await begin(client, LIST.splitlines()[0] + "\n" + LIST.splitlines()[1])
    await post(client, address, "answers", **ANSWERS)
    answer = await post(client, address, "take-in")
    assert answer.headers["location"] == "/jobs"
    assert "Lists not finished" not in (await client.get("/intake")).text


async def test_an_archived_jobs_number_is_not_free(client: httpx.AsyncClient, shop: Database) -> None:
    address = await begin(client)
    await post(client, address, "answers", **ANSWERS)
    await post(client, address, "take-in")
    with shop.write() as session:
        nouns.archive(session, Job, "1")
    address = await begin(client, LIST.replace("1,ring,14k y,2", "1,ring,14k y,9"))
    await post(client, address, "answers", **ANSWERS)
    assert "saved already, but say something else" in (await client.get(address)).text


async def test_columns_can_be_changed_and_are_remembered(client: httpx.AsyncClient, shop: Database) -> None:
    strange = "Kennung,Was,Metal,Qty,Wax wt,Size,Due\n5,ring,925,1,3 g,22 x 18 x 12 mm,2026-03-20\n"
    address = await begin(client, strange)
    columns = {f"column:{n}": f for n, f in enumerate(("job", "item", "alloy", "quantity", "pattern_mass", "size", "due"))}
    assert (await post(client, address, "columns", heading="1", **columns)).status_code == 303
    await post(client, address, "answers", **ANSWERS)
    await post(client, address, "take-in")
    assert jobs(shop)["5"].item == "ring"
    page = (await client.get(await begin(client, strange.replace("5,ring", "6,band")))).text
    assert re.search(r'name="column:0".*?value="job" selected', page, re.DOTALL)


async def test_a_field_on_two_columns_is_refused(client: httpx.AsyncClient) -> None:
    address = await begin(client)
    answer = await post(client, address, "columns", heading="1", **{"column:0": "job", "column:1": "job"})
    assert answer.status_code == 422
    assert "two columns are set to job number" in answer.text


async def test_alloy_words_are_remembered_and_can_be_asked_again(client: httpx.AsyncClient) -> None:
    text = "Job,Item,Metal,Qty,Wax wt,Size,Due\n5,ring,SS,1,3 g,22 x 18 x 12 mm,2026-03-20\n"
    address = await begin(client, text)
    await post(client, address, "answers", **ANSWERS, **{"answer:alloy:ss": "silver-925"})
    await post(client, address, "take-in")
    address = await begin(client, text.replace("5,ring", "6,ring"))
    page = (await client.get(address)).text
    assert 'name="answer:alloy:ss"' not in page
    assert "Silver 925" in page
    await post(client, address, "ask-again", kind="alloy:ss")
    assert 'name="answer:alloy:ss"' in (await client.get(address)).text


async def test_an_answer_that_does_not_fit_is_told_beside_its_question(client: httpx.AsyncClient) -> None:
    address = await begin(client, LIST.replace("22 x 18 x 12 mm", ""))
    await post(client, address, "answers", **{"answer:size:missing:typed": "small", "answer:size:missing": "-"})
    page = (await client.get(address)).text
    assert "“small” is not a size with its unit" in page
    assert 'value="small"' in page


async def test_a_form_of_an_older_version_is_refused(client: httpx.AsyncClient, shop: Database) -> None:
    address = await begin(client)
    await post(client, address, "answers", **ANSWERS)
    answer = await client.post(f"{address}/take-in", data={"version": "1"})
    assert answer.status_code == 422
    assert "another window" in answer.text
    assert jobs(shop) == {}


async def test_a_file_is_read_whatever_its_encoding(client: httpx.AsyncClient) -> None:
    data = "Auftrag;Legierung;Stück\n1;18kt weiß;2\n".encode("cp1252")
    answer = await client.post("/intake", data={"text": ""}, files={"file": ("liste.csv", data)})
    page = (await client.get(answer.headers["location"])).text
    assert "liste.csv" in page
    assert "18kt weiß" in page


@pytest.mark.parametrize("field", ["file", "text"])
async def test_a_list_that_is_too_large_is_refused_while_it_comes_in(client: httpx.AsyncClient, field: str) -> None:
    rows = b"1,ring\n" * (LARGEST_LIST // 7 + 2000)
    if field == "file":
        answer = await client.post("/intake", files={"file": ("big.csv", rows)})
    else:
        answer = await client.post("/intake", files={"text": (None, rows)})
    assert answer.status_code == 413
    assert "2 MB" in answer.text


@pytest.mark.parametrize(("data", "says"), [(b"", "nothing in it"), (b"PK\x03\x04zip", "save it again as XLSX or as CSV")])
async def test_what_is_no_list_says_what_to_bring(client: httpx.AsyncClient, data: bytes, says: str) -> None:
    answer = await client.post("/intake", files={"file": ("x", data)})
    assert answer.status_code == 422
    assert says in answer.text


async def test_what_is_left_can_be_downloaded_and_no_cell_runs_in_a_spreadsheet(client: httpx.AsyncClient) -> None:
    address = await begin(client)
    await post(client, address, "answers", **ANSWERS)
    answer = await client.get(f"{address}/rest.csv")
    assert "attachment" in answer.headers["content-disposition"]
    lines = answer.text.removeprefix("\ufeff").splitlines()
    assert lines[0].startswith("Job,Item")
    assert "steel" in lines[1]
    assert lines[2].startswith("3,'=1+1,")
    assert "14k y" not in answer.text


async def test_a_list_can_be_put_away(client: httpx.AsyncClient) -> None:
    address = await begin(client)
    assert address in (await client.get("/intake")).text
    await client.post(f"{address}/drop")
    assert (await client.get(address)).status_code == 404


async def test_one_state_can_be_looked_at_alone(client: httpx.AsyncClient) -> None:
    address = await begin(client)
    page = (await client.get(address, params={"show": "error"})).text
    assert page.count('<tr id="row-') == 2


async def test_the_list_as_typed_goes_through(client: httpx.AsyncClient, shop: Database, shared_data: Path) -> None:
    data = (shared_data / "jobs-as-typed.csv").read_bytes()
    answer = await client.post("/intake", files={"file": ("jobs.csv", data)})
    address = answer.headers["location"]
    for _ in range(4):
        page = (await client.get(address)).text
        kinds = dict.fromkeys(re.findall(r'name="answer:([^"]+?)(?::typed)?"', page))
        first = {f"answer:{k}": _first(page, k) for k in kinds if k != "size-order"}
        await post(client, address, "answers", **first)
    assert "each asked once" not in (await client.get(address)).text
    assert (await post(client, address, "take-in")).status_code == 303
    assert len(jobs(shop)) == 99


def _first(page: str, kind: str) -> str:
    """The first choice of a question, or something that fits its form."""
    special = {"due:asap": "2026-12-01", "due:blank": "2026-12-18", "weight:rush": "5", "weight:asap": "10"}
    special |= {"size:missing": "20 x 15 x 5 mm", "due:past": "retype", "date:/4": "month", "gr": "gr"}
    found = re.search(rf'name="answer:{re.escape(kind)}" value="([^"]*)"', page)
    return special.get(kind) or (found.group(1) if found else "")


async def test_a_list_is_asked_about_in_the_readers_language_and_taken_in_the_same(
    client: httpx.AsyncClient, shop: Database
) -> None:
    assert (await client.post("/who/units", data={"language": "Español"})).status_code == 303
    address = await begin(client)
    page = (await client.get(address)).text
    assert "«gr» en un peso significa…" in page
    assert "este taller no cuela «steel»" in page
    assert "«a few» no es un número de piezas" in page
    assert (await post(client, address, "answers", **ANSWERS)).status_code == 303
    assert (await post(client, address, "take-in")).status_code == 303
    assert "Se incorporaron 1 encargos." in (await client.get(address)).text
    assert (jobs(shop)["1"].alloy, jobs(shop)["1"].notes) == ("14kt-yellow", "Colour: gold")
