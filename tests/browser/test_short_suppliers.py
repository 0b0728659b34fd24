"""Short supply and suppliers in a real browser: phone, keyboard alone, no JavaScript, paper, accessibility."""

from __future__ import annotations

from typing import Any

import pytest


def test_a_chef_finds_what_a_short_item_touches_without_javascript(base: str, chromium: Any) -> None:
    """Type part of a name, tap the item, read dishes, plates left and the caution."""
    context = chromium.new_context(viewport={"width": 360, "height": 740}, java_script_enabled=False)
    page = context.new_page()
    page.goto(base + "/short")
    page.get_by_label("Part of its name").fill("SALTED")
    with page.expect_navigation():
        page.get_by_role("button", name="Find").click()
    with page.expect_navigation():
        page.get_by_role("link", name="butter, salted").click()
    said = page.inner_text("main")
    assert "Brill on the bone" in said and "plates" in said and "dishes share it" in said
    assert "90 ml for 100 g" in said
    assert "confirm with the chef" in page.inner_text(".caution")
    context.close()


def test_a_manager_takes_a_history_away_by_keyboard_alone(base: str, chromium: Any) -> None:
    """Set the dates, enter, then tab to CSV: the file has the rows of those dates only."""
    page = chromium.new_page(accept_downloads=True)
    page.goto(base + "/suppliers/saltby-dairy")
    page.get_by_label("From").fill("2026-11-01")
    page.get_by_role("button", name="Show").focus()
    with page.expect_navigation():
        page.keyboard.press("Enter")
    page.wait_for_url("**from=2026-11-01**")
    page.get_by_role("link", name="CSV").focus()
    with page.expect_download() as download:
        page.keyboard.press("Enter")
    rows = download.value.path().read_text("utf-8").splitlines()[1:]
    assert rows and all(row.split(",")[1] >= "2026-11-01" for row in rows)
    assert f"{len(rows)} lines" in page.inner_text("main") or f"of {len(rows)}" in page.inner_text("main")
    page.close()


def test_the_price_chart_says_its_finding(base: str, chromium: Any) -> None:
    """One drawing, with the words for those who don't see it; nothing fetched from elsewhere."""
    page = chromium.new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(base + "/suppliers/saltby-dairy?item=butter-salted")
    assert "Price of butter, salted, per kg" in page.get_by_role("img").get_attribute("aria-label")
    assert all(url.startswith((base, "data:")) for url in asked)
    page.close()


def test_a_record_prints_with_its_caution(base: str, chromium: Any) -> None:
    """On paper the rail and the buttons go; figures and caution stay."""
    page = chromium.new_page()
    page.goto(base + "/suppliers/saltby-dairy")
    page.emulate_media(media="print")
    assert page.locator(".rail").is_hidden() and page.get_by_role("button", name="Show").is_hidden()
    assert page.locator(".figures").is_visible() and page.locator(".caution").is_visible()
    assert len(page.pdf(format="A4")) > 5_000
    page.close()


@pytest.mark.parametrize("path", ["/short?find=e", "/short/butter-salted", "/suppliers/saltby-dairy"])
def test_targets_are_large_enough_for_a_thumb(base: str, phone: Any, path: str) -> None:
    """Fields, choices and buttons are at least 48 px high."""
    phone.goto(base + path)
    high = "[...document.querySelectorAll('main input, main select, main button, main .button')]"
    heights = phone.evaluate(high + ".map(e => e.getBoundingClientRect().height)")
    assert all(h >= 48 for h in heights), heights
