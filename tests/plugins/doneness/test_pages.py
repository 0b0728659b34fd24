"""The heat pages on the demonstration kitchen: answers, roles, both ways, and writing readings down."""

from __future__ import annotations

import re
import sqlite3
from html import unescape
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
from stillroom.plugins.core.auth import decide

CHOP = "/doneness/mutton-loin-chop"
FORM = (
    "?food=lamb&shape=slab&thickness=38+mm&start=38+F&step1=bath&at1=140+F&time1=2+h&step2=rest&at2=75+F&time2=10+min"
)


async def get(house: Any, path: str) -> Any:
    return await house.client.get(path)


@pytest.mark.parametrize("path", ["/doneness", CHOP, "/doneness/line", "/doneness/line?piece=mutton-loin-chop",
                                  "/doneness/cooling", "/doneness/cooling?depth=4+in", "/doneness/readings",
                                  "/doneness/readings/import"])  # fmt: skip
async def test_every_page_answers_with_its_caution(house: Any, path: str) -> None:
    """Each page says that a prediction is no reading, or where its readings come from, and who decides."""
    found = await get(house, path)
    assert found.status_code == 200
    caution = found.text[found.text.index('<footer class="caution">') :]
    assert "inspector" in caution and re.search(r"never a reading|written down|its own moment", caution)


@pytest.mark.parametrize("path", [CHOP, "/doneness/line?piece=pork-chop-aged", "/doneness/cooling?depth=1+in",
                                  "/doneness/readings"])  # fmt: skip
async def test_no_page_promises(house: Any, path: str) -> None:
    """No screen says safe; a prediction that meets a rule says 'if the probe confirms'."""
    text = re.sub(r"<[^>]+>", " ", (await get(house, path)).text).lower()
    assert not re.search(r"\bsafe\b|\bsafely\b", text)


async def test_the_answer_comes_first_and_the_same_as_data(house: Any) -> None:
    """Pull, peak, clock and growth zone head the page; the data has the same pull."""
    text = (await get(house, CHOP)).text
    data = (await get(house, CHOP + ".json")).json()
    assert text.index("Pull from the grill at") < text.index("<svg") < text.index("Against the rules")
    core = data["pull"]["core"]
    assert data["pull"]["unit"] == "°C" and f"<dd>{core:.0f} <small>°C core (" in text  # a metric kitchen
    assert data["is_prediction"] is True and data["food_code_edition"] == "2022"
    assert {"met", "not met", "only if"} >= {rule["verdict"] for rule in data["rules"]}


async def test_ready_at_gives_in_at_and_back(house: Any) -> None:
    """2 h 10 before 19:30 is 17:20; in at 17:20 is ready at 19:30."""
    there = (await get(house, CHOP + ".json" + FORM + "&ready=19:30")).json()
    back = (await get(house, CHOP + ".json" + FORM + "&begin=17:20")).json()
    assert (there["begin_at"], back["ready_at"]) == ("17:20", "19:30")


RAMP = FORM.replace("at1=140+F", "at1=20+C&to1=140+F")
OWN = "&rule_core=70+C&rule_hold=2+min&rule_stands=house+plan+3"


async def test_a_ramp_and_a_rule_of_the_house_go_both_ways(house: Any) -> None:
    """The same programme from its end and from its beginning, with a bath that runs up and the kitchen's own rule."""
    there = (await get(house, CHOP + ".json" + RAMP + OWN + "&ready=19:30")).json()
    back = (await get(house, CHOP + ".json" + RAMP + OWN + "&begin=17:20")).json()
    assert (there["begin_at"], back["ready_at"]) == ("17:20", "19:30")
    (ramp, _), own = there["steps"], there["rules"][0]
    assert (ramp["at"], ramp["to"], ramp["unit"]) == (20.0, 60.0, "°C")
    assert (own["is_own"], own["wanted"], own["section"]) == (True, "158 °F for 120 s", "house plan 3")
    assert there["steps"] == back["steps"] and there["rules"] == back["rules"]


async def test_a_ramp_and_a_rule_of_the_house_stay_in_the_form(house: Any) -> None:
    """What is typed is there again, unfolded; where neither is used, both are folded away."""
    text = (await get(house, CHOP + RAMP + OWN)).text
    assert "bath, 20 to 60 °C" in text and text.count('<details class="more" open>') == 2
    assert 'name="to1" value="140 F"' in text and 'name="rule_stands" value="house plan 3"' in text
    assert '<details class="more" open>' not in (await get(house, CHOP)).text
    wrong = (await get(house, CHOP + RAMP + "&rule_core=70+C")).text
    assert 'id="rule_stands-wrong"' in wrong and 'name="rule_core" value="70 C"' in wrong


async def test_data_has_the_page_s_scale_and_the_law_s_own_figure(house: Any) -> None:
    """In °C with the unit beside each, as the page says it; what a rule prints stays 145 °F, never 62.8 °C and back."""
    data = (await get(house, CHOP + ".json")).json()
    heads = [data[name] for name in ("pull", "peak_core", "backwards")]
    heads += [data[name][0] for name in ("steps", "minutes", "doneness")]
    assert {one["unit"] for one in heads} == {"°C"}
    assert data["minutes"][0]["core"] == 3.0 and data["steps"][0]["at"] == 57.0
    band, *_, law = data["pulls"]
    assert (band["target"], band["target_unit"]) == (56.0, "°C")
    assert (law["target"], law["target_unit"]) == (145.0, "°F")
    assert "145 °F for 15 s" in {rule["wanted"] for rule in data["rules"]}


PORK = "/doneness/pork-chop-aged"
LOW = ("thickness=20+mm&step1=bath&at1=64.5+C&time1=2+h&step2=rest&at2=62+C&time2=3+min&start=38+F&food=")  # fmt: skip


async def test_ground_meat_is_judged_as_ground_meat(house: Any) -> None:
    """The name of the food is enough: page and data say as what it was judged, and why, and the form shows it."""
    data = (await get(house, f"{PORK}.json?{LOW}ground+beef")).json()
    assert data["held_to"]["worked"] == "minced" and "ground" in data["held_to"]["because"]
    assert not any("intact steaks" in rule["rule"] for rule in data["rules"])
    page = (await get(house, f"{PORK}?{LOW}ground+beef")).text
    assert '<option value="minced" selected>' in page and "Judged as <b>minced, ground or formed</b>" in page
    stuffed = (await get(house, f"{PORK}.json?{LOW}pork&worked=stuffed")).json()
    assert {r["wanted"] for r in stuffed["rules"] if "(A)" in r["section"]} == {"165 °F, no hold stated"}
    wrong = (await get(house, f"{PORK}.json?{LOW}pork&worked=raw")).json()
    assert list(wrong["wrong"]) == ["worked"]


async def test_a_core_that_falls_short_never_reads_as_the_law_s_figure(house: Any) -> None:
    """A grill ended at 62.6 °C beside a limit of 145 °F (62.8 °C): page, picture, table and data say less."""
    query = "food=pork&thickness=20+mm&start=38+F&step1=bath&at1=66+C&until1=62.6+C"
    page, data = (await get(house, f"{PORK}?{query}")).text, (await get(house, f"{PORK}.json?{query}")).json()
    assert "<dd>62.6 <small>°C" in page and "the core peaks near 62.6 °C" in page and "<b>62.6 °C</b>" in page
    drawn = re.search(r'<svg[^>]*aria-label="([^"]*)"', page)
    assert drawn is not None and "the core peaks near 62.6 °C" in drawn[1].replace("\u00a0", " ")
    assert data["peak_core"]["likely"] == 62.6 and data["steps"][0]["core"] < 62.7
    grilled = query + "&step2=rest&at2=62+C&time2=1+min"
    assert re.search(r"62\.6 <small>°C core \(144\.[67]\s°F\)", (await get(house, f"{PORK}?{grilled}")).text)


@pytest.mark.parametrize("food", ["porc", ""])
async def test_an_unknown_food_is_told_on_page_and_as_data(house: Any, food: str) -> None:
    """No rule is no silence; the form offers the foods that are known."""
    page, data = (await get(house, f"{PORK}?{LOW}{food}")).text, (await get(house, f"{PORK}.json?{LOW}{food}")).json()
    assert "No cooking minimum is known" in page and "not judged" in page and '<option value="ostrich">' in page
    assert data["rules"][0]["verdict"] == "not judged" and "Known:" in data["rules"][0]["why"]


@pytest.mark.parametrize(
    ("change", "field"),
    [("&peak=300+F", "peak"), ("&until1=60+C&at1=20+C", "until1"), ("&time2=", "time2"), ("&thickness=0", "thickness")],
)
async def test_a_bad_field_keeps_what_was_typed(house: Any, change: str, field: str) -> None:
    """Words beside the field, every field as typed, and no half answer."""
    from urllib.parse import parse_qsl, urlencode

    query = urlencode(dict(parse_qsl((FORM + change)[1:], keep_blank_values=True)))
    text = (await get(house, f"{CHOP}?{query}")).text
    assert f'id="{field}-wrong"' in text and 'value="38 F"' in text
    assert "Against the rules" not in text and "Not worked out yet" in text


async def test_what_is_typed_stays_text(house: Any) -> None:
    """Markup in a field is shown, not run."""
    text = (await get(house, f"{CHOP}?thickness=%3Cscript%3Ealert(1)%3C/script%3E&step1=bath")).text
    assert "<script>alert" not in text and "&lt;script&gt;" in text


async def test_an_unknown_piece_is_not_here(house: Any) -> None:
    """404 with where to look."""
    assert (await get(house, "/doneness/no-such-piece")).status_code == 404


def test_who_may_see_heat() -> None:
    """Cook, chef and manager; a server not."""
    assert [decide(role, "doneness") for role in ("cook", "chef", "manager", "server", "")] == [True] * 3 + [False] * 2


async def test_logs_of_every_paragraph_stand_side_by_side(house: Any) -> None:
    """The demonstration's stock, mayonnaise and milk: each is listed with the paragraph it is held to."""
    text = (await get(house, "/doneness/readings")).text
    rows = {code: text[text.index(f">{code},") :][:400] for code in ("C-272", "C-273", "C-274")}
    sections = {code: re.search(r"3-501\.14\(.\)", row)[0] for code, row in rows.items()}  # type: ignore[index]
    assert sections == {"C-272": "3-501.14(A)", "C-273": "3-501.14(B)", "C-274": "3-501.14(C)"}


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("depth=1+in&rule=ambient&place=walk_in_fan", "to 41 °F (5 °C), allowed 4 h"),
        ("depth=1+in&rule=received", "The clock starts as it is made, or comes in"),
        ("depth=1+in", "135 to 41 °F (57.2 to 5 °C), allowed 6 h in all"),
        ("depth=1+in&rule=ambient&start=150+F", 'id="start-wrong"'),
        ("depth=1+in&rule=frozen", 'id="rule-wrong"'),
    ],
)
async def test_a_pan_is_planned_by_its_rule(house: Any, query: str, said: str) -> None:
    """One limit of four hours for what was never cooked; a start too hot for it, or no rule, is told at its field."""
    assert said in (await get(house, f"/doneness/cooling?{query}")).text


async def test_a_planned_cooling_as_data(house: Any) -> None:
    """Each limit of the rule with its figure in °F as the law prints it, and what is left."""
    data = (await get(house, "/doneness/cooling.json?depth=1+in&rule=received&start=45+F")).json()
    (limit,) = data["limits"]
    assert (data["section"], limit["to_f"], limit["within_s"]) == ("3-501.14(C)", 41, 14400)
    assert limit["spare_s"] == 14400 - limit["reached_s"]


def wrongly(path: Path, table: str, column: str, temps: list[float], **also: str) -> None:
    """Readings already in the kitchen's file, a minute apart, as an earlier import left them."""
    from stillroom.db.log import append

    label = "piece" if table == "probe_readings" else "log_code"
    with sqlite3.connect(path, isolation_level=None) as connection:
        for n, temp in enumerate(temps):
            append(connection, table, {
                "request_id": f"old-{n}", "recorded_at": "2026-11-25T18:00:00Z", "actor": "ann", "origin": "web",
                "recipe_id": "mutton-loin-chop", "read_at": f"2026-11-25T17:{n:02d}:00Z", column: temp, label: "odd",
            } | also)  # fmt: skip


async def test_stored_logs_in_the_wrong_scale_are_not_judged(own: Any) -> None:
    """A curve, a glance and a pan that were written down so: told, never met, and no band and no learning from them."""
    house, path = own
    before = (await house.client.get("/doneness/readings")).text
    wrongly(path, "probe_readings", "core_f", [100.0 + 10 * m for m in range(20)])
    wrongly(path, "cooling_readings", "temp_f", [290.0, 150.0, 41.0])
    page = (await house.client.get("/doneness/readings")).text
    assert "Logs that are not judged" in page and "If 104.4 °F" in page
    met = '<span class="verdict change">met</span>'
    assert page.count(met) <= before.count(met)
    assert "If 143.3 °F" in (await house.client.get("/doneness/readings?log=odd")).text


async def test_a_single_core_beyond_boiling_counts_for_nothing(own: Any) -> None:
    """293 °F is 145 °F read as °C: it is left out of the pieces probed, and that is told."""
    house, path = own
    before = (await house.client.get("/doneness/readings")).text
    wrongly(path, "probe_readings", "core_f", [293.0])
    page = (await house.client.get("/doneness/readings")).text
    assert "1 left out: hotter than moist food boils" in page and "left out" not in before
    assert "293" not in page and "145 °C" not in page


async def test_the_cooling_page_says_what_starts_the_clock(house: Any) -> None:
    """A hotter pan is never let off: its deepest is no deeper. Food Code 3-501.14(A) counts from 135 °F in the food."""
    ask = "/doneness/cooling.json?depth=50+mm&place=blast&start="
    data = [(await get(house, f"{ask}{start}+F")).json() for start in (135, 180)]
    assert data[0]["deepest_mm"] > data[1]["deepest_mm"] and "first part" in data[1]["clock_starts"]
    page = (await get(house, "/doneness/cooling?depth=50+mm&place=blast&start=180+F")).text
    assert "Both clocks start as the first part of the food falls to 135 °F" in page
    assert "its warmest part" in page


@pytest.mark.parametrize("path", [PORK, f"{PORK}?{LOW}pork", "/doneness/readings", "/doneness/readings/import",
                                  f"{PORK}?thickness=38+mm&shape=factor&step1=bath&start=38+F"])  # fmt: skip
async def test_no_page_speaks_as_an_engine_does(house: Any, path: str) -> None:
    """Words a cook knows come first; h and W/m²K stand in small print where they are needed."""
    text = re.sub(r"<[^>]+>", " ", re.sub(r"<small>.*?</small>|<span class=\"small\">.*?</span>", " ",
                                          (await get(house, path)).text))  # fmt: skip
    engine = r"slow end|own h\b|[Ss]hape factor|\bFactor\b|[Ss]urface coefficient|this record|on record"
    assert not re.search(engine, text)


async def test_what_the_files_say_of_a_piece_outlives_a_change_of_its_thickness(own: Any) -> None:
    """A question that says nothing of how the piece was worked goes by its files; one that does goes by itself."""
    house, path = own
    with sqlite3.connect(path) as connection:
        connection.execute("update pieces set worked = 'minced' where recipe_id = 'pork-chop-aged'")
    found = [(await house.client.get(f"{PORK}.json?{LOW}{asked}")).json()["held_to"]["worked"]
             for asked in ("pork", "pork&worked=stuffed", "lamb")]  # fmt: skip
    assert found == ["minced", "stuffed", "intact"]


async def test_the_text_that_a_refused_temperature_asks_for_is_one_that_is_taken(house: Any) -> None:
    """A metric page puts °C beside the law's °F, but not within the quotes of what to type: as shown it is written."""
    refused = unescape((await get(house, "/doneness/cooling?depth=50+mm&place=blast&start=180+F&air=3")).text)
    offered = re.findall(r'write "([^"]+)" or "([^"]+)"', refused)
    assert offered and "(3.3 °C)" not in refused
    for text in offered[0]:
        taken = (await get(house, f"/doneness/cooling?depth=50+mm&place=blast&start=180+F&air={quote(text)}")).text
        assert "to spare" in taken and "is not a temperature" not in taken
