"""Coming in with wet hands: name and keys on a phone, without JavaScript, on a shared tablet; what the rail shows."""

from __future__ import annotations

from typing import Any

import pytest

KEYS = "[role=group][aria-label='Keys for the PIN'] button"


def _in(page: Any, base: str, who: str, secret: str, then: str = "/guest") -> None:
    page.goto(base + then)
    page.fill("input[name=who]", who)
    page.fill("input[name=secret]", secret)
    with page.expect_navigation():
        page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**" + then)


def test_a_phone_knows_its_people_after_the_first_time(staffed_base: str, phone: Any, faults: Any) -> None:
    """Type the name once; then tap it, four keys, and the page that was asked for is there."""
    phone.goto(staffed_base + "/guest")
    assert "Iris" not in phone.content() and phone.locator(".rail a").count() == 0
    assert faults(phone) == []
    _in(phone, staffed_base, "iris", "4711")
    assert phone.locator(".rail .who").inner_text() == "Iris"
    phone.locator(".rail .who").click()
    assert faults(phone) == []
    with phone.expect_navigation():
        phone.get_by_role("button", name="Sign out", exact=True).click()
    phone.wait_for_url("**/sign-in")
    assert faults(phone) == []
    first = phone.locator(".names a").first
    assert first.inner_text().startswith("Iris") and first.bounding_box()["height"] >= 48
    with phone.expect_navigation():
        first.click()
    phone.locator(KEYS).nth(11).wait_for()
    assert phone.locator(KEYS).count() == 12
    for key in phone.locator(KEYS).all():
        assert key.bounding_box()["height"] >= 60 and key.bounding_box()["width"] >= 90
    assert faults(phone) == []
    for digit in "47811":
        phone.locator(KEYS).get_by_text(digit, exact=True).click()
    phone.locator(KEYS).get_by_text("Clear").click()
    for digit in "4799":
        phone.locator(KEYS).get_by_text(digit, exact=True).click()
    for _ in range(2):
        phone.locator(KEYS).get_by_text("One back").click()
    for digit in "11":
        phone.locator(KEYS).get_by_text(digit, exact=True).click()
    with phone.expect_navigation():
        phone.get_by_role("button", name="Sign in").click()
    phone.wait_for_url(staffed_base + "/")


def test_without_javascript_the_field_is_enough(staffed_base: str, chromium: Any) -> None:
    """Name, PIN with the device's own keyboard, in; wrong once before, told in words, the name kept."""
    context = chromium.new_context(viewport={"width": 360, "height": 740}, java_script_enabled=False)
    page = context.new_page()
    page.goto(staffed_base + "/prep")
    page.fill("input[name=who]", "Tomasz")
    page.fill("input[name=secret]", "8265")
    with page.expect_navigation():
        page.get_by_role("button", name="Sign in").click()
    assert "do not go together" in page.inner_text("[role=alert]")
    assert page.input_value("input[name=who]") == "Tomasz" and page.input_value("input[name=secret]") == ""
    page.fill("input[name=secret]", "8264")
    with page.expect_navigation():
        page.get_by_role("button", name="Sign in").click()
    assert page.url == staffed_base + "/prep"
    context.close()


def test_the_rail_shows_what_is_theirs(staffed_base: str, chromium: Any) -> None:
    """No door to money for a server or a cook, all of them for the manager; and an address typed by hand is refused."""
    doors = {}
    for who, secret in (("Iris", "4711"), ("Tomasz", "8264"), ("Ann", "tide tables by the door")):
        page = chromium.new_page()
        _in(page, staffed_base, who, secret)
        doors[who] = set(page.eval_on_selector_all(".rail a", "links => links.map(a => a.getAttribute('href'))"))
        status = page.goto(staffed_base + "/cost").status
        assert status == (200 if who == "Ann" else 403) and ("Not yours to see" in page.content()) is (who != "Ann")
        page.close()
    office = {"/cost", "/menu", "/suppliers", "/kitchen", "/people"}
    assert not doors["Iris"] & (office | {"/log", "/prep"}) and not doors["Tomasz"] & office
    assert office <= doors["Ann"] and "/guest" in doors["Iris"] and "/log" in doors["Tomasz"]


def test_people_fits_a_phone(staffed_base: str, phone: Any, faults: Any) -> None:
    """The manager's list, with a form open."""
    _in(phone, staffed_base, "Ann", "tide tables by the door", "/people")
    phone.locator("summary", has_text="Change").nth(1).click()
    assert phone.get_by_role("button", name="Set for Charcoal").is_visible()
    assert faults(phone) == []


@pytest.mark.parametrize("has_script", [True, False])
def test_an_entry_on_a_tablet_is_signed_by_a_person(staffed_base: str, chromium: Any, has_script: bool) -> None:
    """The tablet stays signed in; a count asks who by name and PIN, and the person's name stands beside it."""
    context = chromium.new_context(viewport={"width": 820, "height": 1180}, java_script_enabled=has_script)
    page = context.new_page()
    _in(page, staffed_base, "Charcoal", "over the embers", "/log")
    page.goto(staffed_base + "/log/count")
    assert page.locator("fieldset.who label", has_text="Iris").count() == 0, "a server signs nothing here"
    page.fill("input[name=of]", "butter, salted")
    page.fill("input[name=quantity]", "3 kg")
    page.locator("fieldset.who label", has_text="Tomasz").click()
    if has_script:
        page.locator(KEYS).nth(11).wait_for()
        for digit in "8264":
            page.locator(KEYS).get_by_text(digit, exact=True).click()
    else:
        page.fill("input[name=pin]", "8264")
    with page.expect_navigation():
        page.get_by_role("button", name="Write it down").click()
    page.wait_for_url("**/log/counts/*")
    assert "Tomasz" in page.inner_text("main") and "Charcoal" not in page.inner_text("main")
    context.close()


def test_an_entry_that_waits_is_signed_by_its_writer(staffed_base: str, chromium: Any) -> None:
    """Written without a connection by one cook, it is not sent in the name of the next who signs in on the device."""
    context = chromium.new_context(viewport={"width": 360, "height": 740})
    page = context.new_page()
    _in(page, staffed_base, "Tomasz", "8264", "/log/count")
    page.fill("input[name=of]", "leeks")
    page.fill("input[name=quantity]", "7 kg")
    page.wait_for_load_state("networkidle")
    context.set_offline(True)
    page.get_by_role("button", name="Write it down").click()
    page.get_by_text("1 entry waits on this device").wait_for()
    context.clear_cookies()
    context.set_offline(False)
    _in(page, staffed_base, "Ruth", "6038", "/log/count")
    page.get_by_text("Written by Tomasz: it is sent when Tomasz is signed in here.").wait_for()
    context.clear_cookies()
    _in(page, staffed_base, "Tomasz", "8264", "/log")
    page.locator("html[data-waiting='0']").wait_for(timeout=20_000)
    page.goto(staffed_base + "/log")
    assert "Tomasz" in page.locator("main li", has_text="leeks").first.inner_text()
    context.close()
