"""Nothing that was entered is lost: network gone, answer gone, someone else faster; and the ticket's code is read."""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any

import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Browser, Page, Route, expect

from webapp.store.flasks import happened

TABLET = {"width": 1024, "height": 768}
LONGER_THAN_A_DOUBLE_TAP_MS = 750


def invested(server: Any) -> dict[str, int]:
    with server.app.state.db.read() as session:
        return {flask: len(events) for flask, events in happened(session).items()}


def order(server: Any, *names: str) -> list[str]:
    with server.app.state.db.read() as session:
        record = happened(session)
    return sorted(names, key=lambda name: record[name][0].id)


def buttons(page: Page) -> list[str]:
    return [one.get_attribute("id") or "" for one in page.locator("form[action='/today/done'] button").all()]


@pytest.fixture
def offline(browser: Browser, server: Any) -> Iterator[Page]:
    """A page whose console may complain of the network, and of nothing else."""
    context = browser.new_context(viewport=TABLET, base_url=server.address)
    page = context.new_page()
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    yield page
    context.close()
    assert errors == []


def flask(button: str) -> str:
    return button.removeprefix("mark-invest-")


def test_what_is_entered_without_network_is_sent_in_order_once_it_is_back(offline: Page, server: Any) -> None:
    page = offline
    page.goto("/today")
    first, second = buttons(page)[:2]
    page.context.set_offline(True)
    page.click(f"#{first}")
    page.wait_for_timeout(LONGER_THAN_A_DOUBLE_TAP_MS)
    page.click(f"#{second}")
    page.click(f"#{second}")
    box = page.locator("#outbox")
    expect(box).to_contain_text("NOT SAVED: trying again")
    expect(box).to_contain_text("2 entries kept on this device")
    assert flask(first) not in invested(server)
    page.context.set_offline(False)
    expect(box).to_contain_text("✓ saved")
    expect(page.locator(f"#{first}")).to_have_text("Undo")
    assert {invested(server)[flask(one)] for one in (first, second)} == {1}
    assert order(server, flask(first), flask(second)) == [flask(first), flask(second)]


def test_an_answer_that_is_lost_leaves_one_entry_and_a_true_screen_over_a_reload(offline: Page, server: Any) -> None:
    page = offline
    page.goto("/today")
    button = buttons(page)[0]
    lost = []

    def lose(route: Route) -> None:
        if len(lost) < 2:
            route.fetch()
            lost.append(route.request.url)
            route.abort()
        else:
            route.continue_()

    page.route("**/today/done", lose)
    page.click(f"#{button}")
    expect(page.locator("#outbox")).to_contain_text("NOT SAVED")
    assert invested(server)[flask(button)] == 1
    page.reload()
    expect(page.locator("#outbox")).to_contain_text("✓ saved")
    assert invested(server)[flask(button)] == 1
    assert page.evaluate("Object.keys(localStorage).filter(name => name.startsWith('castweek-outbox'))") == []


def test_an_entry_that_no_longer_fits_is_shown_until_it_is_put_aside(offline: Page, server: Any) -> None:
    page = offline
    page.goto("/today")
    button = buttons(page)[0]
    page.evaluate("""name => { const form = document.getElementById(name).form; form.elements.stage.value = "cast"; }""", button)
    page.click(f"#{button}")
    box = page.locator("#outbox")
    expect(box).to_contain_text("Not saved:")
    expect(box).to_contain_text("mark that first")
    page.reload()
    expect(box).to_contain_text("mark that first")
    page.get_by_role("button", name="put it aside").click()
    expect(box).to_be_hidden()
    assert flask(button) not in invested(server)


def test_the_page_follows_what_is_done_elsewhere_and_keeps_what_is_typed(offline: Page) -> None:
    page = offline
    page.goto("/today")
    page.fill("#number", "12")
    button = buttons(page)[0]
    other = page.context.new_page()
    other.goto("/today")
    other.click(f"#{button}")
    expect(page.locator(f"#{button}")).to_have_text("Undo")
    assert page.input_value("#number") == "12"
    other.close()


@pytest.mark.outside("zxing-cpp reads the code as it is printed")
def test_a_camera_reads_the_code_on_the_ticket(page: Page, server: Any) -> None:
    page.goto("/print/flask/F4/ticket")
    page.emulate_media(media="print")
    picture = Image.open(io.BytesIO(page.screenshot(full_page=True))).convert("L")
    for scale in (1.0, 0.75):
        small = picture.resize((int(picture.width * scale), int(picture.height * scale)))
        assert [code.text for code in zxingcpp.read_barcodes(small)] == [f"{server.address}/f/4"]
    page.emulate_media(media="screen")
    page.goto(f"{server.address}/f/4")
    expect(page.locator("h1")).to_contain_text("F4")
