"""Ageing pages in use: portions of a weight, promises once and taken back, refusals, a plan from a lot."""

from __future__ import annotations

import asyncio
import csv
import html
import io
import re
import sqlite3
from typing import Any

import pytest

STEAKS = "/ageing.json?on=2026-11-27&cut=beef-rib-steak"


async def promise(house: Any, **fields: str) -> Any:
    form = {"lot": "B-0158", "on": "2026-11-27", "portions": "3", "portion": "16 oz", "cut": "", "request_id": "r1"}
    return await house.client.post("/ageing/promise", data={**form, **fields})


def rows(house: Any) -> list[tuple[Any, ...]]:
    with sqlite3.connect(house.file) as connection:
        return connection.execute(
            "select lot_code, for_on, portions, portion_g, actor, stands from lot_reservations order by id"
        ).fetchall()


async def test_portions_of_a_weight_from_which_lots(house: Any) -> None:
    """How many 16 oz portions on Friday: whole portions of the low end of each lot, fewer than of 340 g."""
    own = {r["lot"]: r for r in (await house.client.get(STEAKS)).json()["ready"]}
    large = {r["lot"]: r for r in (await house.client.get(STEAKS + "&portion=16 oz")).json()["ready"]}
    assert own.keys() == large.keys() and own
    for lot, r in own.items():
        assert large[lot]["portions_low"] < r["portions_low"]
        assert r["portions_low"] * 340 // 453.59237 in (large[lot]["portions_low"], large[lot]["portions_low"] - 1)


async def test_a_promise_is_no_longer_free(own_house: Any) -> None:
    """Promised portions are not offered again, to this service or another."""
    path = STEAKS + "&portion=16 oz"
    before = {r["lot"]: r for r in (await own_house.client.get(path)).json()["ready"]}["B-0158"]
    assert (await promise(own_house, what_for="table 4")).status_code == 303
    for on in ("2026-11-27", "2026-11-28"):
        found = (await own_house.client.get(path.replace("2026-11-27", on))).json()
        after = {r["lot"]: r for r in found["ready"]}["B-0158"]
        assert after["unpromised"] == after["portions_low"] - 3
    assert after["promised"][0]["for"] == "table 4" and before["unpromised"] == before["portions_low"]
    page = (await own_house.client.get("/ageing/B-0158")).text
    assert "table 4" in page and "written by household" in page


async def test_a_double_tap_is_one_promise(own_house: Any) -> None:
    """The same form five times at once is one row."""
    await asyncio.gather(*(promise(own_house) for _ in range(5)))
    assert rows(own_house) == [("B-0158", "2026-11-27", 3, "453.59237", "household", 1)]


async def test_two_at_once_never_promise_more_than_there_is(own_house: Any) -> None:
    """Twelve tables ask for three each at the same time: no more than the lot has."""
    await asyncio.gather(*(promise(own_house, request_id=f"r{n}") for n in range(12)))
    found = (await own_house.client.get(STEAKS + "&portion=16 oz")).json()["ready"]
    lot = next(r for r in found if r["lot"] == "B-0158")
    assert sum(p["portions"] for p in lot["promised"]) <= lot["portions_low"] and lot["unpromised"] < 3


async def test_a_promise_taken_back_may_be_given_again(own_house: Any) -> None:
    """A row that voids it; the first stays as it was written."""
    await promise(own_house)
    for _ in range(2):
        answer = await own_house.client.post("/ageing/promise/back", data={"entry": "1", "on": "2026-11-27"})
        assert answer.status_code == 303
    assert [(r[2], r[5]) for r in rows(own_house)] == [(3, 1), (3, 0)]
    found = (await own_house.client.get(STEAKS + "&portion=16 oz")).json()["ready"]
    assert all(r["unpromised"] == r["portions_low"] and r["promised"] == [] for r in found)


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"portions": "99"}, "of B-0158 are counted on and not yet promised"),
        ({"portions": "0"}, "from 1 on"),
        ({"portions": "two"}, "from 1 on"),
        ({"lot": "B-9999"}, "no ageing lot of that name"),
        ({"lot": "K-none", "portion": ""}, "no ageing lot of that name"),
        ({"lot": "B-0165"}, "is not ready until 2026-12-18"),
        ({"on": "2026-11-20"}, "that service is past"),
        ({"on": "soon"}, "Not promised"),
        ({"portion": "2 qt"}, "Not promised"),
        ({"portion": "-3 oz"}, "Not promised"),
    ],
)
async def test_what_cannot_be_promised_is_refused(own_house: Any, fields: dict[str, str], words: str) -> None:
    """Too many, none, no such lot, not ready, past, unread: said with what was typed kept, nothing written."""
    answer = await promise(own_house, what_for="Ines, eight", **fields)
    assert answer.status_code == 200 and words in answer.text and rows(own_house) == []
    assert "Ines, eight" in answer.text and " free" not in answer.text


@pytest.mark.parametrize("role", ["server", "cook", "station"])
async def test_only_the_office_promises(staffed: Any, role: str) -> None:
    """Ageing lots and their worth are not a server's or cook's page, and no form of it is theirs."""
    answer = await staffed.house.client.post("/ageing/promise", data={"lot": "B-0158"}, cookies=staffed.cookies[role])
    assert answer.status_code == 403


async def test_a_plan_from_a_lot(house: Any) -> None:
    """A lot fills in cut and trimmed weight; portions, ends, by-products and loss beside the last breakdown."""
    found = (await house.client.get("/ageing/plan.json?lot=M-0338&length=60&taper=70&ends=2")).json()
    compared = {c["what"].partition(",")[0]: c for c in found["compared"]}
    assert found["plan"]["portions"] == int(compared["Portions"]["planned"]) > 5
    assert {p["name"] for p in found["by_products"]} == {"mutton fat", "mutton bones", "mutton trim"}
    assert compared["mutton fat"]["last"] != "–" and compared["Before trimming"]["last"] != "–"


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ("weight=4&length=60", "Choose a cut or write the weight of a portion"),
        ("lot=none&weight=4&length=60&portion=200", "No lot of that name"),
        ("weight=4&length=60&portion=2 qt", "qt"),
        ("weight=900&length=60&portion=0.1", "more than 2,000 portions"),
        ("weight=4&length=60&taper=200&portion=200", "taper is above 0 %"),
    ],
)
async def test_no_plan_is_said(house: Any, query: str, words: str) -> None:
    """What gives no plan is said, and the form keeps what was typed."""
    answer = await house.client.get("/ageing/plan?" + query)
    assert answer.status_code == 200 and words in answer.text


async def test_a_cut_is_not_added_to_another(house: Any) -> None:
    """Portions needed over lots of several cuts: the page asks which."""
    page = (await house.client.get("/ageing?on=2026-12-20&need=9")).text
    assert "These lots are of several cuts" in page


async def test_lots_of_which_nothing_is_known_are_not_called_ready(house: Any) -> None:
    """In three years every lot is past its day and past any forecast: none is counted, and none can be promised."""
    page = (await house.client.get("/ageing?on=2030-01-01")).text
    assert 'class="count">0 lots' in page and "Past their day by then, weight not known" in page
    assert "<h2>Promise portions</h2>" not in page and "to promise" not in page
    soon = (await house.client.get("/ageing?on=2026-11-27")).text
    assert "<h2>Promise portions</h2>" in soon and 'class="count">0 lots' not in soon


async def test_a_metric_kitchen_reads_its_ageing_room_in_celsius(house: Any) -> None:
    """The weighing of 24 November was written "1 °C": so it is read, on the page and in the file."""
    page = (await house.client.get("/ageing/B-0158")).text
    assert ">Room °C</th>" in page and "32 to 39 °F (0 to 3.9 °C)" in page
    rows = list(csv.DictReader(io.StringIO((await house.client.get("/ageing/B-0158.csv")).text)))
    assert [(r["on"], r["room °C"]) for r in rows][:2] == [("2026-11-24", "1"), ("2026-11-17", "1.5")]


async def test_the_file_answers_what_the_page_was_asked(house: Any) -> None:
    """Interest and space are in the file behind the page's own link, under headings that name the money."""
    page = (await house.client.get("/ageing?interest=8&space=1.50&cut=beef-rib-steak")).text
    (link,) = re.findall(r'href="(/ageing\.csv[^"]*)"', page)
    rows = list(csv.DictReader(io.StringIO((await house.client.get(html.unescape(link))).text)))
    plain = list(csv.DictReader(io.StringIO((await house.client.get("/ageing.csv")).text)))
    assert {r["cut"] for r in rows} == {"Beef rib steak"} and len(rows) < len(plain)
    now = "usable kg costs now, GBP"
    assert all(f">{r[now]}</td>" in page for r in rows)
    assert rows[0][now] != next(r[now] for r in plain if r["lot"] == rows[0]["lot"])
