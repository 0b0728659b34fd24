"""A trial from a dish to the menu on a phone, by keyboard alone, without scripts; every page accessible."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest

VENISON = "/trials/venison-haunch-damson"
BROUGHT = {
    "@context": "https://schema.org", "@type": "Recipe", "name": "Leek and egg pie", "recipeYield": "6 servings",
    "recipeIngredient": ["500 g leeks, sliced", "200 ml double cream", "1-2 lemons", "a handful of parsley"],
    "recipeInstructions": [{"@type": "HowToStep", "text": "Sweat the leeks."}, {"@type": "HowToStep", "text": "Bake."}],
}  # fmt: skip


LINES = BROUGHT["recipeIngredient"]
MARKED = (
    '<article itemscope itemtype="https://schema.org/Recipe"><h1 itemprop="name">Leek and egg tart</h1>'
    '<p>For <span itemprop="recipeYield">6 servings</span><ul>'
    + "".join(f'<li itemprop="recipeIngredient">{line}' for line in LINES)
    + '</ul><ol itemprop="recipeInstructions"><li>Sweat the leeks.<li>Bake.</ol></article>'
)


@pytest.fixture
def plain(chromium: Any) -> Iterator[Any]:
    """A page on a phone in which no script runs."""
    context = chromium.new_context(viewport={"width": 360, "height": 740}, java_script_enabled=False)
    yield context.new_page()
    context.close()



def test_a_page_with_mistakes_is_accessible_too(plain: Any, chromium: Any, own_base: str, faults: Any) -> None:
    """Words beside the fields, tied to them, and what was typed still there."""
    context = chromium.new_context(viewport={"width": 360, "height": 740})
    page = context.new_page()
    page.goto(f"{own_base}{VENISON}/edit")
    page.fill("#f-line2", "9O g Swede mash")
    page.fill("#f-line6", "1 cup unobtainium")
    with page.expect_navigation():
        page.click("text=Save as version 4")
    page.locator("[aria-invalid=true]").first.wait_for()
    assert page.locator("[aria-invalid=true]").count() == 2
    assert page.input_value("#f-line2") == "9O g Swede mash"
    assert "letter O" in page.locator("#w-line2").inner_text()
    assert faults(page) == []
    context.close()


def _begin(page: Any, base: str, dish: str) -> None:
    """A trial of a dish, its form open."""
    page.goto(base + "/trials")
    page.select_option("select[name=from]", dish)
    with page.expect_navigation():
        page.locator("form[action='/trials/start'] button").click()
    assert page.url.endswith(f"/trials/{dish}/edit")


def test_from_a_dish_to_the_menu_without_scripts(plain: Any, own_base: str) -> None:
    """Begin, change, save, hold side by side, taste, put on the menu, and see it told on the first page."""
    _begin(plain, own_base, "brill-on-the-bone-buttered-samphire")
    plain.fill("#f-line5", "40 g Kale with bacon")
    plain.fill("#f-note", "Kale for lemon")
    with plain.expect_navigation():
        plain.click("text=Save as version 2")
    plain.locator("main h2:has-text('Version 2')").first.wait_for()
    assert "Version 2" in plain.locator("main h2").nth(0).inner_text() and "Kale for lemon" in plain.content()
    with plain.expect_navigation():
        plain.click("text=Compare")
    plain.wait_for_url("**/compare?*")
    assert "Gained or stronger: celery" in plain.inner_text("main")
    assert plain.locator("td:has-text('40 g Kale with bacon') b").inner_text() == "added"
    with plain.expect_navigation():
        plain.click("text=All versions")
    plain.locator("label:has-text('8')").last.click()
    plain.fill("#words", "Better than lemon")
    with plain.expect_navigation():
        plain.click("text=Write it down")
    plain.locator(".ledger >> text=Better than lemon").wait_for()
    assert "8.0 of 10" in plain.inner_text("main")
    with plain.expect_navigation():
        plain.click("text=Put on the menu >> nth=-1")
    plain.locator("text=on the menu as version 2").wait_for()
    assert "on the menu as version 2 since 25 November" in plain.inner_text("main")
    plain.goto(own_base + "/dish/brill-on-the-bone-buttered-samphire")
    assert "40 g Kale with bacon" in plain.content()
    plain.goto(own_base + "/")
    assert "celery: was" in plain.inner_text("main")


def test_a_dish_is_renamed_on_a_phone_from_form_to_table(plain: Any, chromium: Any, own_base: str, faults: Any) -> None:
    """A name that is taken is told beside its field; another is saved, held side by side, promoted, and served."""
    trial, old, new = "skate-wing-brown-shrimp", "Skate wing, brown shrimp", "Skate wing, shrimp and sloe"
    _begin(plain, own_base, trial)
    assert plain.input_value("#f-name") == old
    plain.fill("#f-name", "Turbot, oyster cream")
    with plain.expect_navigation():
        plain.click("text=Save as version 2")
    plain.locator("#w-name").wait_for()
    assert "there is the recipe Turbot, oyster cream of that name" in plain.inner_text("#w-name")
    assert plain.locator("#f-name").get_attribute("aria-describedby") == "w-name"
    assert plain.input_value("#f-name") == "Turbot, oyster cream"
    plain.fill("#f-name", new)
    with plain.expect_navigation():
        plain.click("text=Save as version 2")
    plain.locator(f"h1:has-text('{new}')").wait_for()
    with plain.expect_navigation():
        plain.click("text=Compare")
    plain.wait_for_url("**/compare?*")
    assert f"Version 1 is called {old}. Version 2 is called {new}." in plain.inner_text("main")
    row = plain.locator("tr:has(th:has-text('Name')):has(b:text-is('differs'))")
    assert row.locator("td").all_inner_texts() == [old, new]
    with plain.expect_navigation():
        plain.click("text=All versions")
    with plain.expect_navigation():
        plain.click("text=Put on the menu >> nth=-1")
    plain.locator("text=on the menu as version 2").wait_for()
    for path in (f"/dish/{trial}", "/guest?avoid=celery", "/menu-on"):
        plain.goto(own_base + path)
        assert new in plain.inner_text("main") and old not in plain.inner_text("main"), path
    plain.fill("input[name=q]", "sloe")
    with plain.expect_navigation():
        plain.keyboard.press("Enter")
    plain.locator(f"main a:text-is('{new}')").first.wait_for()
    assert plain.locator(f"main a:text-is('{new}')").evaluate_all("x => x.map(a => a.getAttribute('href'))") == [
        f"/dish/{trial}", f"/trials/{trial}",
    ]  # fmt: skip
    context = chromium.new_context(viewport={"width": 360, "height": 740})
    page = context.new_page()
    for path in (f"/trials/{trial}", f"/trials/{trial}/edit", f"/trials/{trial}/compare"):
        page.goto(own_base + path)
        assert faults(page) == [], path
    context.close()


def test_tasting_by_keyboard_alone(phone: Any, own_base: str) -> None:
    """Tab to the score, arrow to seven, type, Enter on the button."""
    phone.goto(own_base + "/trials/barley-eel-broth-and-mussels")
    phone.focus("select[name=version]")
    phone.keyboard.press("Tab")
    phone.keyboard.press("Space")
    for _ in range(6):
        phone.keyboard.press("ArrowRight")
    phone.keyboard.press("Tab")
    phone.keyboard.type("Bones right now")
    for _ in range(2):
        phone.keyboard.press("Tab")
    assert phone.evaluate("document.activeElement.innerText") == "Write it down"
    with phone.expect_navigation():
        phone.keyboard.press("Enter")
    phone.locator(".ledger >> text=Bones right now").wait_for()
    assert "7 of 10, today" in phone.inner_text("main")


def test_enter_in_a_line_checks_and_does_not_save(phone: Any, own_base: str) -> None:
    """A slip of the thumb is no version."""
    phone.goto(f"{own_base}{VENISON}/edit")
    phone.focus("#f-line2")
    phone.keyboard.press("End")
    with phone.expect_navigation():
        phone.keyboard.press("Enter")
    phone.locator("text=Every line was understood").wait_for()
    assert "Nothing was saved yet" in phone.inner_text("main")


@pytest.mark.parametrize(
    ("marks", "address"),
    [(f'<script type="application/ld+json">{json.dumps(BROUGHT)}</script>', "leek-and-egg-pie"),
     (MARKED, "leek-and-egg-tart")],
    ids=["JSON-LD", "microdata"],
)  # fmt: skip
def test_a_recipe_of_a_page_is_settled_by_hand(plain: Any, own_base: str, marks: str, address: str) -> None:
    """What could be read is in the form; what could not is told at its line, mended, and saved."""
    plain.goto(own_base + "/import")
    plain.set_input_files("input[type=file]", files=[{
        "name": "pie.html", "mimeType": "text/html",
        "buffer": f"<html>{marks}</html>".encode(),
    }])  # fmt: skip
    with plain.expect_navigation():
        plain.click("text=Read it")
    plain.locator("text=2 of 4 lines understood").wait_for()
    with plain.expect_navigation():
        plain.click("text=Settle it as a trial")  # as written; nothing here can be offered
    plain.locator("[aria-invalid=true]").first.wait_for()
    assert plain.input_value("#f-yield") == "6 plates" and plain.locator("[aria-invalid=true]").count() == 2
    plain.fill("#f-line3", "1 ea lemon")
    plain.fill("#f-line4", "10 g parsley")
    with plain.expect_navigation():
        plain.click("text=Save as version 1")
    plain.wait_for_url(f"**/trials/{address}")
    assert "Sweat the leeks." in plain.content()


def test_a_hostile_file_is_refused_in_words(plain: Any, own_base: str) -> None:
    """Nothing of it runs or stands in the page."""
    plain.goto(own_base + "/import")
    plain.fill("#text", "[" * 3000)
    with plain.expect_navigation():
        plain.click("text=Read it")
    plain.locator("[role=alert]").wait_for()
    assert "nested 3000 deep" in plain.inner_text("[role=alert]")
    plain.fill("#text", "<html><p itemscope itemtype='https://schema.org/Person'>Ann</html>")
    with plain.expect_navigation():
        plain.click("text=Read it")
    plain.locator("[role=alert]:has-text('microdata of Person')").wait_for()


def test_a_menu_and_a_comparison_on_paper(chromium: Any, own_base: str) -> None:
    """One sheet or two, with the caution on it."""
    page = chromium.new_context().new_page()
    for path in ("/menu-on/2026-12-24", f"{VENISON}/compare"):
        page.goto(own_base + path)
        page.emulate_media(media="print")
        assert page.locator("footer.caution").is_visible() and not page.locator(".rail").first.is_visible()
        assert page.pdf(format="A4").count(b"/Type /Page\n") <= 3
    page.context.close()
