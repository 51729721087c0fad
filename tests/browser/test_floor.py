"""A flask from its program to a recast, by touch on a tablet held upright."""

from __future__ import annotations

import os
import re
from typing import Any

from playwright.sync_api import Page, expect

from domain.floor.stages import Stage
from webapp.actions import flask as flasks
from webapp.store import plans

UPRIGHT = {"width": 800, "height": 1280}


def test_a_flask_is_cast_and_a_miscast_piece_is_cast_again_in_two_taps(page: Page, server: Any) -> None:
    db, settings = server.app.state.db, server.app.state.settings
    with db.read() as session:
        stored = plans.current_plan(session)
    assert stored is not None
    flask = min(stored.plan.flasks, key=lambda f: f.cast_start)
    for stage in (Stage.INVESTED, Stage.LOADED, Stage.STARTED):
        flasks.mark(db, settings, (flask.id,), stage, str(stage))
    page.set_viewport_size(UPRIGHT)
    page.goto(f"/flask/{flask.id}/floor")
    _look(page, "way")
    page.get_by_role("link", name=re.compile("Do it.*Cast the flask")).click()
    for control in page.locator("main button, main select, main input:not([type=hidden])").all():
        box = control.bounding_box()
        assert box is not None
        assert box["height"] >= 60
    page.get_by_label("Temperature of the flask, read").fill(f"{flask.temperature.celsius()} °C")
    page.get_by_label("or the metal, judged by eye").select_option(index=1)
    force = page.get_by_label(re.compile("^(Turns of the arm|Vacuum reached)"))
    force.fill("3" if "Turns" in page.locator("main").inner_text() else "900 mbar")
    page.get_by_role("button", name="Write it down").click()
    _look(page, "asked")
    page.get_by_role("button", name="It is so: write it down").click()
    expect(page.locator("#outbox")).to_contain_text(f"{flask.id}: cast")
    page.get_by_role("link", name=re.compile("Do it.*Knock it out")).click()
    page.get_by_role("button", name="Write it down").click()
    page.get_by_role("button", name="It is so: write it down").click()
    page.get_by_role("link", name=re.compile("Look at each piece")).click()
    page.get_by_label("Pieces").first.fill("1")
    page.get_by_label("Came out").first.select_option("misrun")
    page.get_by_role("button", name="Write it down").first.click()
    _look(page, "pieces")
    page.get_by_role("link", name="Cast 1 again").click()
    _look(page, "recast")
    page.get_by_role("button", name="Make the job").click()
    expect(page.locator("#outbox")).to_contain_text("casts them again")
    page.wait_for_url("**/pieces")
    page.goto(f"/flask/{flask.id}/record")
    expect(page.locator("main")).to_contain_text("to be cast again")
    _look(page, "record")


def _look(page: Page, name: str) -> None:
    """Keeps a picture of the screen where a folder for it is named, to be looked at by people."""
    if folder := os.environ.get("CASTWEEK_PICTURES"):
        page.screenshot(path=f"{folder}/{name}.png")
