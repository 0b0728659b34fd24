"""A logger's file through its page: judged, kept once, refused in words; and how its log is judged on file."""

from __future__ import annotations

import re
import sqlite3
from pathlib import Path
from typing import Any

import pytest


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


async def test_a_cooling_of_an_edition_that_is_not_on_file_is_not_judged(own: Any) -> None:
    """Before 2005 the clock started at 140 °F: a kitchen that follows 1999 is told so, on each page, never “met”."""
    house, path = own
    with sqlite3.connect(path) as connection:
        connection.execute("insert or replace into kitchen (key, value) values ('food code', '1999')")
    why = "No cooling rule of the 1999 edition is on file. Local code decides"
    log = {"kind": "cooling", "label": "P9", "clock": "minutes", "text": "Time,F\n0,140\n10,135\n100,70\n300,41\n"}
    brought = await send(house, **log)
    readings = await house.client.get("/doneness/readings")
    planned = await house.client.get("/doneness/cooling?depth=1+in&place=blast&rule=cooked&start=135+F")
    for page in (brought, readings, planned):
        assert why in page.text and 'change">met' not in page.text and "passes, if" not in page.text
    assert (await send(house, ".json", **log)).json()["judged"][0]["verdict"] == "not judged"
