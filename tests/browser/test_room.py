"""The switch between a bright and a dim screen: kept by the device, absent without JavaScript, never on paper."""

from __future__ import annotations

from typing import Any

import pytest


def test_the_room_is_kept_by_the_device(base: str, chromium: Any) -> None:
    """Dim stays dim on the next page, by keyboard too, and the switch is large enough for a thumb."""
    page = chromium.new_context(color_scheme="light", viewport={"width": 360, "height": 740}).new_page()
    page.goto(base + "/")
    page.get_by_role("button", name="Dim screen").press("Enter")
    page.goto(base + "/guest")
    assert page.evaluate("document.documentElement.dataset.room") == "dim"
    switch = page.get_by_role("button", name="Bright screen")
    assert switch.bounding_box()["height"] >= 48
    page.context.close()


def test_without_javascript_there_is_no_dead_switch(base: str, chromium: Any) -> None:
    """A button that does nothing is not shown."""
    page = chromium.new_context(java_script_enabled=False).new_page()
    page.goto(base + "/")
    assert page.locator(".room").count() == 0 and page.locator(".rail a").count() >= 5
    page.context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_paper_is_white_in_a_dim_room(base: str, chromium: Any, scheme: str) -> None:
    """Black on white, whatever the screen was told."""
    page = chromium.new_context(color_scheme=scheme).new_page()
    page.goto(base + "/")
    page.evaluate("document.documentElement.dataset.room = 'dim'")
    page.emulate_media(media="print", color_scheme=scheme)
    paper = page.evaluate("(s => [s.backgroundColor, s.color])(getComputedStyle(document.body))")
    assert paper == ["rgb(255, 255, 255)", "rgb(0, 0, 0)"]
    page.context.close()
