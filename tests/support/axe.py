"""What axe-core complains about on a page."""

from __future__ import annotations

from typing import Literal

from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Page

WITH = {"rules": {"target-size": {"enabled": True}}}
"""axe leaves this rule out unless asked: what is clicked is at least 24 px, or stands apart."""

COLOURS = {"runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}}
"""All that the dark scheme can change."""


def violations(page: Page, scheme: Literal["light", "dark"] = "light") -> list[tuple[str, list[str]]]:
    """Rules that are broken, each with up to three elements that break it."""
    page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
    options = (COLOURS if scheme == "dark" else WITH) | {"resultTypes": ["violations"]}
    page.evaluate("script => { if (!window.axe) window.eval(script) }", AXE_SCRIPT)
    found = page.evaluate("options => axe.run(document, options).then(result => result.violations)", options)
    return [(one["id"], [node["html"] for node in one["nodes"]][:3]) for one in found]
