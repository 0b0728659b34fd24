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


def test_a_table_is_narrowed_with_a_thumb_and_without_javascript(base: str, chromium: Any) -> None:
    """Open the form, choose, press: the rows that fit. All that is tapped is large, and the table scrolls in its box."""
    context = chromium.new_context(viewport={"width": 360, "height": 740}, java_script_enabled=False)
    page = context.new_page()
    page.goto(base + "/kitchen/deliveries")
    page.get_by_text("Narrow and sort").click()
    targets = page.locator(".narrow").locator("summary, button, select, input[type=text], .choices label")
    sizes = [box["height"] for box in (target.bounding_box() for target in targets.all()) if box]
    assert len(sizes) > 6 and min(sizes) >= 48
    page.get_by_label("Column").select_option(label="door temp, °F")
    page.get_by_label("Must be").select_option(label="more than")
    page.get_by_label("What").fill("41")
    with page.expect_navigation():
        page.get_by_role("button", name="Show these rows").click()
    assert "door_temp_f__gt=41" in page.url and "more than 41" in page.inner_text("main")
    box = page.locator(".records").bounding_box()
    assert box is not None and box["width"] <= 360 < page.locator(".records table").bounding_box()["width"]
    context.close()


def test_a_wide_table_prints_whole(base: str, chromium: Any) -> None:
    """No wider than the sheet, every value behind its name, the day and the caution with it."""
    page = chromium.new_page(viewport={"width": 720, "height": 1000})
    page.goto(base + "/kitchen/deliveries")
    page.emulate_media(media="print")
    assert page.evaluate("document.documentElement.scrollWidth") <= 720
    assert page.locator(".caution").is_visible() and page.get_by_text("On record on").is_visible()
    before = page.evaluate("getComputedStyle(document.querySelector('.records td'), '::before').content")
    assert "id" in before and page.locator(".narrow").is_hidden()
    page.close()


def test_the_list_of_tables_is_asked_from(base: str, chromium: Any) -> None:
    """A question with a field is answered from the list itself, by keyboard."""
    page = chromium.new_page()
    page.goto(base + "/kitchen")
    page.get_by_label("item", exact=True).fill("brill")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    page.wait_for_url("**/dishes_using?item=brill")
    assert "Brill on the bone" in page.inner_text(".records")
    page.close()
