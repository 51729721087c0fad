"""Papers for a whole day add up to what its flasks need, and its labels are found by a camera."""

from __future__ import annotations

import re

import httpx
import pytest
from fastapi import FastAPI

from domain.units import Mass, total
from webapp.actions.planning import load_desk
from webapp.views.papers import day_papers

pytestmark = pytest.mark.anyio


async def test_what_is_fetched_is_what_the_charges_weigh(app: FastAPI, client: httpx.AsyncClient) -> None:
    with app.state.db.read() as session:
        desk = load_desk(session, app.state.settings)
    assert desk.plan is not None
    day = desk.problem.clock.day_of(min(f.cast_start for f in desk.plan.flasks))
    papers = day_papers(desk.problem, desk.plan, day)
    assert papers.casts
    weighed = total(Mass, (c.charge.weighed for c in papers.casts if c.charge))
    assert total(Mass, (line.mass for line in papers.pulls)) == weighed
    page = (await client.get(f"/print/papers/{day}")).text
    for cast in papers.casts:
        assert f"Charge of {cast.facts.flask.id}" in page


@pytest.mark.parametrize(("paper", "skip", "blank"), [("a4", "3", 3), ("letter", "0", 0), ("roll", "5", 0), ("a4", "x", 0)])
async def test_labels_begin_after_those_that_are_used(
    app: FastAPI, client: httpx.AsyncClient, paper: str, skip: str, blank: int
) -> None:
    with app.state.db.read() as session:
        desk = load_desk(session, app.state.settings)
    assert desk.plan is not None
    day = desk.problem.clock.day_of(min(f.cast_start for f in desk.plan.flasks))
    page = (await client.get(f"/print/labels/{day}", params={"paper": paper, "skip": skip})).text
    assert page.count('<div class="label"></div>') == blank
    assert len(re.findall("label-number", page)) == page.count('class="qr"') > 0
