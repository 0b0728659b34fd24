"""The logbook in a real browser: two taps, no connection, no script, on paper, and clean for those who listen to it."""

from __future__ import annotations

import json
import re
import urllib.request
from collections.abc import Iterator
from typing import Any

import pytest

MINUTE = 60_000


def rows(base: str, table: str) -> list[dict[str, Any]]:
    """The log's rows that were written on the web, as the office's own table shows them."""
    address = f"{base}/kitchen/{table}.json?origin=web&_shape=array&_size=1000"
    with urllib.request.urlopen(address, timeout=10) as answer:
        found: list[dict[str, Any]] = json.load(answer)
    return found


@pytest.fixture
def tablet(chromium: Any) -> Iterator[Any]:
    """A tablet of its own, whose clock can be moved."""
    context = chromium.new_context(viewport={"width": 820, "height": 1100}, has_touch=True)
    yield context
    context.close()


def test_two_taps_from_the_first_page_write_a_probe_down(base: str, phone: Any) -> None:
    """Tap what was probed last, type the number, tap again; it is shown back, judged, and can be taken back."""
    before = len(rows(base, "probe_readings"))
    phone.goto(base + "/")
    with phone.expect_navigation():
        phone.get_by_role("link", name=re.compile("Probe: (Mutton|Pork|Beef|Mallard)")).first.tap()
    phone.get_by_label("Core, at the thickest part", exact=False).first.fill("63.5")
    with phone.expect_navigation():
        phone.get_by_role("button", name="Write it down").tap()
    phone.wait_for_url("**/log/probe_readings/*")
    said = phone.inner_text("main")
    assert "146.3 °F (63.5 °C)" in said and "Food Code" in said
    assert len(rows(base, "probe_readings")) == before + 1
    with phone.expect_navigation():
        phone.get_by_role("button", name="Take it back").tap()
    phone.wait_for_function("() => document.querySelector('h1').textContent.includes('no longer counts')")


def test_what_is_tapped_is_large_enough(base: str, phone: Any) -> None:
    """48 px at least."""
    phone.goto(base + "/log/hold")
    for target in phone.locator(".choices label, button, .measure input, .measure select").all():
        if target.is_visible() and target.get_attribute("class") != "room":
            assert target.bounding_box()["height"] >= 47.5


def test_a_minute_without_connection_loses_nothing(base: str, tablet: Any) -> None:
    """Three entries wait, the page says how many, and a minute later all three are there once, in order."""
    page = tablet.new_page()
    page.clock.install()
    page.goto(base + "/log/hold")
    page.wait_for_load_state("networkidle")
    before = len(rows(base, "hold_checks"))
    tablet.set_offline(True)
    for number, temp in enumerate(("140", "141", "142"), 1):
        page.locator("input[name=place]").fill("Offline pass")
        page.get_by_text("hot", exact=True).click()
        page.locator("input[name=temp]").fill(temp)
        page.locator("select[name=temp-unit]").select_option("F")
        page.get_by_role("button", name="Write it down").click()
        words = "1 entry waits" if number == 1 else f"{number} entries wait"
        page.get_by_text(words).wait_for()
    assert len(rows(base, "hold_checks")) == before
    page.clock.fast_forward(MINUTE)
    assert page.get_by_text("3 entries wait").is_visible()
    tablet.set_offline(False)
    page.clock.fast_forward(MINUTE)
    page.locator("html[data-waiting='0']").wait_for(timeout=20_000)
    page.clock.fast_forward(MINUTE)
    written = [row for row in rows(base, "hold_checks") if row["place"] == "Offline pass"]
    assert [row["temp_f"] for row in written] == [140, 141, 142]
    assert len({row["request_id"] for row in written}) == 3
    assert all(row["read_at"] < row["recorded_at"] for row in written)


def test_an_entry_that_is_refused_later_is_not_dropped(base: str, tablet: Any) -> None:
    """What can't be written when the kitchen answers again stays on the tablet with the reason."""
    page = tablet.new_page()
    page.clock.install()
    page.goto(base + "/log/probe")
    page.wait_for_load_state("networkidle")
    tablet.set_offline(True)
    page.locator("input[name=core]").fill("1450")
    page.get_by_role("button", name="Write it down").click()
    page.get_by_text("1 entry waits").wait_for()
    tablet.set_offline(False)
    page.clock.fast_forward(MINUTE)
    page.get_by_text("can't be").wait_for()
    page.get_by_role("link", name="Look at it").click()
    assert page.locator("input[name=core]").input_value() == "1450"
    page.get_by_role("button", name="Drop it").click()
    page.locator("html[data-waiting='0']").wait_for()


def test_a_kept_allergen_answer_shows_its_age_and_is_refused_after_four_hours(base: str, tablet: Any) -> None:
    page = tablet.new_page()
    address = base + "/guest?avoid=milk"
    page.goto(base + "/log")
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.goto(base + "/log")
    page.wait_for_function("() => caches.match('/log/probe').then(found => !!found)")
    page.goto(address)
    page.wait_for_function("() => caches.match(location.href).then(found => !!found)")
    tablet.set_offline(True)
    page.goto(address)
    assert "No connection. This answer is 0 min old" in page.inner_text("aside.kept")
    assert "With a change" in page.inner_text("main")
    page.evaluate(
        """async () => {
          const cache = await caches.open((await caches.keys())[0]);
          const found = await cache.match(location.href), headers = new Headers(found.headers);
          headers.set("x-stillroom-kept", String(Date.now() - 4 * 3600e3 - 1000));
          await cache.put(location.href, new Response(await found.blob(), { headers }));
        }"""
    )
    page.goto(address)
    said = page.inner_text("main")
    assert "more than 4 hours old" in said and "ask the chef" in said and "With a change" not in said
    page.goto(base + "/log/probe")
    assert page.get_by_role("button", name="Write it down").is_visible()
    first = page.locator("input[name=request]").input_value()
    page.reload()
    assert page.locator("input[name=request]").input_value() != first
    tablet.set_offline(False)
    page.goto(address)
    assert "With a change" in page.inner_text("main") and page.locator("aside.kept").count() == 0


def test_without_javascript_a_form_asks_again_and_keeps_what_was_typed(base: str, chromium: Any) -> None:
    context = chromium.new_context(viewport={"width": 360, "height": 740}, java_script_enabled=False)
    page = context.new_page()
    page.goto(base + "/log/tasting?of=brown-butter")
    page.locator("input[name=words]").fill("nutty, a little dark")
    page.locator("input[name=score]").fill("11")
    with page.expect_navigation():
        page.get_by_role("button", name="Write it down").click()
    assert "Write a number from 1 to 10" in page.inner_text("main")
    assert page.locator("input[name=words]").input_value() == "nutty, a little dark"
    page.locator("input[name=score]").fill("8")
    with page.expect_navigation():
        page.get_by_role("button", name="Write it down").click()
    assert "/log/tastings/" in page.url and "nutty, a little dark" in page.inner_text("main")
    with page.expect_navigation():
        page.get_by_role("button", name="Take it back").click()
    assert "no longer counts" in page.inner_text("h1")
    context.close()


def test_a_lot_is_hung_on_a_phone(own_base: str, phone: Any, faults: Any) -> None:
    """From /ageing: tap what came, type the weight, write. More than came, for it hangs already, is asked once for each
    weight; said to be so, the lot hangs; back again."""
    phone.goto(own_base + "/ageing")
    with phone.expect_navigation():
        phone.get_by_role("link", name="Hang a lot").tap()
    phone.get_by_text("beef rib, bone in, MEF261125", exact=False).first.tap()
    phone.get_by_label("It weighs", exact=False).first.fill("4.1")
    with phone.expect_navigation():
        phone.get_by_role("button", name="Write it down").tap()
    phone.get_by_text("With what hangs of that delivery already").first.wait_for()
    assert faults(phone) == []
    phone.get_by_label("It weighs", exact=False).first.fill("9.1")
    with phone.expect_navigation():
        phone.get_by_role("button", name="Write it down").tap()
    phone.get_by_text("With what hangs of that delivery already").first.wait_for()
    phone.locator("input[name=weight-sure]").check(force=True)
    with phone.expect_navigation():
        phone.get_by_role("button", name="Write it down").tap()
    phone.wait_for_url("**/log/ageing_lots/*")
    said = phone.inner_text("main")
    assert "Beef rib steak" in said and "9.1 kg" in said and "35" in said and faults(phone) == []
    (row,) = rows(own_base, "ageing_lots")
    entry = phone.url
    phone.goto(f"{own_base}/ageing/{row['lot_code']}")
    assert "It has not been weighed since the start" in phone.inner_text("main")
    phone.goto(entry)
    with phone.expect_navigation():
        phone.get_by_role("button", name="Take it back").tap()
    phone.wait_for_function("() => document.querySelector('h1').textContent.includes('no longer counts')")
    assert [r["stands"] for r in rows(own_base, "ageing_lots")] == [1, 0]


def test_without_javascript_a_lot_is_hung_once_it_is_confirmed(own_base: str, chromium: Any) -> None:
    context = chromium.new_context(viewport={"width": 360, "height": 740}, java_script_enabled=False)
    page = context.new_page()
    page.goto(own_base + "/log/hang?of=marsh-mutton-saddle")
    page.locator("input[name=weight]").fill("16")
    with page.expect_navigation():
        page.get_by_role("button", name="Write it down").click()
    assert "Pieces of marsh mutton saddle weighed" in page.inner_text("main")
    page.locator("input[name=weight-sure]").check()
    with page.expect_navigation():
        page.get_by_role("button", name="Write it down").click()
    assert "/log/ageing_lots/" in page.url and "16 kg" in page.inner_text("main")
    context.close()


def test_a_trace_prints(base: str, chromium: Any) -> None:
    """On paper the rail goes, the answer and its caution stay."""
    page = chromium.new_page()
    page.goto(base + "/trace?lot=SD261117")
    page.emulate_media(media="print")
    assert page.locator(".rail").is_hidden() and page.locator(".caution").is_visible()
    assert len(page.pdf(format="A4")) > 5_000
    page.close()


def test_a_start_is_offered_where_it_fits_without_a_script(base: str, chromium: Any) -> None:
    """Not for cooked food, whose clock starts at 135 °F; what is wrong with it is seen all the same."""
    context = chromium.new_context(viewport={"width": 360, "height": 740}, java_script_enabled=False)
    page = context.new_page()
    page.goto(base + "/log/cooling")
    assert not page.locator("#started").is_visible()
    for rule in ("ambient", "received"):
        page.locator(f"input[name=rule][value={rule}]").check(force=True)
        assert page.locator("#started").is_visible()
    page.fill("#temp", "18 °C")
    page.fill("#of", "Mutton stock")
    page.fill("#started", "00:05")
    page.locator("input[name=rule][value=cooked]").check(force=True)
    assert not page.locator("#started").is_visible()
    page.get_by_role("button", name="Write it down").click()
    assert page.locator("#started").is_visible() and page.locator("#started-wrong").is_visible()
    page.goto(base + "/doneness/readings/import")
    shown = {name: page.locator(f"[name={name}]") for name in ("how", "rule", "started")}
    fits = (("probe", "", set()), ("reheat", "", {"how"}), ("cooling", "cooked", {"rule"}),
            ("cooling", "ambient", {"rule", "started"}))  # fmt: skip
    for kind, rule, wanted in fits:
        page.locator("[name=kind]").select_option(kind)
        if rule:
            page.locator("[name=rule]").select_option(rule)
        assert {name for name, field in shown.items() if field.is_visible()} == wanted
    context.close()
