"""Reasons with their changes: each is tried at the press of a button."""

from __future__ import annotations

import re
from html import unescape

import httpx
import pytest
from fastapi import FastAPI

from domain.planning.explain.changes import AddFlask, Both, Change, MoreMetal, NightLoad, Overtime
from domain.units import Mass
from webapp.actions.planning import load_desk
from webapp.actions.what_if import TRYING, changes_typed
from webapp.store.engine import Database
from webapp.views.trying import fields_to_try


async def test_every_reason_stands_with_its_change_and_a_button_that_tries_it(
    client: httpx.AsyncClient, app: FastAPI, db: Database
) -> None:
    page = await client.get("/week")
    assert page.headers["content-encoding"] == "gzip"
    with db.read() as session:
        desk = load_desk(session, app.state.settings)
        found = [r for reasons in (*(late.reasons for late in desk.findings.late), *desk.findings.out.values()) for r in reasons]
        assert found
        text = unescape(page.text)
        for reason in found:
            assert reason.reason in text
            assert reason.remedy in text
            if fields := fields_to_try(reason.change):
                assert changes_typed(session, desk, dict(fields))
    assert page.text.count("Try this<") == sum(bool(fields_to_try(r.change)) for r in found)


async def test_the_button_opens_what_if_with_the_change_applied(client: httpx.AsyncClient, app: FastAPI) -> None:
    page = (await client.get("/week")).text
    form = re.search(r'<form class="inline no-print" method="post" action="/what-if/try".*?</form>', page, re.DOTALL)
    assert form is not None
    fields = dict(re.findall(r'name="([^"]+)" value="([^"]*)"', form[0]))
    assert (await client.post("/what-if/try", data={k: unescape(v) for k, v in fields.items()})).status_code == 303
    trial = app.state.trials.current
    assert trial is not None
    assert trial.words[0] in unescape((await client.get("/what-if")).text)
    app.state.runner.stop(TRYING)


@pytest.mark.parametrize(
    ("change", "fields"),
    [
        (NightLoad("k", "2026-03-04"), {"night": "k", "night_day": "2026-03-04"}),
        (Overtime("2026-03-04", 60), {"overtime": "60 min", "overtime_day": "2026-03-04"}),
        (Both(AddFlask("s", 1), NightLoad("k")), {"flask": "s", "flask_count": "1", "night": "k"}),
        (Both(AddFlask("s", 1), AddFlask("t", 1)), {}),
        (MoreMetal("m", Mass.g(1)), {}),
        (None, {}),
    ],
)
def test_a_change_becomes_fields_of_the_form(change: Change | None, fields: dict[str, str]) -> None:
    assert dict(fields_to_try(change)) == fields
