"""Every page on a phone, by keyboard, without JavaScript, on paper, and clean for those who listen to it."""

from __future__ import annotations

from typing import Any


def test_a_server_asks_in_three_taps_without_javascript(base: str, chromium: Any) -> None:
    """Tap milk, tap the button, read the answer and its caution."""
    context = chromium.new_context(viewport={"width": 360, "height": 740}, java_script_enabled=False)
    page = context.new_page()
    page.goto(base + "/guest")
    page.get_by_text("milk", exact=True).first.click()
    with page.expect_navigation():
        page.get_by_role("button", name="Show the dishes").click()
    assert "avoid=milk" in page.url
    assert "Leave off: Brown butter" in page.inner_text("main")
    assert "confirm with the chef" in page.inner_text(".caution")
    context.close()


def test_the_guest_page_works_by_keyboard_alone(base: str, chromium: Any) -> None:
    """Tab to a choice, space, tab to the button, enter."""
    page = chromium.new_page()
    page.goto(base + "/guest")
    page.locator("input[value=milk]").focus()
    page.keyboard.press("Space")
    page.get_by_role("button", name="Show the dishes").focus()
    with page.expect_navigation():
        page.keyboard.press("Enter")
    page.wait_for_url("**avoid=milk**")
    assert "With a change" in page.inner_text("main")
    page.close()


def test_the_matrix_prints_with_its_caution(base: str, chromium: Any) -> None:
    """On paper the rail goes and the caution stays."""
    page = chromium.new_page()
    page.goto(base + "/allergens")
    page.emulate_media(media="print")
    assert page.locator(".rail").is_hidden() and page.locator(".caution").is_visible()
    assert len(page.pdf(format="A4", landscape=True)) > 5_000
    page.close()


def test_targets_are_large_enough_for_a_thumb(base: str, phone: Any) -> None:
    """Choices and buttons of the guest page are at least 48 px high."""
    phone.goto(base + "/guest")
    heights = phone.evaluate("[...document.querySelectorAll('.choices label, button')].filter(e => e.offsetParent).map(e => e.getBoundingClientRect().height)")
    assert len(heights) > 10 and min(heights) >= 48
