"""A breakdown on the pages that look at the stock: the list, what is short, what ends; logged, ticked in any order."""

from __future__ import annotations

import re
import sqlite3
from pathlib import Path
from typing import Any

import pytest

HOST = {"host": "127.0.0.1"}
BRILL = "brill-portion"


@pytest.fixture
async def kitchen(demo_db: Path, tmp_path: Path) -> Any:
    """Datasette on a copy of the demonstration: on its Wednesday nobody has counted brill portions."""
    from stillroom.loaders.commands import application

    path = tmp_path / "kitchen.db"
    with sqlite3.connect(demo_db) as source, sqlite3.connect(path) as copy:
        source.backup(copy)
    house = application(path)
    await house.invoke_startup()
    house.file = path
    return house


async def data(house: Any, path: str) -> dict[str, Any]:
    return dict((await house.client.get(path, headers=HOST)).json())


async def task(house: Any) -> dict[str, Any] | None:
    """The list's task of brill portions."""
    found = await data(house, "/prep.json")
    heads = ("late", "now", "next", "ahead", "waits")
    return next((r for h in heads for r in found[h] if r["recipe"] == BRILL and r["kind"] == "make"), None)


async def send(house: Any, path: str, page: str, **fields: str) -> Any:
    opened = await house.client.get(page, headers=HOST)
    hidden = dict(re.findall(r'<input type="hidden" name="(csrftoken|request)" value="([^"]*)"', opened.text))
    answer = await house.client.post(path, data={**hidden, **fields}, headers=HOST, cookies=dict(opened.cookies))
    assert answer.status_code == 303, answer.text[-3000:]
    return answer


async def break_down(house: Any, pieces: int, **more: str) -> Any:
    """A brill of 500 g a portion, half of it bones: nothing left over that would be asked about."""
    fields = {"of": "Brill portion", "input": f"{pieces} kg", "of1": "Brill portion", "weight1": f"{pieces * 500} g",
              "pieces1": str(pieces), "of2": "fish bones", "weight2": f"{pieces * 500} g", **more}  # fmt: skip
    return await send(house, "/log/breakdown", "/log/breakdown", **fields)


async def tick(house: Any, state: str, name: str, made: str = "") -> Any:
    return await send(house, "/prep/tick", "/prep", key=BRILL, state=state, made=made, request_id=name)


async def on_hand(house: Any, item: str = "brill") -> dict[str, str]:
    """Name -> how much, of what /short says holds the item already."""
    found = await data(house, f"/short/{item}.json")
    return {b["name"]: b["on_hand"] for b in found["batches"]}


async def test_portions_cut_are_on_hand_and_only_the_rest_is_asked_for(kitchen: Any) -> None:
    """The list wants 23: 10 are weighed out, it asks for 13 more and says why; the page tells the chef so."""
    before = await task(kitchen)
    assert before is not None and "none on hand" in before["why"]
    wanted = int(before["made"])
    entry = await break_down(kitchen, 10)
    left = await task(kitchen)
    assert left is not None and int(left["made"]) == wanted - 10 and "on hand 10" in left["why"]
    page = (await kitchen.client.get(entry.headers["location"], headers=HOST)).text
    assert "on hand from that day on" in page
    await break_down(kitchen, wanted)
    assert await task(kitchen) is None


async def test_plates_left_count_them(kitchen: Any) -> None:
    """/short on brill: ten portions are ten plates, and the fish on the board is no longer among the loose."""
    before = await data(kitchen, "/short/brill.json")
    await break_down(kitchen, 3)
    after = await data(kitchen, "/short/brill.json")
    assert [b for b in after["batches"] if b["id"] == BRILL] and not [b for b in before["batches"] if b["id"] == BRILL]
    assert after["on_hand"] != before["on_hand"]


async def test_ticked_first_and_then_weighed_out_is_once(kitchen: Any) -> None:
    """All ticked, then weighed out: nothing is asked for, and there are no more than were ticked."""
    before = await task(kitchen)
    assert before is not None
    await tick(kitchen, "done", "t1")
    assert await task(kitchen) is None
    once = await data(kitchen, "/short/brill.json")
    await break_down(kitchen, int(before["made"]))
    twice = await data(kitchen, "/short/brill.json")
    assert [b for b in once["batches"] if b["id"] == BRILL] == [b for b in twice["batches"] if b["id"] == BRILL]


async def test_weighed_out_first_and_the_rest_ticked_is_both(kitchen: Any) -> None:
    """10 weighed out, the tick is of the rest and knows it: nothing more is asked for. Taken back, the rest is."""
    before = await task(kitchen)
    assert before is not None
    await break_down(kitchen, 10)
    await tick(kitchen, "done", "t1")
    assert await task(kitchen) is None
    with sqlite3.connect(kitchen.file) as connection:
        (number, rest, said), = connection.execute("select id, quantity, cut_before from task_ticks").fetchall()
    assert (int(rest), said) == (int(before["made"]) - 10, "10")
    await send(kitchen, "/prep/undo", "/prep", tick=str(number))
    left = await task(kitchen)
    assert left is not None and left["made"] == rest


async def test_begun_and_then_weighed_out_is_finished(kitchen: Any) -> None:
    """Under way is what was begun; once it is weighed out it is not counted as coming beside what came."""
    before = await task(kitchen)
    assert before is not None
    await tick(kitchen, "started", "t1")
    assert [r["recipe"] for r in (await data(kitchen, "/prep.json"))["under_way"]] == [BRILL]
    await break_down(kitchen, 10)
    left, found = await task(kitchen), await data(kitchen, "/prep.json")
    assert left is not None and int(left["made"]) == int(before["made"]) - 10
    assert BRILL not in [r["recipe"] for r in found["under_way"]]


async def test_a_breakdown_taken_back_is_asked_for_again(kitchen: Any) -> None:
    """The undo of the log gives the list its number back."""
    before = await task(kitchen)
    entry = await break_down(kitchen, 10)
    number = entry.headers["location"].rpartition("/")[2].partition("?")[0]
    await send(kitchen, f"/log/breakdowns/{number}/back", entry.headers["location"])
    assert await task(kitchen) == before


async def test_what_was_cut_ends_too(kitchen: Any) -> None:
    """Brill portions keep two days: cut yesterday, they stand under the last days of use, by the breakdown's code."""
    await break_down(kitchen, 10, on="2026-11-24")
    found = await data(kitchen, "/log/dates.json")
    (mine,) = [d for d in found["due"] if d["recipe_id"] == BRILL]
    assert mine["last_on"] == "2026-11-25" and mine["lot_code"].startswith("B2611") and mine["batch_id"] is None
    page = (await kitchen.client.get("/log/dates", headers=HOST)).text
    assert f'href="/log/use?of={BRILL}"' in page
