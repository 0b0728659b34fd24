"""A server's question in a real browser: phone, two rooms, keyboard alone, no JavaScript, paper, hostile names."""

from __future__ import annotations

import re
from typing import Any

import pytest

# What is left of an upright sheet within margins of 12 mm, at 96 px to the inch.
PAPER = {"A4": 703, "Letter": 725}


def test_an_ingredient_is_asked_for_without_javascript(base: str, chromium: Any) -> None:
    """Open 'Anything else', type, read what it was taken for; the form keeps what was typed and tapped."""
    context = chromium.new_context(viewport={"width": 360, "height": 740}, java_script_enabled=False)
    page = context.new_page()
    page.goto(base + "/guest")
    page.get_by_text("eggs", exact=True).click()
    page.get_by_text("Anything else").click()
    page.get_by_label("Any ingredient by name").fill("Prawns, garlic, millk")
    with page.expect_navigation():
        page.get_by_role("button", name="Show the dishes").click()
    said = page.inner_text("main")
    assert "“Prawns” is asked as shrimp too." in said and "millk: ask the chef" in said
    assert re.search(r"Not declared in any component 0 of \d+ dishes", " ".join(said.split()))
    assert page.input_value("input[name=ingredient]") == "Prawns, millk"
    assert page.locator("input:checked").evaluate_all("all => all.map(e => e.value)") == ["egg", "garlic"]
    context.close()


def test_a_server_asks_by_keyboard_alone(base: str, chromium: Any) -> None:
    """Tab from the top to milk, space, tab on to the button, enter, and tab to the first dish of the answer."""
    page = chromium.new_page()
    page.goto(base + "/guest")
    _tab_to(page, "document.activeElement.value === 'milk'")
    outline = "getComputedStyle(document.activeElement.closest('label')).outlineStyle"
    assert page.evaluate(outline) == "solid", "what is in focus can be seen"
    page.keyboard.press("Space")
    _tab_to(page, "document.activeElement.tagName === 'BUTTON' && document.activeElement.closest('form')")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    page.wait_for_url("**avoid=milk**")
    _tab_to(page, "document.activeElement.matches('.ledger a')")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    page.wait_for_url("**/dish/**")
    page.close()


def _tab_to(page: Any, condition: str) -> None:
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate(f"!!({condition})"):
            return
    raise AssertionError(f"sixty tabs and not there: {condition}")


@pytest.mark.parametrize("sheet", PAPER)
@pytest.mark.parametrize("path", ["/allergens", "/guest?avoid=milk", "/dish/pork-chop-apple-and-mustard"])
def test_nothing_is_cut_on_paper(base: str, chromium: Any, path: str, sheet: str) -> None:
    """On an upright sheet every column is there, the caution stands, the rail does not."""
    page = chromium.new_page(viewport={"width": PAPER[sheet], "height": 1000})
    page.emulate_media(media="print")
    page.goto(base + path)
    assert page.locator(".rail").is_hidden() and page.locator(".caution").is_visible()
    right = page.evaluate(
        "Math.max(...[...document.querySelectorAll('main *')].map(e => e.getBoundingClientRect().right))"
    )
    assert right <= PAPER[sheet]
    assert page.pdf(format=sheet).count(b"/Type /Page\n") <= 6
    page.close()


@pytest.mark.parametrize("scripts", [True, False])
def test_hostile_names_are_shown_as_text(hostile: str, chromium: Any, scripts: bool) -> None:
    """Nothing in a name runs, loads or changes the page, and each is read as it was written."""
    context = chromium.new_context(viewport={"width": 360, "height": 740}, java_script_enabled=scripts)
    page = context.new_page()
    happened: list[str] = []
    page.on("dialog", lambda dialog: (happened.append(dialog.message), dialog.dismiss()))
    page.on(
        "request",
        lambda request: happened.append(request.url) if not request.url.startswith((hostile, "data:")) else None,
    )
    page.goto(f"{hostile}/guest?avoid=milk&avoid=%22%3E%3Cscript%3Ealert(1)%3C/script%3E")
    said = page.inner_text("main")
    assert "Leeks <script>alert(12)</script>" in said and "Brill <img src=x onerror=alert(14)>" in said
    assert "Brown <script>alert(11)</script> butter ← butter <img src=x onerror=alert(5)>" in said
    assert "shares <script>alert(3)</script> grill" in said and '"><script>alert(1)</script>: ask the chef' in said
    with page.expect_navigation():
        page.get_by_role("link", name="Leeks").click()
    said = page.inner_text("main")
    assert "<script>alert(13)</script>" in said and "{{ 7 * 7 }} leeks" in said
    page.goto(f"{hostile}/allergens")
    assert "Leeks <script>alert(12)</script>" in page.inner_text("main")
    assert page.locator("main script, main img, main svg, main b[onmouseover]").count() == 0
    assert happened == []
    context.close()
