"""The heat pages on the demonstration kitchen: answers, roles, both ways, and writing readings down."""

from __future__ import annotations

import re
import sqlite3
from pathlib import Path
from typing import Any

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
    assert data["peak_core"]["likely"] == pytest.approx(62.6, abs=0.05) and data["steps"][0]["core"] < 62.7
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


@pytest.fixture
def own(own_house: Any) -> tuple[Any, Path]:
    """A kitchen of its own to write into, and where it is."""
    return own_house, own_house.file


async def send(house: Any, ending: str = "", **fields: str) -> Any:
    page = await house.client.get("/doneness/readings/import")
    token = re.search(r'name="csrftoken" value="([^"]*)"', page.text)
    assert token is not None
    form = {"kind": "probe", "recipe": "mutton-loin-chop", "label": "ticket 12", "at": "Time", "temp": "F", "unit": "F",
            "clock": "clock", "zone": "Europe/London", "token": "abc123", "csrftoken": token[1],
            "text": "Time,F\n" + "".join(f"2026-11-25 18:{m:02d},{60 + 2 * m}\n" for m in range(45))}  # fmt: skip
    cookies = {"ds_csrftoken": page.cookies.get("ds_csrftoken", "")}
    return await house.client.post(f"/doneness/readings/import{ending}", data=form | fields, cookies=cookies)


def counted(path: Path, table: str) -> int:
    with sqlite3.connect(path) as connection:
        return int(connection.execute(f"select count(*) from {table} where origin = 'web'").fetchone()[0])


async def test_judging_writes_nothing_and_keeping_writes_once(own: Any) -> None:
    """Judged: no row. Kept twice with one token: 45 rows, and it says so."""
    house, path = own
    judged = await send(house, do="judge")
    assert judged.status_code == 200 and "Highest core" in judged.text and counted(path, "probe_readings") == 0
    first, second = await send(house, do="keep"), await send(house, do="keep")
    assert "45 readings written down" in first.text and "nothing was added" in second.text
    assert counted(path, "probe_readings") == 45
    with sqlite3.connect(path) as connection:
        assert connection.execute(
            "select distinct actor, piece, recipe_id from probe_readings where origin = 'web'"
        ).fetchall() == [("household", "ticket 12", "mutton-loin-chop")]
    assert "Whole curves against their prediction" in (await house.client.get("/doneness/readings")).text


async def test_a_cooling_pan_is_kept_as_one_log(own: Any) -> None:
    """Two stages judged; rows carry the label as the log's name and °F."""
    house, path = own
    text = "Time,F\n2026-11-25 18:00,140\n2026-11-25 18:01,135\n2026-11-25 20:01,70\n2026-11-26 00:01,41\n"
    found = await send(house, kind="cooling", recipe="", label="pan 3", text=text, do="keep")
    assert "4 readings written down" in found.text and counted(path, "cooling_readings") == 4
    listed = (await house.client.get("/doneness/readings?log=pan+3")).text
    assert listed.count('<span class="verdict change">met</span>') >= 2


async def test_a_salad_s_log_is_held_to_four_hours(own: Any) -> None:
    """Brought in as made from ingredients at room temperature: judged and kept by Food Code 3-501.14(B)."""
    house, path = own
    text = "Time,F\n2026-11-25 10:00,68\n2026-11-25 12:00,50\n2026-11-25 14:30,41\n"
    fields = {"kind": "cooling", "recipe": "", "label": "tuna 1", "text": text, "rule": "ambient"}
    judged = await send(house, do="judge", **fields)
    assert "to 41 °F (5 °C), allowed 4 h" in judged.text and "Food Code 3-501.14(B)" in judged.text
    assert judged.text.count('<span class="verdict contains">not met</span>') == 1
    await send(house, do="keep", **fields)
    with sqlite3.connect(path) as connection:
        rules = connection.execute("select distinct rule from cooling_readings where log_code = 'tuna 1'").fetchall()
    assert rules == [("ambient",)]
    one = (await house.client.get("/doneness/readings?log=tuna+1")).text
    assert "It was made, or came in, at" in one and "tuna 1" in one
    late = (await house.client.get("/doneness/readings?log=tuna+1&started=10:30")).text
    assert 'id="started-wrong"' in late
    refused = await send(house, do="keep", **(fields | {"rule": "frozen"}))
    assert 'id="rule-wrong"' in refused.text


async def test_a_salad_s_log_counts_from_when_it_was_made(own: Any) -> None:
    """First read at 10:00, cold at 13:50: in time from then, not from 09:40; kept with its rows, and asked when odd."""
    house, path = own
    text = "Time,F\n2026-11-25 10:00,68\n2026-11-25 12:00,50\n2026-11-25 13:50,41\n"
    fields = {"kind": "cooling", "recipe": "", "label": "tuna 2", "text": text, "rule": "ambient"}
    unsaid = await send(house, do="judge", **fields)
    assert '<span class="verdict change">met</span>' in unsaid.text and "if it was earlier" in unsaid.text
    said = await send(house, do="keep", started="09:40", **fields)
    assert '<span class="verdict contains">not met</span>' in said.text and "if it was earlier" not in said.text
    with sqlite3.connect(path) as connection:
        rows = connection.execute("select distinct started_at from cooling_readings where log_code = 'tuna 2'")
        assert rows.fetchall() == [("2026-11-25T09:40:00Z",)]
    listed = (await house.client.get("/doneness/readings?log=tuna+2")).text
    assert "made or came in at 09:40" in listed and 'name="started" value="09:40"' in listed
    late = await send(house, do="keep", started="10:01", **(fields | {"label": "tuna 3"}))
    day = await send(house, do="keep", started="2026-11-24 21:00", **(fields | {"label": "tuna 3"}))
    cooked = await send(house, do="keep", started="09:40", **(fields | {"label": "tuna 3", "rule": "cooked"}))
    undated = fields | {"clock": "minutes", "text": "Time,F\n0,60\n9,50\n"}
    clock = await send(house, do="judge", started="09:40", **undated)
    assert all('id="started-wrong"' in page.text for page in (late, cooked, clock))
    assert "more than 12 hours before" in day.text and counted(path, "cooling_readings") == 3
    sure = {"started": "2026-11-24 21:00", "started_sure": "2026-11-24 21:00"}
    await send(house, do="keep", token="sure", **(fields | {"label": "tuna 3"} | sure))
    assert counted(path, "cooling_readings") == 6


async def test_more_of_a_log_does_not_begin_after_it_was_read(own: Any) -> None:
    """A second file of the same pan, said to be made after the first one's readings: none of it is written."""
    house, path = own
    fields = {"kind": "cooling", "recipe": "", "label": "tuna 4", "rule": "ambient", "do": "keep"}
    await send(house, text="Time,F\n2026-11-25 10:00,68\n", **fields)
    more = await send(house, text="Time,F\n2026-11-25 11:00,60\n", started="10:30", token="two", **fields)
    assert 'id="label-wrong"' in more.text and counted(path, "cooling_readings") == 1


HOT = "Time,F\n" + "".join(f"2026-11-25 16:{m:02d},{40 + 3 * m}\n" for m in range(0, 44))


@pytest.mark.parametrize(
    ("how", "verdict", "said"),
    [("reheat", "met", "Food Code 2022, 3-403.11(A)"), ("reheat microwave", "only if", "left covered for 2 min"),
     ("reheat packed", "met", "3-403.11(C)"), ("reheat roast", "only if", "the oven was set as 3-401.11(B) has it")],
)  # fmt: skip
async def test_a_file_of_food_heated_again(own: Any, how: str, verdict: str, said: str) -> None:
    """41 to 165 °F within the hour, then held: by the paragraph chosen, as a page and as data; kept with how it was."""
    house, path = own
    fields = {"kind": "reheat", "recipe": "", "label": "stock 1", "how": how, "text": HOT}
    page = await send(house, do="judge", **fields)
    assert f">{verdict}</span>" in page.text and said in page.text and "Highest core" not in page.text
    kept = await send(house, do="keep", **fields)
    assert "44 readings written down" in kept.text and counted(path, "probe_readings") == 44
    with sqlite3.connect(path) as connection:
        steps = connection.execute("select distinct step, recipe_id from probe_readings where origin = 'web'")
        assert steps.fetchall() == [(how, None)]
    listed = (await house.client.get("/doneness/readings")).text
    again, probed = listed[listed.index(">Heated again <") :], listed.index(">Pieces probed <")
    assert "stock 1" in again and "stock 1" not in listed[probed:]


async def test_too_slow_is_thrown_away_and_too_cold_goes_on(own: Any) -> None:
    """(D) and (A) of 3-403.11, with what to do."""
    house, _ = own
    slow = "Time,F\n2026-11-25 14:00,41\n2026-11-25 16:10,165\n2026-11-25 16:11,166\n"
    found = await send(house, kind="reheat", recipe="", text=slow)
    assert "not met" in found.text and "3-403.11(D)" in found.text and "Too slow: throw it away" in found.text
    cold = await send(house, kind="reheat", recipe="", text=HOT.rpartition("2026-11-25 16:35")[0])
    assert "Heat it on: every part at 165" in cold.text and "were left at the last reading" in cold.text
    wrong = await send(house, kind="reheat", recipe="", how="fried", text=HOT)
    assert 'id="how-wrong"' in wrong.text
    other = await send(house, kind="soup", recipe="", text=HOT)
    assert 'id="kind-wrong"' in other.text


async def test_a_file_judged_as_data(own: Any) -> None:
    """Every limit with its section, edition, verdict and what to do; a cooling pan's limits too."""
    house, _ = own
    again = (await send(house, ".json", kind="reheat", recipe="", text=HOT, how="reheat packed")).json()["judged"]
    assert [(one["section"], one["verdict"]) for one in again] == [("3-403.11(C)", "met"), ("3-403.11(D)", "met")]
    assert again[0]["edition"].startswith("2022")
    assert again[0]["rule"] == "every part at 135 °F, no more than 2 h after 41 °F"
    pan = "Time,F\n2026-11-25 10:00,68\n2026-11-25 14:30,41\n"
    cooled = (await send(house, ".json", kind="cooling", rule="received", recipe="", text=pan)).json()
    assert [(one["section"], one["verdict"]) for one in cooled["judged"]] == [("3-501.14(C)", "not met")]
    asked = (await send(house, ".json", kind="cooling", rule="received", started="2026-11-24 20:00", text=pan)).json()
    assert "more than 12 hours" in asked["ask"]["started"] and asked["wrong"] == {}


async def test_another_edition_judges_no_reheating(own: Any) -> None:
    """The rows on file are those of 2013 and later."""
    house, path = own
    with sqlite3.connect(path) as connection:
        connection.execute("insert or replace into kitchen (key, value) values ('food code', '2009')")
    found = await send(house, kind="reheat", recipe="", text=HOT)
    assert "not judged" in found.text and "No rule of the 2009 edition" in found.text


async def test_heating_again_teaches_nothing_of_cooking(own: Any) -> None:
    """The curve of a chop in the bath and of the same chop heated again are two logs, and each has its own rule."""
    house, _ = own
    await send(house, do="keep")
    before = (await house.client.get("/doneness/readings.json")).json()
    text = HOT.replace("16:", "20:")
    await send(house, do="keep", kind="reheat", token="again", text=text)
    after = (await house.client.get("/doneness/readings.json")).json()
    assert before["curves"] and all(after[key] == before[key] for key in ("curves", "cores", "learnt"))
    assert len(after["reheats"]) == len(before["reheats"]) + 1 == 2


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


async def test_the_same_file_on_another_day_adds_nothing(own: Any) -> None:
    """Sent anew with its own token: on file already, not twice. A longer copy adds what is new."""
    house, path = own
    await send(house, do="keep")
    again = await send(house, do="keep", token="other")
    assert "nothing was added" in again.text and counted(path, "probe_readings") == 45
    text = "Time,F\n" + "".join(f"2026-11-25 18:{m:02d},{60 + 2 * m}\n" for m in range(47))
    longer = await send(house, do="keep", token="third", text=text)
    assert "2 readings written down" in longer.text and counted(path, "probe_readings") == 47


async def test_a_log_that_says_otherwise_needs_another_name(own: Any) -> None:
    """One moment can't have two temperatures: none of the second file is written, and the name is to blame."""
    house, path = own
    await send(house, do="keep")
    other = await send(house, do="keep", token="other", text="Time,F\n2026-11-25 17:59,58\n2026-11-25 18:05,99\n")
    assert 'id="label-wrong"' in other.text and "another name" in other.text
    assert counted(path, "probe_readings") == 45
    named = await send(house, do="keep", token="o2", label="ticket 13", text="Time,F\n2026-11-25 18:05,99\n")
    assert "1 reading written down" in named.text


async def test_a_hundred_thousand_rows_are_judged_and_not_kept(own: Any) -> None:
    """28 hours at one a second: the answer comes, the picture is thinned, and writing them down is refused in words."""
    house, path = own
    rows = "".join(f"{n},{60 + n % 900 / 10}\n" for n in range(100_000))
    judged = await send(house, do="judge", clock="seconds", at="s", temp="f", text="s,f\n" + rows)
    assert judged.status_code == 200 and "100000 readings" in judged.text and judged.text.count("<svg") == 1
    days = "".join(f"2026-11-{20 + n // 1440} {n % 1440 // 60:02d}:{n % 60:02d},150\n" for n in range(5001))
    kept = await send(house, do="keep", text="Time,F\n" + days)
    assert 'id="text-wrong"' in kept.text and "at most 5000" in kept.text and counted(path, "probe_readings") == 0


async def test_who_cannot_sign_writes_nothing(own: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """The words of the signing stand on the page, the answer stays, no row is written."""
    house, path = own

    async def nobody(*_: Any) -> str:
        return "Pick your name and type your PIN."

    monkeypatch.setattr("stillroom.plugins.doneness.keep.writer", nobody)
    found = await send(house, do="keep")
    assert "Pick your name" in found.text and "Highest core" in found.text and counted(path, "probe_readings") == 0


@pytest.mark.parametrize(
    ("fields", "wrong"),
    [({"label": ""}, "label"), ({"recipe": ""}, "recipe"),
     ({"clock": "minutes", "text": "Time,F\n0,50\n1,60\n"}, "clock"), ({"unit": "K"}, "unit"),
     ({"text": "Time,F\n2026-11-25 18:01,60\n2026-11-25 18:00,61\n"}, "text"),
     ({"text": "Time,F\n2026-11-25 18:00,60\n2026-11-25 18:00,61\n"}, "text"),
     ({"text": "Time,F\n2026-11-25 18:00,-41\n"}, "text"), ({"text": "Time,F\n2026-11-25 18:00,2000\n"}, "text"),
     ({"zone": "Atlantis/West"}, "zone"), ({"temp": "core"}, "temp"), ({"text": ""}, "text")],
)  # fmt: skip
async def test_what_cannot_be_kept_says_why(own: Any, fields: dict[str, str], wrong: str) -> None:
    """Beside its field, and no row is written."""
    house, path = own
    found = await send(house, do="keep", **fields)
    assert found.status_code == 200 and f'id="{wrong}-wrong"' in found.text and counted(path, "probe_readings") == 0


async def test_a_persons_word_starts_the_clock_of_a_log(own: Any) -> None:
    """A log that begins at 134 °F can't tell; ten minutes before settles it; a start after its readings is refused."""
    house, _ = own
    text = "Time,F\n2026-11-25 18:00,134\n2026-11-25 19:00,69\n2026-11-25 22:00,41\n"
    await send(house, kind="cooling", recipe="", label="pan 4", text=text, do="keep")
    unsaid = (await house.client.get("/doneness/readings?log=pan+4")).text
    said = (await house.client.get("/doneness/readings?log=pan+4&started=17:50")).text
    late = (await house.client.get("/doneness/readings?log=pan+4&started=19:00")).text
    figures = [page[page.index("<dl") : page.index("</dl>")] for page in (unsaid, said, late)]
    assert ["cannot tell" in one for one in figures] == [True, False, True]
    assert figures[1].count(">met<") == 2 and 'id="started-wrong"' in late and 'value="19:00"' in late


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


@pytest.mark.parametrize("kind", ["probe", "reheat", "cooling"])
async def test_a_file_read_in_the_wrong_scale_is_refused_with_the_mend(own: Any, kind: str) -> None:
    """A curve to 139 read as °C is 282 °F: moist food boils at 212. Nothing is met, nothing is kept, and it is told
    first. Source: boiling point of water at 1 atm; Food Code 4-203.11(B) for a probe's 2 °F."""
    house, path = own
    text = "Time,F\n" + "".join(f"2026-11-25 18:{m:02d},{50 + 2 * m}\n" for m in range(45)) + "2026-11-25 18:50,139\n"
    page = (await send(house, kind=kind, unit="C", text=text, do="keep")).text
    assert 'role="alert"' in page and "If 102 °F" in page and 'id="unit-wrong"' in page
    assert page.index('role="alert"') < page.index('<form method="post"') and 'class="verdict change"' not in page
    data = (await send(house, ".json", kind=kind, unit="C", text=text, do="keep")).json()
    assert list(data["wrong"]) == ["unit"] and data["judged"] == [] and data["kept"] is None
    assert counted(path, "probe_readings") + counted(path, "cooling_readings") == 0
    right = (await send(house, kind=kind, unit="F", text=text, do="judge")).text
    assert 'id="unit-wrong"' not in right


async def test_a_probe_out_of_the_food_is_no_wrong_scale(own: Any) -> None:
    """Read as °F, 300 °F is a hot oven: the mend is to leave that part out."""
    house, _ = own
    text = "Time,F\n2026-11-25 18:00,140\n2026-11-25 18:01,300\n"
    page = (await send(house, text=text, do="judge")).text
    assert "leave that part out" in page and "the scale is wrong" not in page


async def test_a_salad_in_celsius_read_as_fahrenheit_is_refused(own: Any) -> None:
    """20 °C falling to 4 would be frozen, and so at 41 °F or below from the first reading on."""
    house, _ = own
    text = "Time,F\n2026-11-25 10:00,20\n2026-11-25 12:00,12\n2026-11-25 18:30,4\n"
    data = (await send(house, ".json", kind="cooling", rule="ambient", text=text, do="judge")).json()
    assert data["judged"] == [] and "If 20 °C was meant" in data["wrong"]["unit"]


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


async def test_a_european_file_is_read_and_a_doubtful_one_is_asked_about(own: Any) -> None:
    """The form has the decimal mark and takes an offset for a zone; what reads two ways is told beside the mark."""
    house, _ = own
    rows = "".join(f"2026-10-25 {h:02d}:30;{t}\n" for h, t in enumerate(("57,25", "60,5", "63,5")))
    sent = await send(house, ".json", unit="C", at="1", temp="2", zone="+01:00", text=f"T;C\n{rows}", do="judge")
    data = sent.json()
    assert data["wrong"] == {} and data["readings"] == 3
    page = (await send(house, unit="C", at="1", temp="2", zone="+01:00", text="T;C\n2026-11-25 18:00;63,500\n")).text
    assert 'id="mark-wrong"' in page and "63.500 or 63500" in page
    twice = (await send(house, unit="C", at="1", temp="2", text=f"T;C\n{rows}")).text
    assert 'id="zone-wrong"' in twice and "clocks went back" in twice
    assert 'id="mark-wrong"' in (await send(house, mark="x")).text
    assert 'id="zone-wrong"' in (await send(house, zone="+25:00")).text


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
