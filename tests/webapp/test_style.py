"""Text can be read in light and in dark: WCAG 2.2, success criterion 1.4.3, asks for a contrast of 4.5."""

from __future__ import annotations

import re

import pytest

from webapp.pages import resource_folder

PAIRS = [
    ("ink", "paper"),
    ("ink", "card"),
    ("soft", "paper"),
    ("soft", "card"),
    ("copper", "paper"),
    ("copper", "card"),
    ("copper-ink", "copper"),
    ("ink", "copper-wash"),
    ("bad", "bad-wash"),
    ("bad", "paper"),
    ("bad", "card"),
    ("warn", "warn-wash"),
    ("good", "good-wash"),
    ("ink", "good-wash"),
    ("ink", "bad-wash"),
    ("ink", "warn-wash"),
]


def _palettes() -> dict[str, dict[str, str]]:
    css = (resource_folder("static") / "castweek.css").read_text(encoding="utf-8")
    roots = re.findall(r":root \{(.*?)\}", css, re.DOTALL)
    light, dark = (dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", block)) for block in roots[:2])
    return {"light": light, "dark": {**light, **dark}}


def _luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.outside("WCAG 2.2, success criterion 1.4.3 and its formula of relative luminance")
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(("front", "back"), PAIRS)
def test_text_stands_out_from_its_ground(scheme: str, front: str, back: str) -> None:
    palette = _palettes()[scheme]
    brighter, darker = sorted((_luminance(palette[front]), _luminance(palette[back])), reverse=True)
    assert (brighter + 0.05) / (darker + 0.05) >= 4.5


def test_controls_on_the_tablet_are_at_least_sixty_pixels_and_ticks_twice_that() -> None:
    css = (resource_folder("static") / "castweek.css").read_text(encoding="utf-8")
    touch = re.search(r"\.tablet \{ --touch: ([\d.]+)rem", css)
    tick = re.search(r"\.tablet \.tick \{ min-height: ([\d.]+)rem", css)
    assert touch is not None
    assert tick is not None
    assert float(touch[1]) * 16 >= 60
    assert float(tick[1]) * 16 >= 126
