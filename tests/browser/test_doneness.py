"""Heat in a real browser: phone, no JavaScript, timers over a reload, paper, accessibility."""

from __future__ import annotations

from typing import Any

CHOP = "/doneness/mutton-loin-chop"


def test_a_timer_survives_a_reload(base: str, phone: Any) -> None:
    """Start with a thumb, reload: it still runs, and the clock of every step is that of the start; stop ends it."""
    phone.goto(base + "/doneness/line?piece=mutton-loin-chop")
    phone.get_by_role("button", name="start").click()
    left = phone.locator("[data-left-time]")
    assert left.is_visible() and left.inner_text().startswith(("2:2", "2:30"))
    phone.wait_for_timeout(1200)
    before = left.inner_text()
    phone.reload()
    assert left.is_visible() and left.inner_text() <= before
    phone.goto(base + "/doneness/line")
    assert "Running since" in phone.inner_text("main")
    phone.goto(base + "/doneness/line?piece=mutton-loin-chop")
    phone.get_by_role("button", name="Stop the timer").click()
    assert left.is_hidden()


def test_several_timers_run_at_once(base: str, phone: Any) -> None:
    """Two chops at different moments and a steak: three lines with time left; one stopped by mistake comes back."""
    phone.goto(base + "/doneness/line?piece=mutton-loin-chop")
    phone.get_by_role("button", name="In the bath now: start").click()
    phone.wait_for_timeout(1100)
    phone.get_by_role("button", name="Another one in now: start").click()
    phone.goto(base + "/doneness/line?piece=beef-rib-steak")
    phone.get_by_role("button", name="start").click()
    phone.goto(base + "/doneness/line")
    lines = phone.locator("[data-running-list] > li")
    assert lines.count() == 3 and phone.locator("[data-left-of]").all_inner_texts()[0].startswith(("5:", "6:"))
    assert "Mutton loin chop, no. 2" in phone.inner_text("[data-running-list]")
    phone.get_by_role("button", name="Stop Mutton loin chop, no. 1").click()
    assert phone.locator("[data-left-of]").count() == 2
    phone.get_by_role("button", name="Bring it back").click()
    phone.reload()
    assert lines.count() == 3
    heights = phone.evaluate(
        "[...document.querySelectorAll('[data-running-list] button')].map(e => e.getBoundingClientRect().height)"
    )
    assert min(heights) >= 48
    assert phone.evaluate("document.documentElement.scrollWidth") <= 360


def test_no_digit_is_cut_and_no_scale_torn_away_while_a_timer_runs(base: str, phone: Any) -> None:
    """At 360 px with hours left: the time is whole, and '°C core (°F)' stays on the line of its number."""
    phone.goto(base + "/doneness/line?piece=mutton-loin-chop")
    phone.get_by_role("button", name="start").click()
    cut = "[...document.querySelectorAll('.figures.big dd')].filter(e => e.scrollWidth > e.clientWidth).length"
    torn = """[...document.querySelectorAll('.figures.big dd')].filter(e => e.offsetHeight > 1.6 * parseFloat(
        getComputedStyle(e).fontSize)).length"""
    assert phone.locator("[data-left-time]").inner_text().count(":") == 2
    box = phone.locator(".figures.big").bounding_box()
    time = phone.locator("[data-left-time]").bounding_box()
    assert time["x"] + time["width"] <= box["x"] + box["width"]
    assert (phone.evaluate(cut), phone.evaluate(torn)) == (0, 0)


def test_the_caution_takes_two_lines_and_drops_nothing(base: str, phone: Any) -> None:
    """On a phone of 740 px its fixed part is at most a tenth; what else applies stands in the page, and on paper."""
    for path in ("/doneness", CHOP, "/doneness/line?piece=mutton-loin-chop", "/doneness/cooling?depth=2+in",
                 "/doneness/readings", "/doneness/readings/import"):  # fmt: skip
        phone.goto(base + path)
        assert phone.evaluate("document.querySelector('footer.caution').offsetHeight") <= 74, path
        assert "inspector" in phone.inner_text("footer.caution")
        assert "Local code and the inspector" in phone.inner_text("main").replace("local", "Local"), path
    phone.goto(base + CHOP)
    phone.emulate_media(media="print")
    words = phone.inner_text("main")
    assert "reduced-oxygen packing" in words and "3-502.12" in words and "Confirm at the coldest point" in words
    phone.emulate_media(media="screen")


def test_the_line_has_large_digits_and_targets(base: str, phone: Any) -> None:
    """The pull temperature is at least 44 px high; the start button 72 px; nothing tapped in it is under 48 px."""
    phone.goto(base + "/doneness/line?piece=mutton-loin-chop")
    assert phone.evaluate("parseFloat(getComputedStyle(document.querySelector('.big dd')).fontSize)") >= 44
    assert phone.get_by_role("button", name="start").bounding_box()["height"] >= 72
    picked = "[...document.querySelectorAll('.pick .name, main input:not([type=hidden]), main button')]"
    heights = phone.evaluate(picked + ".filter(e => e.offsetParent).map(e => e.getBoundingClientRect().height)")
    assert heights and all(h >= 48 for h in heights), heights


def test_the_line_works_without_javascript(base: str, chromium: Any) -> None:
    """Pick the piece, set the clock, read until when each step goes."""
    context = chromium.new_context(viewport={"width": 360, "height": 740}, java_script_enabled=False)
    page = context.new_page()
    page.goto(base + "/doneness/line")
    with page.expect_navigation():
        page.get_by_role("link", name="Mutton loin chop").click()
    page.get_by_label("In at").fill("17:00")
    with page.expect_navigation():
        page.get_by_role("button", name="Set the clock").click()
    steps = page.request.get(base + CHOP + ".json?begin=17:00").json()["steps"]
    said = page.inner_text(".clock")
    assert "In at 17:00" in said and all(step["ends"] in said for step in steps)
    context.close()


def test_a_ramp_and_a_rule_of_the_house_without_javascript(base: str, chromium: Any) -> None:
    """On a phone: unfold, type what the bath runs to and the kitchen's rule; the answer says both, and how to begin."""
    context = chromium.new_context(viewport={"width": 360, "height": 740}, java_script_enabled=False)
    page = context.new_page()
    page.goto(base + CHOP)
    page.get_by_text("Runs up or down, or heats as measured here").first.click()
    page.get_by_label("Runs over the time to").first.fill("60 °C")
    page.get_by_text("A rule of the kitchen's own").click()
    page.get_by_label("Every part reaches").fill("70 °C")
    page.get_by_label("Where the rule stands").fill("house plan 3")
    page.get_by_label("Ready at").fill("19:30")
    with page.expect_navigation():
        page.get_by_role("button", name="Work it out").click()
    said = page.inner_text("main")
    assert "57 to 60 °C" in said and "house plan 3" in said and "Ready at 19:30" in page.inner_text(".figures")
    begun = page.locator(".figures dd").nth(2).inner_text().split()[0]
    page.get_by_label("Ready at").fill("")
    page.get_by_label("Or in at").fill(begun)
    with page.expect_navigation():
        page.get_by_role("button", name="Work it out").click()
    assert "Ready at 19:3" in page.inner_text(".figures")  # rounded up to the minute
    assert page.get_by_label("Runs over the time to").first.input_value() == "60 °C"
    context.close()


def test_a_chef_changes_a_step_and_asks_when_to_start(base: str, chromium: Any) -> None:
    """Without JavaScript: thicker, ready at 19:30; the answer changes, a wrong field keeps what was typed."""
    context = chromium.new_context(viewport={"width": 1280, "height": 800}, java_script_enabled=False)
    page = context.new_page()
    page.goto(base + CHOP)
    page.get_by_label("Thickness").fill("50 mm")
    page.get_by_label("Ready at").fill("19:30")
    with page.expect_navigation():
        page.get_by_role("button", name="Work it out").click()
    figures = page.inner_text(".figures")
    begin = page.request.get(base + CHOP + ".json?ready=19:30").json()["begin_at"]
    assert "Ready at 19:30" in figures and begin in figures
    assert "50 mm" in page.inner_text("main")
    page.get_by_label("Thickness").fill("3 m")
    with page.expect_navigation():
        page.get_by_role("button", name="Work it out").click()
    assert page.get_by_label("Thickness").input_value() == "3 m" and "500 mm" in page.inner_text("#thickness-wrong")
    context.close()


def test_a_logger_file_is_judged_from_the_page(base: str, chromium: Any, tmp_path: Any) -> None:
    """Choose the file, judge it: highest core, the rule's answer and the plot; nothing is written down."""
    path = tmp_path / "log.csv"
    path.write_text("Time,F\n" + "".join(f"2026-11-25 18:{m:02d},{60 + 2 * m}\n" for m in range(45)))
    page = chromium.new_page()
    page.goto(base + "/doneness/readings/import")
    page.locator("select[name=recipe]").select_option("mutton-loin-chop")
    page.locator("select[name=unit]").select_option("F")  # the kitchen's own is °C
    page.get_by_label("File").set_input_files(path)
    with page.expect_navigation():
        page.get_by_role("button", name="Judge it", exact=True).click()
    said = page.inner_text("main")
    assert "64.4 °C" in said and "3-401.11" in said and "written down." not in said
    assert "45 readings" in page.get_by_role("img").get_attribute("aria-label")
    page.close()


def test_a_wrong_file_is_answered_first(base: str, phone: Any, tmp_path: Any) -> None:
    """What is wrong with the file stands at the top of the phone's first screen."""
    path = tmp_path / "log.csv"
    path.write_bytes(b"\x00\x01 no log,,,\n\"never closed\n")
    phone.goto(base + "/doneness/readings/import")
    phone.locator("input[type=file]").set_input_files(path)
    with phone.expect_navigation():
        phone.get_by_role("button", name="Judge it", exact=True).click()
    said = phone.get_by_role("alert")
    assert "Nothing is written down." in said.inner_text() and said.bounding_box()["y"] < 740


def test_a_programme_prints_with_its_caution(base: str, chromium: Any) -> None:
    """On paper the rail and the buttons go; figures, plot and caution stay."""
    page = chromium.new_page()
    page.goto(base + CHOP)
    page.emulate_media(media="print")
    assert page.locator(".rail").is_hidden() and page.get_by_role("button", name="Work it out").is_hidden()
    assert page.locator(".figures").is_visible() and page.locator(".caution").is_visible()
    assert len(page.pdf(format="A4")) > 10_000
    page.close()
