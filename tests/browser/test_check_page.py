"""A checklist on a tablet held upright or lying: hit with a glove, read by everybody, ticked once whatever the network does."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from axe import violations
from playwright.sync_api import Browser, Page, expect

from webapp.store import plans, ticks

STUDIO = "planned_demo"
"""Nothing is ticked or let pass."""

UPRIGHT, LYING = (800, 1280), (1280, 800)
TICK_PX, CONTROL_PX = 126, 60
HEIGHTS = """chosen => [...document.querySelectorAll(chosen)].filter(one => one.getClientRects().length)
    .map(one => [one.textContent.trim() || one.name, one.getBoundingClientRect().height])"""
CONTROLS = "main a, main button, main input:not([type=hidden]), main select, main summary, header a"
SIDEWAYS = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"


@pytest.fixture
def address(server: Any) -> str:
    with server.app.state.db.read() as session:
        stored = plans.current_plan(session)
    assert stored is not None
    return f"/flask/{min(stored.plan.flasks, key=lambda f: f.invest_start).id}/check/invest"


@pytest.fixture
def page(browser: Browser, server: Any) -> Iterator[Page]:
    """The policy that forbids foreign scripts is lifted for axe; the console may complain of the network alone."""
    context = browser.new_context(base_url=server.address, bypass_csp=True)
    page = context.new_page()
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    yield page
    context.close()
    assert errors == []


def ticked(server: Any, address: str, point: str) -> int:
    with server.app.state.db.read() as session:
        return sum(row.point == point for row in ticks.rows(session, [address.split("/")[2]]))


def tick_of(page: Page, point: str) -> Any:
    return page.locator(f"#{point} button.tick")


@pytest.mark.parametrize("size", [UPRIGHT, LYING], ids=["upright", "lying"])
@pytest.mark.parametrize("point", ["invest-number", "invest-tree"], ids=["a tick", "a reading"])
def test_a_point_is_hit_with_a_glove_and_read_by_everybody(page: Page, address: str, point: str, size: tuple[int, int]) -> None:
    width, height = size
    page.set_viewport_size({"width": width, "height": height})
    page.goto(f"{address}?at={point}")
    ((_, tick),) = page.evaluate(HEIGHTS, "main .tick")
    assert tick >= TICK_PX
    assert [(name, high) for name, high in page.evaluate(HEIGHTS, CONTROLS) if high < CONTROL_PX] == []
    assert violations(page) == []
    assert violations(page, "dark") == []
    page.set_viewport_size({"width": width // 2, "height": height // 2})
    assert page.evaluate(SIDEWAYS) <= 0


def test_a_double_tap_ticks_one_point_once(page: Page, server: Any, address: str) -> None:
    page.set_viewport_size({"width": 800, "height": 1280})
    page.goto(f"{address}?at=invest-number")
    tick_of(page, "invest-number").dblclick()
    expect(page.locator("#outbox")).to_contain_text("✓ saved")
    expect(page.locator("#invest-number")).to_contain_text("✓ 1")
    with server.app.state.db.read() as session:
        assert [row.point for row in ticks.rows(session, [address.split("/")[2]])] == ["invest-number"]


def test_a_tick_without_network_outlives_a_reload_and_counts_once(page: Page, server: Any, address: str) -> None:
    page.goto(address)
    point = page.locator(".check-now").get_attribute("id") or ""
    box = page.locator("#outbox")
    if page.locator(f"#{point} [name=reading]").count():
        page.fill(f"#{point} [name=reading]", "12 g")
    page.context.set_offline(True)
    tick_of(page, point).click()
    expect(box).to_contain_text("NOT SAVED: trying again")
    page.route("**/tick", lambda route: route.abort())
    page.context.set_offline(False)
    page.reload()
    expect(box).to_contain_text("NOT SAVED: trying again")
    assert ticked(server, address, point) == 0
    page.unroute("**/tick")
    page.get_by_role("button", name="Try now").click()
    expect(box).to_contain_text("✓ saved")
    expect(box).not_to_contain_text("NOT SAVED")
    assert ticked(server, address, point) == 1
    page.reload()
    expect(page.locator(f"#{point}")).to_contain_text("✓")
    assert ticked(server, address, point) == 1
