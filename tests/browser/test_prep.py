"""A cook's afternoon on a phone: from the list to the last tick, without a connection in between; paper; axe."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from typing import Any

import pytest

CHROMIUM = shutil.which("chromium")


@pytest.fixture
def tablet(chromium: Any) -> Iterator[Any]:
    """A phone's page whose refused requests are expected: the connection is cut on purpose."""
    context = chromium.new_context(viewport={"width": 360, "height": 740}, is_mobile=True, has_touch=True)
    yield context.new_page()
    context.close()


def ends(name: str) -> str:
    """What the button says that ends a task: equipment is hot, anything else is done."""
    is_heat = name.startswith(("Light: ", "Switch on: ")) or name.endswith(" is heating")
    return f"{'Hot' if is_heat else 'Done'}: {name}"


def names(page: Any) -> list[str]:
    return [x for x in page.locator(".prep-task .name").all_text_contents()]


def test_from_the_list_to_the_last_tick(own_base: str, tablet: Any) -> None:
    """Every task of the fish station is ticked, one of them while there is no connection; none is left, each once."""
    tablet.goto(f"{own_base}/prep?station=fish")
    left = names(tablet)
    assert len(left) >= 5
    tablet.get_by_role("button", name=ends(left[0]), exact=True).click()
    tablet.locator("[role=status]", has_text=re.compile("done|hot")).wait_for()
    tablet.context.set_offline(True)
    second = names(tablet)[0]
    tablet.get_by_role("button", name=ends(second), exact=True).click()
    tablet.locator("#link-lost", has_text="No connection since").wait_for()
    assert "1 tick kept here" in tablet.locator("#link-lost").inner_text()
    tablet.context.set_offline(False)
    tablet.locator(".prep-done .name", has_text=second).wait_for(timeout=30_000)
    for _ in range(40):
        if not (todo := names(tablet)):
            break
        button = tablet.get_by_role("button", name=ends(todo[0]), exact=True)
        button.click(timeout=60_000)
        button.wait_for(state="detached", timeout=60_000)
    assert names(tablet) == []
    done = tablet.locator(".prep-done .name").all_text_contents()
    assert len(done) >= len(left) and done.count(second) == 1


def _in(page: Any, base: str, who: str, pin: str) -> None:
    """Signed in and at the list, whoever was before."""
    page.context.clear_cookies()
    page.goto(f"{base}/sign-in?next=/prep")
    page.fill("input[name=who]", who)
    page.fill("input[name=secret]", pin)
    with page.expect_navigation():
        page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/prep")


def test_a_tick_that_waits_is_signed_by_whoever_tapped_it(staffed_base: str, tablet: Any) -> None:
    """Tomasz taps without a connection; Ruth takes the phone over: it waits, and is his once he is back."""
    _in(tablet, staffed_base, "Tomasz", "8264")
    first = next(name for name in names(tablet) if ends(name).startswith("Done"))
    tablet.context.set_offline(True)
    tablet.get_by_role("button", name=ends(first), exact=True).click()
    tablet.locator("#link-lost", has_text="1 tick kept here").wait_for()
    tablet.context.clear_cookies()
    tablet.context.set_offline(False)
    _in(tablet, staffed_base, "Ruth", "6038")
    tablet.locator("#link-lost", has_text="sent when Tomasz is signed in here again").wait_for()
    assert tablet.locator(".prep-done").count() == 0 and first in names(tablet)
    _in(tablet, staffed_base, "Tomasz", "8264")
    tablet.locator(".prep-done", has_text=first).wait_for(timeout=30_000)
    assert "Tomasz" in tablet.locator(".prep-done", has_text=first).inner_text()
    tablet.locator("#link-lost", has_text="done").wait_for()


def test_a_tick_after_the_sign_in_ran_out_waits_for_the_next(staffed_base: str, tablet: Any) -> None:
    """The shift's sign-in is over while the list stands open: the tap is not lost, it is written after the next."""
    _in(tablet, staffed_base, "Ruth", "6038")
    first = next(name for name in names(tablet) if ends(name).startswith("Done"))
    tablet.context.clear_cookies(name="stillroom_session")
    tablet.get_by_role("button", name=ends(first), exact=True).click()
    tablet.wait_for_url("**/sign-in**")
    _in(tablet, staffed_base, "Ruth", "6038")
    tablet.locator(".prep-done", has_text=first).wait_for(timeout=30_000)
    assert "Ruth" in tablet.locator(".prep-done", has_text=first).inner_text()
    assert tablet.evaluate("localStorage.getItem('stillroom-ticks')") == "[]"


def test_a_tick_that_waited_and_is_not_taken_is_told(staffed_base: str, tablet: Any, chromium: Any) -> None:
    """Ruth did it in the meantime: Tomasz reads so, and nothing is written twice."""
    _in(tablet, staffed_base, "Tomasz", "8264")
    first = next(name for name in names(tablet) if ends(name).startswith("Done"))
    tablet.context.set_offline(True)
    tablet.get_by_role("button", name=ends(first), exact=True).click()
    tablet.locator("#link-lost", has_text="1 tick kept here").wait_for()
    other = chromium.new_page()
    _in(other, staffed_base, "Ruth", "6038")
    other.get_by_role("button", name=ends(first), exact=True).click()
    other.locator(".prep-done", has_text=first).wait_for(timeout=30_000)
    other.close()
    tablet.context.set_offline(False)
    tablet.locator("#link-lost", has_text="no longer on the list").wait_for(timeout=30_000)
    assert "Ruth" in tablet.locator(".prep-done", has_text=first).inner_text()


def test_another_tablet_sees_it_without_reloading(own_base: str, tablet: Any, chromium: Any) -> None:
    """What the larder ticks here is gone there within seconds."""
    other = chromium.new_page()
    other.goto(f"{own_base}/prep?station=pastry")
    tablet.goto(f"{own_base}/prep?station=pastry")
    first = names(tablet)[0]
    tablet.get_by_role("button", name=ends(first), exact=True).click()
    seen = other.locator(".prep-done .name", has_text=first.split(":")[-1].strip())
    seen.first.wait_for(timeout=60_000)
    assert seen.count() >= 1
    other.close()


def test_without_javascript(own_base: str, chromium: Any) -> None:
    """The same list and the same tick."""
    context = chromium.new_context(java_script_enabled=False, viewport={"width": 360, "height": 740})
    page = context.new_page()
    page.goto(f"{own_base}/prep?station=sauce")
    first = names(page)[0]
    with page.expect_navigation():
        page.get_by_role("button", name=ends(first), exact=True).click()
    assert page.locator(".said").inner_text()
    assert page.url.startswith(f"{own_base}/prep?station=sauce")
    context.close()


def test_an_oven_is_switched_on_with_one_tap(own_base: str, chromium: Any) -> None:
    """On a phone without JavaScript: on now, and it stands under way as heating, with a button for when it is hot."""
    context = chromium.new_context(java_script_enabled=False, viewport={"width": 360, "height": 740})
    page = context.new_page()
    page.goto(f"{own_base}/prep?station=charcoal")
    first = next(name for name in names(page) if name.startswith("Switch on: "))
    with page.expect_navigation():
        page.get_by_role("button", name=f"On now: {first}", exact=True).click()
    heating = f"{first.removeprefix('Switch on: ')} is heating"
    assert "on, and heating" in page.locator(".said").inner_text() and heating in names(page)
    assert page.get_by_role("button", name=ends(heating), exact=True).bounding_box()["height"] >= 44
    context.close()


PAGES = ("/prep", "/prep?person=bea", "/prep/sheets", "/prep/day", "/orders", "/orders/saltby-dairy", "/out")


@pytest.mark.parametrize("path", PAGES)
@pytest.mark.parametrize("width", [360, 1280])
def test_no_fault_and_no_overflow(own_base: str, chromium: Any, faults: Any, path: str, width: int) -> None:
    """axe finds nothing, nothing runs over the edge, nothing tapped is smaller than 44 px."""
    page = chromium.new_page(viewport={"width": width, "height": 900})
    page.goto(own_base + path)
    assert faults(page, width) == []
    small = page.evaluate(
        "[...document.querySelectorAll('button, summary, .picks a, .prep-task a.qty')].filter(e => e.offsetParent)"
        ".map(e => e.getBoundingClientRect().height).filter(h => h < 44).length"
    )
    assert small == 0
    page.close()


VISIBLE = "list => list.map(e => e.checkVisibility())"


def test_what_is_for_later_is_folded(own_base: str, chromium: Any) -> None:
    """On a phone without JavaScript: late and now stand open, the rest is a line each that opens with a tap."""
    context = chromium.new_context(java_script_enabled=False, viewport={"width": 360, "height": 740})
    page = context.new_page()
    page.goto(f"{own_base}/prep")
    box = page.locator("body").bounding_box()
    assert box and box["height"] < 9_000
    later = page.locator("#fold-next")
    assert page.locator(".prep-task:visible").count() >= 3 and later.get_attribute("open") is None
    assert not later.locator(".prep-task").first.is_visible()
    later.locator("summary").first.click()
    assert later.locator(".prep-task").first.is_visible()
    context.close()


def test_a_fold_that_was_opened_stays_open_after_a_tick(own_base: str, tablet: Any) -> None:
    """The cook works down what is for later: each tick leaves the list as it stood."""
    tablet.goto(f"{own_base}/prep")
    fold = tablet.locator("#fold-waits")
    fold.locator("summary").first.click()
    first = next(name for name in fold.locator(".name").all_text_contents() if ends(name).startswith("Done"))
    button = tablet.get_by_role("button", name=ends(first), exact=True)
    button.click(timeout=60_000)
    button.wait_for(state="detached", timeout=60_000)
    assert tablet.locator("#fold-waits").get_attribute("open") is not None
    assert tablet.locator("#fold-next").get_attribute("open") is None


def test_what_is_folded_is_printed(own_base: str, chromium: Any) -> None:
    """Every row is on paper, opened or not, without JavaScript."""
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{own_base}/prep")
    folded = page.locator("#fold-next .prep-task, #fold-ahead .prep-task")
    assert folded.count() >= 5 and not any(folded.evaluate_all(VISIBLE))
    page.emulate_media(media="print")
    assert all(folded.evaluate_all(VISIBLE))
    context.close()


def printed(page: Any, paper: str) -> int:
    """Pages that come out of the printer."""
    pdf = page.pdf(format=paper)
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_page_a_station(base: str, chromium: Any, paper: str) -> None:
    """On paper each station has one page, no more, and no button is printed; nothing is said to go on."""
    page = chromium.new_page()
    page.goto(f"{base}/prep/sheets")
    titles = page.locator(".sheet h1").all_text_contents()
    assert len(titles) == 5 == len(set(titles)) and not any("continued" in title for title in titles)
    assert printed(page, paper) == 5
    page.emulate_media(media="print")
    assert page.locator("button:visible").count() == 0
    page.close()


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_station_with_more_than_a_page_says_so(crowded_base: str, chromium: Any, paper: str) -> None:
    """All the day's work at one station: as many pages as sheets, the later ones are told to be continued."""
    page = chromium.new_page()
    page.goto(f"{crowded_base}/prep/sheets")
    titles = page.locator(".sheet h1").all_text_contents()
    assert len(titles) >= 3 and ["continued" in title for title in titles] == [False] + [True] * (len(titles) - 1)
    assert f"Page 1 of {len(titles)}: continued on the next" in page.locator(".sheet").first.inner_text()
    assert printed(page, paper) == len(titles)
    page.close()
