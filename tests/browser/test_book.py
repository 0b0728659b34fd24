"""The recipe book, labels and the search box in a real browser: phone, keyboard, no JavaScript, paper, millimetres."""

from __future__ import annotations

import json
import re
import urllib.request
from collections.abc import Iterator
from typing import Any

import pytest
from stillroom.plugins.book.labels import BY_ID

PX_PER_MM = 96 / 25.4  # CSS Values and Units 4: 1in is 96px and 25.4mm
DISH = "/recipe/brill-on-the-bone-buttered-samphire"
SHORT = ("baked-apple-butter", "beef-rib-steak", "courgettes-over-ember", "boiled-potatoes")  # set in the largest type
LONGEST = ("hay-baked-celeriac-hazelnut-and-apple", "barley-eel-broth-and-mussels", "chocolate-and-porter-mousse-oats")


def test_what_is_tapped_is_large_enough(base: str, phone: Any) -> None:
    """Buttons, boxes and the lines that open a sub-recipe: 44 px at least."""
    phone.goto(f"{base}{DISH}")
    for selector in ("main button", "main .button", "main input[type=text]", "main summary", ".look input"):
        heights = phone.eval_on_selector_all(selector, "all => all.map(e => e.getBoundingClientRect().height)")
        assert heights and min(heights) >= 44, (selector, heights)


@pytest.fixture
def plain(chromium: Any) -> Iterator[Any]:
    """A page without JavaScript."""
    context = chromium.new_context(viewport={"width": 360, "height": 740}, java_script_enabled=False)
    yield context.new_page()
    context.close()


def test_a_cook_scales_and_opens_a_sub_recipe_without_javascript(base: str, plain: Any) -> None:
    """Type 3 litres, tap Scale, open the stock in its place, down to what is bought."""
    plain.goto(f"{base}/recipe/oyster-cream")
    plain.get_by_label("To a yield").fill("3 l")
    with plain.expect_navigation():
        plain.locator("form", has=plain.get_by_label("To a yield")).get_by_role("button", name="Scale").click()
    said = plain.inner_text("article")
    assert "For 3 l." in said and "1.12 l" in said and "0.4 % under" in said
    row = plain.locator(".components > li", has_text="Fish stock").first
    assert not row.locator(".components").first.is_visible()
    row.locator("summary").first.click()
    assert row.locator(".components").first.is_visible()
    row.locator("details summary").nth(1).click()
    assert row.locator(".components .components").first.is_visible()


def test_a_target_that_cannot_be_met_keeps_what_was_typed(base: str, plain: Any) -> None:
    plain.goto(f"{base}/recipe/oyster-cream")
    for target, words in (("0 l", "makes nothing"), ("-4 l", "makes nothing"), ("9999999 l", "Nobody makes so many"),
                          ("3 kg", "measured in volume"), ("loads", "not a number")):  # fmt: skip
        plain.get_by_label("To a yield").fill(target)
        with plain.expect_navigation():
            plain.locator("form", has=plain.get_by_label("To a yield")).get_by_role("button", name="Scale").click()
        assert words in plain.get_by_role("alert").inner_text()
        assert plain.get_by_label("To a yield").input_value() == target
    assert "800 ml" in plain.inner_text(".made")


def test_a_chef_scales_by_what_is_there_by_keyboard_alone(base: str, chromium: Any) -> None:
    page = chromium.new_page()
    page.goto(f"{base}/recipe/brown-butter")
    page.get_by_label("I have").focus()
    page.keyboard.type("2 kg")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    page.wait_for_url("**have=2+kg**")
    assert "For 2 kg of butter, salted." in page.inner_text("article") and "1.6 kg" in page.inner_text(".made")
    page.close()


def pages_of(pdf: bytes) -> int:
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))


def _recipes(base: str) -> list[dict[str, Any]]:
    with urllib.request.urlopen(f"{base}/recipes.json") as answer:
        found: list[dict[str, Any]] = json.load(answer)["recipes"]
    return found


@pytest.mark.parametrize("paper", ["A5", "Letter"])
def test_a_card_is_one_sheet_of_paper(base: str, chromium: Any, paper: str) -> None:
    """The longest cards of the demonstration, scaled, and one of every kind: one page each."""
    kinds = {one["kind"]: one["id"] for one in _recipes(base)}
    page = chromium.new_page()
    for recipe in dict.fromkeys([*LONGEST, "mutton-loin-chop", "estuary-loaf", *kinds.values(), DISH[8:]]):
        page.goto(f"{base}/recipe/{recipe}?batches=7/3")
        assert pages_of(page.pdf(format=paper)) == 1, recipe
    page.close()


def test_paper_leaves_out_what_is_for_the_screen(base: str, chromium: Any) -> None:
    """No box, button or closed sub-recipe on paper; quantities, method, allergens and their caution are there."""
    page = chromium.new_page()
    page.goto(f"{base}{DISH}?plates=24")
    page.emulate_media(media="print")
    for selector in (".rail", ".look", "main button", "main form", "main .components details"):
        assert not any(page.eval_on_selector_all(selector, "all => all.map(e => e.offsetParent !== null)")), selector
    said = page.inner_text("body")
    assert "24" in said and "Charcoal fire" in said and "contains" in said and "confirm with the chef" in said
    page.close()


@pytest.mark.parametrize("stock", ["a4-21", "a4-8", "letter-30", "letter-10", "roll-57"])
def test_labels_stand_on_their_millimetres(base: str, chromium: Any, stock: str) -> None:
    """In print every label has its size and place to a tenth of a millimetre, on as many sheets as are needed."""
    kind = BY_ID[stock]
    copies = kind.cells + 2
    page = chromium.new_page()
    page.goto(f"{base}/batch/2500/labels?stock={stock}&copies={copies}")
    page.emulate_media(media="print")
    boxes = page.eval_on_selector_all(
        ".label", "all => all.map(e => { const r = e.getBoundingClientRect();"
        " const s = e.parentElement.getBoundingClientRect(); "
        " return [r.width, r.height, r.left - s.left, r.top - s.top]; })",
    )  # fmt: skip
    assert len(boxes) == copies
    for wide, high, left, top in ([value / PX_PER_MM for value in box] for box in boxes):
        assert abs(wide - kind.width) < 0.1 and abs(high - kind.height) < 0.15, (wide, high)
        assert left >= -0.01 and top >= -0.01
    if kind.across > 1:
        pitch = (boxes[1][2] - boxes[0][2]) / PX_PER_MM
        assert kind.width <= pitch < kind.width + 5.5
    assert pages_of(page.pdf(prefer_css_page_size=True)) == -(-copies // kind.cells)
    page.close()


@pytest.mark.parametrize("stock", sorted(BY_ID))
def test_nothing_on_a_label_is_cut(base: str, chromium: Any, stock: str) -> None:
    """The longest allergen lines and names, and words so few that they are set large: all stands within the label."""
    page = chromium.new_page()
    page.emulate_media(media="print")
    for recipe in (*LONGEST, *SHORT):
        page.goto(f"{base}/recipe/{recipe}/labels?stock={stock}&lot=1125-0001&initials=DVB")
        room = page.eval_on_selector(
            ".label", "e => { const r = e.getBoundingClientRect(), s = e.querySelector('.said').lastElementChild;"
            " const b = s.getBoundingClientRect(), c = e.querySelector('.code').getBoundingClientRect();"
            " return [r.bottom - b.bottom, r.bottom - c.bottom, c.left - b.right]; }",
        )  # fmt: skip
        assert min(room) >= 0, (recipe, stock, room)
    page.close()


def test_a_labels_code_opens_the_batch(base: str, chromium: Any) -> None:
    """The square code says the batch's own address; it is drawn, not fetched, and large enough for a phone's camera."""
    page = chromium.new_page()
    page.goto(f"{base}/batch/2500/labels")
    page.emulate_media(media="print")
    side, modules = page.eval_on_selector(
        ".code", "e => [e.getBoundingClientRect().width, e.viewBox.baseVal.width]")  # fmt: skip
    assert side / PX_PER_MM / modules >= 0.33  # mm a module; a common floor for phone cameras, no source
    with urllib.request.urlopen(f"{base}/batch/2500/labels.json") as answer:
        assert json.load(answer)["label"]["address"] == f"{base}/batch/2500"
    page.close()


def test_the_box_finds_from_any_page_by_keyboard(base: str, chromium: Any) -> None:
    """From the first page: focus the box, a name with a slip, Enter, Tab to the first answer, Enter."""
    page = chromium.new_page()
    page.goto(base)
    page.get_by_label("Search everything").focus()
    page.keyboard.type("brwon buter")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    page.wait_for_url("**/search?q=brwon+buter")
    assert "shown is brown" in page.inner_text("main")
    page.get_by_role("link", name="Brown butter").first.focus()
    with page.expect_navigation():
        page.keyboard.press("Enter")
    page.wait_for_url("**/recipe/brown-butter")
    page.close()


def test_the_reading_view_asks_the_screen_to_stay_awake(base: str, chromium: Any) -> None:
    """It says what the browser answered, whichever it was."""
    page = chromium.new_page()
    page.goto(f"{base}/recipe/oyster-cream/read")
    page.wait_for_function("() => document.querySelector('[data-awake]').textContent !== ''")
    assert "screen" in page.inner_text("[data-awake]")
    assert page.evaluate("parseFloat(getComputedStyle(document.querySelector('.card.large')).fontSize)") >= 26
    page.close()
