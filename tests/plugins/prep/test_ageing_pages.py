"""Pieces to hang and lots to cut up, on the list of the demonstration: read, ticked, hung, and gone from it."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable
from datetime import date
from fractions import Fraction as F
from pathlib import Path
from typing import Any

import pytest
from stillroom.db.coming import far_plates, read_coming
from stillroom.db.log import append
from stillroom.plugins.prep.ageing import to_hang
from stillroom.plugins.prep.ageing_rows import read_aged

HOST = {"host": "127.0.0.1"}
WED, SATURDAY = date(2026, 11, 25), date(2026, 11, 28)
RIB, STEAK, PORK = "beef-rib-horseradish", "beef-rib-steak", "pork-chop-aged"


@pytest.fixture
def own(demo_db: Path, tmp_path: Path) -> Path:
    """A copy of the demonstration that a test may write to."""
    path = tmp_path / "kitchen.db"
    with sqlite3.connect(demo_db) as source, sqlite3.connect(path) as copy:
        source.backup(copy)
    return path


@pytest.fixture
def kitchen(own: Path) -> Callable[..., Any]:
    """Datasette on it, on a day."""

    async def at(on: date = WED) -> Any:
        from stillroom.loaders.commands import application

        told(own, "update kitchen set value = ? where key = 'today'", on.isoformat())
        house = application(own)
        await house.invoke_startup()
        return house

    return at


def told(file: Path, sql: str, *values: Any) -> list[tuple[Any, ...]]:
    with sqlite3.connect(file) as connection:
        return connection.execute(sql, values).fetchall()


async def rows(house: Any, *headings: str) -> dict[str, dict[str, Any]]:
    found = (await house.client.get("/prep.json", headers=HOST)).json()
    return {row["key"]: row for heading in headings for row in found[heading]}


async def send(house: Any, path: str, page: str = "/prep", **fields: str) -> Any:
    """A form as a browser sends it, with what its page puts into it."""
    opened = await house.client.get(page, headers=HOST)
    hidden = dict(re.findall(r'<input type="hidden" name="(csrftoken|request)" value="([^"]*)"', opened.text))
    return await house.client.post(path, data={**hidden, **fields}, headers=HOST, cookies=dict(opened.cookies))


async def test_the_list_says_days_ahead_what_must_be_hung(house: Any) -> None:
    """21 days before Sunday 20 December a saddle, in words: what, by when, why, for whom, and what that rests on."""
    soon = await rows(house, "soon")
    row = soon["mutton-loin-chop~hang0"]
    assert (row["name"], row["start"]) == ("Hang 1 × marsh mutton saddle, by Sunday", "Sun 29")
    assert row["whom"] == "for 20 December: Salt-marsh mutton loin, celeriac"
    assert re.fullmatch(r"lots in hand end about 19 December, need \d+, \d+ left by then", row["why"])
    assert row["notes"] == ["21 days as most of the last lots; one gives about 17"]
    assert row["form"] == "/log/hang?of=marsh-mutton-saddle&cut=mutton-loin-chop"
    assert not any(key.startswith(STEAK) for key in soon)  # the ribs in hand last beyond 30 December
    page = (await house.client.get("/prep", headers=HOST)).text
    assert "To hang in the days ahead" in page and "half of such weeks want more" in page
    # K-116 was cut on the 24th and its 16 chops keep until the 26th: what is left of them then is nobody's Friday
    assert "30 short from Friday on, and nothing hung now is ready for it" in page


async def test_a_lot_that_is_ready_and_wanted_is_work_and_its_tick_a_batch_that_names_it(
    own: Path, kitchen: Callable[..., Any]
) -> None:
    """B-0158 is ready today: cut it for tomorrow. Done: a batch with its code, and the lot is no longer in hand."""
    house = await kitchen()
    key = f"{STEAK}~lot B-0158"
    row = (await rows(house, "ahead"))[key]
    assert row["name"] == "Cut lot B-0158: Beef rib steak, ready today" and row["quantity"] == "19"
    assert row["whom"] == "for tomorrow: Beef rib, horseradish" and row["why"].startswith("need 8, on hand 3")
    said = [
        (await send(house, "/prep/tick", key=key, state="done", request_id="cut-b-0158")).headers["location"]
        for _ in range(2)  # a double tap
    ]
    assert "Write+the+breakdown+of+B-0158+in+the+log" in said[0] and "written+down+already" in said[1]
    (batch,) = told(own, "select from_lots, quantity, use_by from batches where recipe_id = ?", STEAK)
    assert batch == ("B-0158", "19", "2026-11-28")
    after = await rows(house, "ahead")
    assert key not in after and f"{STEAK}~lot B-0160" in after
    ((tick,),) = told(own, "select max(id) from task_ticks")
    assert (await send(house, "/prep/undo", tick=str(tick))).status_code == 303
    assert key in await rows(house, "ahead")


async def test_a_piece_that_is_hung_is_no_longer_asked_for(own: Path, kitchen: Callable[..., Any]) -> None:
    """On Saturday a loin must hang by today; no tick does it, the log's form does, and the list knows at once."""
    house = await kitchen(SATURDAY)
    row = (await rows(house, "ahead"))[f"{PORK}~hang0"]
    assert row["name"] == "Hang 1 × pork loin, bone in, by today" and row["whom"].startswith("for 9 December")
    ticked = await send(house, "/prep/tick", key=row["key"], state="done", request_id="not-so")
    assert "Nothing+was+written" in ticked.headers["location"]
    assert told(own, "select count(*) from task_ticks") == [(0,)]
    page = await house.client.get(row["form"], headers=HOST)
    assert 'value="11"' in page.text  # the days, as most of the last lots
    fields = {"of": "pork-loin-bone-in", "cut": PORK, "weight": "9 kg", "days": "11"}
    assert (await send(house, "/log/hang", row["form"], **fields)).status_code == 303
    left = await rows(house, "ahead", "soon")
    assert not any("by today" in x["name"] for x in left.values() if x["kind"] == "hang")


async def test_todays_cutting_says_which_lot(kitchen: Callable[..., Any]) -> None:
    """On Saturday steaks are cut from what is ready; no loin is, and the next is told."""
    house = await kitchen(SATURDAY)
    late = await rows(house, "late", "now", "next")
    assert late[STEAK]["notes"][0] == "from lot B-0158, ready since last Wednesday"
    assert late[PORK]["notes"][0] == "not enough lots: none is ready; P-0109 is next, Monday"


async def test_a_cut_whose_days_nobody_knows_is_told_and_not_guessed(own: Path, kitchen: Callable[..., Any]) -> None:
    """No rib says how long it hangs: nothing is asked for, and the page says that it can't be told."""
    told(own, "update ageing_lots set target_days = null where cut_recipe_id = ?", STEAK)
    house = await kitchen()
    page = (await house.client.get("/prep", headers=HOST)).text
    assert "Beef rib steak comes from a piece that ages. By when to hang the next can" in page
    assert not any(key.startswith(f"{STEAK}~") for key in await rows(house, "ahead", "soon"))


def test_a_dish_whose_season_begins_later_asks_weeks_before_it(own: Path) -> None:
    """From 31 December on the menu, nothing hangs: none wanted before, and the first must hang by 26 November."""
    told(own, "update recipes set from_on = '2026-12-31' where id = ?", RIB)
    told(own, "delete from ageing_lots where cut_recipe_id = ? and started_on >= '2026-10-21'", STEAK)
    told(own, "delete from counts where recipe_id = ?", STEAK)
    with sqlite3.connect(own) as connection:
        coming = read_coming(connection)
        far = [p for p in far_plates(connection, coming, 42) if p.dish == RIB and p.ready]
        aged, _ = read_aged(connection, coming)
    assert not [p for p in coming.plates if p.dish == RIB and p.ready]
    assert min(p.on for p in far) == date(2026, 12, 31)
    assert sum(n.quantity for n in aged[STEAK].needs) == sum(p.ready for p in far) > 0
    first = to_hang(aged[STEAK], WED, coming.works)[0]
    assert (first.run.begin_on, first.run.ready_on, first.ends_on) == (date(2026, 11, 26), date(2026, 12, 31), None)


def test_a_lot_gives_what_the_ageing_page_says_less_what_is_promised(own: Path) -> None:
    """Five portions of 340 g of B-0163 are promised: it counts for five fewer, and a lot in a batch for none."""
    with sqlite3.connect(own) as connection:
        coming = read_coming(connection)
        before = {lot.code: lot.gives for lot in read_aged(connection, coming)[0][STEAK].lots}
        common = {"recorded_at": "2026-11-25T10:00:00Z", "actor": "ann", "origin": "web"}
        append(connection, "lot_reservations", {
            **common, "request_id": "promised-1", "lot_code": "B-0163", "for_on": "2026-12-10", "portions": 5,
            "portion_g": "340",
        })  # fmt: skip
        append(connection, "batches", {
            **common, "request_id": "batch-1", "recipe_id": STEAK, "made_on": "2026-11-25", "quantity": "19",
            "unit": "each", "from_lots": "X-1;B-0158",
        })  # fmt: skip
        found, _ = read_aged(connection, coming)
    after = {lot.code: lot.gives for lot in found[STEAK].lots}
    assert before["B-0163"] == 19 and after == {
        code: gives - (5 if code == "B-0163" else 0) for code, gives in before.items() if code != "B-0158"
    }
    assert found[STEAK].days == 35 and found[STEAK].item == "beef rib, bone in" and found[STEAK].piece == F(18)
    assert to_hang(found[STEAK], WED, coming.works) == []
