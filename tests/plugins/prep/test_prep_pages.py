"""The list as its readers meet it: on the demonstration's Wednesday at one, and where the file lacks something."""

from __future__ import annotations

import asyncio
import re
import sqlite3
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest

HOST = {"host": "127.0.0.1"}


async def listed(house: Any, query: str = "") -> dict[str, Any]:
    answer = await house.client.get(f"/prep.json{query}", headers=HOST)
    assert answer.status_code == 200
    return dict(answer.json())


def rows(found: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {r["key"]: r for h in ("late", "now", "next", "ahead", "waits", "under_way") for r in found[h]}


async def test_a_tick_is_said_by_name_and_leads_to_its_label(kitchen: Any) -> None:
    """With its accent; what is lost has no label."""
    done = await send(kitchen, "/prep/tick", {"key": "potato-puree", "state": "done", "made": "", "request_id": "d1"})
    await send(kitchen, "/prep/tick", {"key": "ale-batter", "state": "burnt", "made": "", "request_id": "d2"})
    page = (await kitchen.client.get(done.headers["location"], headers=HOST)).text
    assert "Potato purée: done." in page
    ((batch,),) = told(kitchen.file, "select id from batches where recipe_id = 'potato-puree' and origin = 'web'")
    assert f'href="/batch/{batch}/labels" aria-label="Labels: Potato purée"' in page
    assert 'aria-label="Labels: Ale batter"' not in page


async def send(house: Any, path: str, fields: dict[str, str]) -> Any:
    """A form as a browser sends it, with its token."""
    page = await house.client.get("/prep", headers=HOST)
    token = re.search(r'name="csrftoken" value="([^"]+)"', page.text)
    assert token
    cookies = {"ds_csrftoken": page.cookies["ds_csrftoken"]}
    return await house.client.post(path, data={**fields, "csrftoken": token[1]}, headers=HOST, cookies=cookies)


def told(file: Path, sql: str, *values: Any) -> list[tuple[Any, ...]]:
    connection = sqlite3.connect(file)
    try:
        return connection.execute(sql, values).fetchall()
    finally:
        connection.close()


async def test_the_list_of_a_wednesday(house: Any) -> None:
    """Every task has hands that hold its station, a start, and a reason; the fire is hot before the doors open."""
    found = await listed(house)
    every = rows(found)
    assert len(every) > 20 and found["clock"] == "13:00"
    fire = every["charcoal-fire~light"]
    assert fire["start"] <= "16:05" and fire["ready_by"] == "17:00"
    batter = every["ale-batter"]
    assert batter["person"] and "on hand" in batter["why"] and batter["ready_by"] == "16:30"
    assert [g["service"] for g in found["guests"]] == ["dinner"] and "booked" in found["guests"][0]["expected"]


async def test_a_bath_says_why_and_for_whom(house: Any) -> None:
    """The loin chops of the evening: how many the dinner wants, how many are there, how long, and for which dish."""
    bath = rows(await listed(house))["mutton-loin-chop~bath1"]
    assert bath["why"] == "dinner wants 12, on hand 19, 2 h 30 min in the bath"
    assert bath["whom"] == "for Salt-marsh mutton loin, celeriac"


@pytest.mark.parametrize(("day", "clock"), [("2026-11-25", "13:00"), ("2026-11-25", "20:40"), ("2026-11-25", "22:45"),
                                            ("2026-11-28", "15:30")])  # fmt: skip
async def test_what_is_late_says_what_helps_or_that_nothing_does(kitchen: Any, day: str, clock: str) -> None:
    """Every late row has something to do; what is offered leaves less than it cures; nothing is begun past its date."""
    connection = sqlite3.connect(kitchen.file)
    connection.execute("update kitchen set value = ? where key = 'today'", (day,))
    connection.execute("update kitchen set value = ? where key = 'clock'", (clock,))
    connection.commit()
    connection.close()
    found = await listed(kitchen)
    assert found["late"] or clock == "20:40"
    for row in found["late"]:
        assert row["cures"], row["key"]
        plain = [cure for cure in row["cures"] if cure.startswith("no other hands and no smaller batch")]
        offered = [cure for cure in row["cures"] if "takes it" in cure or "make only" in cure]
        assert bool(plain) is not bool(offered), row["key"]
        if row["kind"] == "make" and plain and not row["lot"]:
            assert "make do with" in plain[0] or "buy it in" in plain[0] or len(row["cures"]) > 1
    for row in rows(found).values():
        later = [said for said in (row["start"], row["start_by"]) if said.startswith("tomorrow")]
        assert not (later and row["lasts"] == "use by today"), row["key"]


async def test_rye_starter_and_its_loaf_are_told_what_is_left_to_do(house: Any) -> None:
    """Begun too late for tomorrow's loaf whoever takes it: what is there, buying in, tomorrow's dishes without it."""
    late = {r["key"]: r["cures"] for r in (await listed(house))["late"]}
    assert "make do with the 55 g there, of 112 g" in late["rye-starter"][0]
    left = "make do with the 350 g there, of 630 g; buy it in; or tomorrow without: Mussels in cider"
    assert left in late["estuary-loaf"][0]
    assert not any("takes it" in cure for cures in late.values() for cure in cures)


async def test_a_station_sees_its_own(house: Any) -> None:
    """Every task of the larder's list is the larder's; a person's list has their name on every task."""
    larder, bea = await listed(house, "?station=larder"), await listed(house, "?person=bea")
    assert rows(larder) and {r["station"] for r in rows(larder).values()} == {"larder"}
    assert rows(bea) and {r["person"] for r in rows(bea).values()} == {"Bea"}


async def test_the_same_list_is_not_sent_twice(house: Any) -> None:
    """Its mark back gets 304 and nothing."""
    first = await house.client.get("/prep.json", headers=HOST)
    again = await house.client.get("/prep.json", headers={**HOST, "if-none-match": first.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")


async def test_done_writes_the_batch_once_and_moves_nothing_else(kitchen: Any) -> None:
    """Two taps, one batch with its date mark, the task gone; every other task stands where it stood."""
    before = rows(await listed(kitchen))
    fields = {"key": "ale-batter", "state": "done", "made": "600 ml", "request_id": "tap-1"}
    first = await send(kitchen, "/prep/tick", fields)
    second = await send(kitchen, "/prep/tick", fields)
    assert (first.status_code, second.status_code) == (303, 303)
    written = "select quantity, use_by, made_on from batches where recipe_id = 'ale-batter' and origin = 'web'"
    made = told(kitchen.file, written)
    assert made == [("600", "2026-11-25", "2026-11-25")]
    after = await listed(kitchen)
    assert "ale-batter" not in rows(after) and after["done"][0]["what"] == "done"
    same = {k: (r["start"], r["person"]) for k, r in rows(after).items()}
    assert same == {k: (r["start"], r["person"]) for k, r in before.items() if k != "ale-batter"}


async def test_an_oven_heats_before_anything_goes_in(kitchen: Any) -> None:
    """On at one: until twenty past it stands under way, and its terrine is not begun before. Said hot: gone."""
    oven = rows(await listed(kitchen))["oven-lower~light"]
    assert oven["name"] == "Switch on: Oven lower" and oven["ready_by"] == "13:20" and "Pork terrine" in oven["whom"]
    answer = await send(kitchen, "/prep/tick", {"key": "oven-lower~light", "state": "started", "request_id": "l1"})
    assert "on%2C+and+heating" in answer.headers["location"]
    ends = told(kitchen.file, "select kind, state, ends_at from task_ticks where equipment_id = 'oven-lower'")
    assert ends == [("light", "started", "2026-11-25T13:20:00Z")]
    found = await listed(kitchen)
    (heating,) = [r for r in found["under_way"] if r["kind"] == "heating"]
    assert (heating["name"], heating["ready_by"]) == ("Oven lower is heating", "13:20")
    assert found["done"][0]["what"] == "on" and rows(found)["pork-terrine"]["start"] >= "13:20"
    await send(kitchen, "/prep/tick", {"key": "oven-lower~light", "state": "done", "request_id": "l2"})
    after = await listed(kitchen)
    assert "oven-lower~light" not in rows(after) and after["done"][0]["what"] == "hot"
    await send(kitchen, "/prep/undo", {"tick": str(after["done"][0]["id"])})
    assert rows(await listed(kitchen))["oven-lower~light"]["kind"] == "heating"


@pytest.mark.parametrize("state", ["part", "burnt"])
async def test_equipment_is_only_on_or_hot(kitchen: Any, state: str) -> None:
    """400, and nothing written."""
    answer = await send(kitchen, "/prep/tick", {"key": "oven-lower~light", "state": state, "request_id": "x"})
    assert answer.status_code == 400
    assert told(kitchen.file, "select count(*) from task_ticks where origin = 'web'") == [(0,)]


async def test_part_done_leaves_the_rest(kitchen: Any) -> None:
    """1 kg of potatoes wanted: a quarter made, the rest still on the list, in whole steps."""
    await send(kitchen, "/prep/tick", {"key": "boiled-potatoes", "state": "part", "made": "250 g", "request_id": "p1"})
    left = rows(await listed(kitchen))["boiled-potatoes"]
    assert "on hand 2.25 kg" in left["why"]


async def test_burnt_is_on_the_list_again(kitchen: Any) -> None:
    """The batch is written and thrown away; the task is there with the same quantity."""
    before = rows(await listed(kitchen))["ale-batter"]
    await send(kitchen, "/prep/tick", {"key": "ale-batter", "state": "burnt", "made": "", "request_id": "b1"})
    assert told(kitchen.file, "select what, reason from batch_uses where origin = 'web'") == [("discarded", "burnt")]
    assert rows(await listed(kitchen))["ale-batter"]["quantity"] == before["quantity"]


async def test_begun_is_under_way_and_taken_back_is_not(kitchen: Any) -> None:
    """Begun: no longer asked for, its hands busy. Taken back: asked for again."""
    await send(kitchen, "/prep/tick", {"key": "potato-puree", "state": "started", "made": "", "request_id": "s1"})
    found = await listed(kitchen)
    assert [r["recipe"] for r in found["under_way"]] == ["potato-puree"] and "potato-puree" not in rows(found)
    await send(kitchen, "/prep/undo", {"tick": str(found["done"][0]["id"])})
    assert "potato-puree" in rows(await listed(kitchen))


@pytest.mark.parametrize("made", ["a lot", "0 ml", "3 bunches", "-2 l", "5 kg", "1e9 l", "\u202e9 l", "=1+1"])
async def test_a_quantity_that_cant_be_is_asked_again(kitchen: Any, made: str) -> None:
    """400, the words kept, nothing written."""
    answer = await send(kitchen, "/prep/tick", {"key": "ale-batter", "state": "done", "made": made, "request_id": "x"})
    assert answer.status_code == 400 and 'role="alert"' in answer.text
    assert told(kitchen.file, "select count(*) from task_ticks where origin = 'web'") == [(0,)]


TICKS = "select actor, recipe_id, state from task_ticks where origin = 'web' order by id"


@pytest.mark.parametrize("second", [{"state": "done"}, {"key": "ale-batter"}, {"key": "ale-batter", "state": "done"}])
async def test_a_form_that_was_sent_says_so_and_writes_nothing_more(kitchen: Any, second: dict[str, str]) -> None:
    """Two buttons of one page tapped before the page is new: the second is not said to be done when it is not."""
    first = {"key": "potato-puree", "state": "started", "made": "", "request_id": "same"}
    await send(kitchen, "/prep/tick", first)
    answer = await send(kitchen, "/prep/tick", {**first, **second})
    assert answer.status_code == 303 and "written+down+already" in answer.headers["location"]
    assert told(kitchen.file, TICKS) == [("household", "potato-puree", "started")]


@pytest.mark.parametrize(("path", "first", "other"), [
    ("/prep/overrule", {"on": "2026-11-25", "service": "dinner", "number": "80"}, {"number": "90"}),
    ("/prep/absence", {"who_is": "bea", "from": "14:00", "is": "away"}, {"who_is": "tomasz"}),
])  # fmt: skip
async def test_another_number_or_person_under_one_sending_is_told(
    kitchen: Any, path: str, first: dict[str, str], other: dict[str, str]
) -> None:
    """The first stands, and the answer does not say that the second does."""
    await send(kitchen, path, {**first, "request_id": "same"})
    answer = await send(kitchen, path, {**first, **other, "request_id": "same"})
    assert "written+down+already" in answer.headers["location"]


async def test_of_two_who_tap_done_at_once_one_is_told(kitchen: Any) -> None:
    """Two phones, one task, the same second: one batch."""
    taps = [{"key": "ale-batter", "state": "done", "made": "600 ml", "request_id": f"phone-{n}"} for n in range(3)]
    answers = await asyncio.gather(*(send(kitchen, "/prep/tick", tap) for tap in taps))
    said = sorted(a.headers["location"].partition("said=")[2][:11] for a in answers)
    assert said == ["Ale+batter%", "That+is+no+", "That+is+no+"]
    batches = "select count(*) from batches where recipe_id = 'ale-batter' and origin = 'web'"
    assert told(kitchen.file, TICKS) == [("household", "ale-batter", "done")] and told(kitchen.file, batches) == [(1,)]


async def test_a_form_can_not_take_the_name_of_another_entry(kitchen: Any) -> None:
    """A tick that calls itself the undoing of another does not keep it from being taken back."""
    await send(kitchen, "/prep/tick", {"key": "ale-batter", "state": "done", "made": "600 ml", "request_id": "a"})
    ((tick,),) = told(kitchen.file, "select max(id) from task_ticks")
    name = f"undo-task_ticks-{tick}"
    await send(kitchen, "/prep/tick", {"key": "potato-puree", "state": "started", "request_id": name})
    await send(kitchen, "/prep/undo", {"tick": str(tick)})
    assert told(kitchen.file, f"select count(*) from standing_task_ticks where id = {tick}") == [(0,)]


async def test_a_thaw_that_is_taken_back_is_frozen_again(kitchen: Any) -> None:
    """What came out of the freezer with a tick goes back with it."""
    from stillroom.db.netting import Run
    from stillroom.plugins.prep.board import Task
    from stillroom.plugins.prep.day import Work
    from stillroom.plugins.prep.posts import Tick, undo_tick, write_tick

    run = Run("ale-batter", Fraction(1), Fraction(600), date(2026, 11, 25), date(2026, 11, 25), 0, is_thaw=True)
    work = Work(Task("ale-batter~thaw", 1, 0, ()), "thaw", "ale-batter", "fry", run, Fraction(600))
    frozen = "select lot_code from standing_batch_freezes where what = 'thawed' and lot_code = 'F-1'"
    with sqlite3.connect(kitchen.file) as connection:
        connection.execute(
            "insert into batches (request_id, recorded_at, actor, origin, recipe_id, lot_code, made_on, quantity, unit,"
            " frozen_on) values ('f', '', 'Bea', 'file', 'ale-batter', 'F-1', '2026-11-20', '600', 'ml', '2026-11-20')"
        )
        write_tick(connection, Tick(work, "done", Fraction(600), "tick-thaw", "Bea"))
        assert connection.execute(frozen).fetchall() == [("F-1",)]
        (tick,) = connection.execute("select max(id) from task_ticks").fetchone()
        undo_tick(connection, tick, "Bea")
        assert connection.execute(frozen).fetchall() == []


async def test_the_chef_takes_a_tick_back_at_the_tablet_too(staffed: Any) -> None:
    """Whoever signs counts, not the tablet: another cook may not, the chef may."""

    async def post(role: str, path: str, **fields: str) -> str:
        page = await staffed.house.client.get("/prep", cookies=staffed.cookies[role], headers=HOST)
        token = re.search(r'name="csrftoken" value="([^"]+)"', page.text)
        assert token
        cookies = {**staffed.cookies[role], "ds_csrftoken": page.cookies["ds_csrftoken"]}
        data = {**fields, "csrftoken": token[1]}
        answer = await staffed.house.client.post(path, data=data, headers=HOST, cookies=cookies)
        return str(answer.headers["location"])

    await post("manager", "/prep/tick", key="ale-batter", state="done", made="600 ml")
    ((tick,),) = told(staffed.path, "select max(id) from task_ticks")
    assert "Ann+ticked+that" in await post("station", "/prep/undo", tick=str(tick), who="Tomasz", pin="8264")
    assert "Taken+back" in await post("station", "/prep/undo", tick=str(tick), who="Marit", pin="5193")
    assert told(staffed.path, f"select count(*) from standing_task_ticks where id = {tick}") == [(0,)]


async def as_role(staffed: Any, role: str, path: str, **fields: str) -> str:
    """A form of /prep/day sent by somebody signed in; the words that came of it."""
    page = await staffed.house.client.get("/prep/day", cookies=staffed.cookies[role], headers=HOST)
    token = re.search(r'name="csrftoken" value="([^"]+)"', page.text)
    assert token
    cookies = {**staffed.cookies[role], "ds_csrftoken": page.cookies["ds_csrftoken"]}
    data = {**fields, "csrftoken": token[1]}
    answer = await staffed.house.client.post(path, data=data, headers=HOST, cookies=cookies)
    assert answer.status_code == 303
    return str(parse_qs(urlsplit(answer.headers["location"]).query)["said"][0])


COVERS = {"on": "2026-11-25", "service": "dinner"}
STAND = "select actor, number from standing_forecast_overrules where origin = 'web' order by id"


async def test_another_cook_neither_clears_nor_changes_a_number(staffed: Any) -> None:
    """The chef said 80: a cook is told whose it is, signed in or at the tablet; her own number she takes back."""
    whose = "Marit said 80: they, the chef or the manager can {}. Nothing was changed."
    at = {"who": "Tomasz", "pin": "8264"}
    assert await as_role(staffed, "chef", "/prep/overrule", **COVERS, number="80", request_id="a") == "Written down."
    plans = told(staffed.path, "select count(*) from prep_plans")
    assert await as_role(staffed, "cook", "/prep/overrule", **COVERS, number="") == whose.format("take it back")
    assert await as_role(staffed, "cook", "/prep/overrule", **COVERS, number="40") == whose.format("change it")
    at_tablet = await as_role(staffed, "station", "/prep/overrule", **COVERS, **at, number="")
    assert at_tablet == whose.format("take it back")
    assert told(staffed.path, STAND) == [("Marit", 80)]
    assert told(staffed.path, "select count(*) from prep_plans") == plans  # nothing was laid out anew
    assert await as_role(staffed, "chef", "/prep/overrule", **COVERS, number="") == "Back to what the log says."
    assert told(staffed.path, STAND) == []


async def test_a_cooks_number_is_the_cooks_and_the_chefs_to_clear(staffed: Any) -> None:
    """A cook said 70 and takes it back; said 75, and the manager changes it to 60; then the cook may not."""
    cook = "/prep/overrule"
    await as_role(staffed, "cook", cook, **COVERS, number="70", request_id="a")
    assert await as_role(staffed, "cook", cook, **COVERS, number="") == "Back to what the log says."
    await as_role(staffed, "cook", cook, **COVERS, number="75", request_id="b")
    assert await as_role(staffed, "manager", cook, **COVERS, number="60", request_id="c") == "Written down."
    assert (await as_role(staffed, "cook", cook, **COVERS, number="61")).startswith("Ann said 60")
    # her own still stands below the manager's, and is hers to take back
    said = await as_role(staffed, "cook", cook, **COVERS, number="")
    assert said == "Yours is taken back. Ann said 60: that stands."
    assert told(staffed.path, STAND) == [("Ann", 60)]


async def test_another_cook_does_not_say_that_somebody_is_here_after_all(staffed: Any) -> None:
    """The chef wrote Bea away from two: a cook is told so, the page says by whom, the manager clears it."""
    bea = {"who_is": "bea"}
    gone = "select count(*) from standing_absences where origin = 'web'"
    await as_role(staffed, "chef", "/prep/absence", **bea, **{"is": "away", "from": "14:00"}, request_id="a")
    refused = await as_role(staffed, "cook", "/prep/absence", **bea, **{"is": "here"})
    can = "they, the chef or the manager can take it back. Nothing was changed."
    assert refused == f"Marit wrote away from 14:00: {can}"
    assert told(staffed.path, gone) == [(1,)]
    page = await staffed.house.client.get("/prep/day", cookies=staffed.cookies["cook"], headers=HOST)
    assert ", by Marit" in page.text
    assert "laid out anew" in await as_role(staffed, "manager", "/prep/absence", **bea, **{"is": "here"})
    assert told(staffed.path, gone) == [(0,)]


async def test_what_the_files_say_is_the_offices_to_clear(staffed: Any) -> None:
    """A row from a file in a cook's name is not that cook's entry, as in the logbook."""
    with sqlite3.connect(staffed.path) as connection:
        connection.execute(
            "insert into forecast_overrules (request_id, recorded_at, actor, origin, served_on, service, number)"
            " values ('f', '', 'Tomasz', 'file', '2026-11-25', 'dinner', 50)"
        )
    assert (await as_role(staffed, "cook", "/prep/overrule", **COVERS, number="")).startswith("Tomasz said 50")
    assert await as_role(staffed, "chef", "/prep/overrule", **COVERS, number="") == "Back to what the log says."


@pytest.mark.parametrize("number", ["9" * 5000, "٣", "²", "100000", "-1"])
async def test_a_number_of_guests_that_can_not_be_is_told(kitchen: Any, number: str) -> None:
    """400 in words, however long it is."""
    fields = {"on": "2026-11-25", "service": "dinner", "number": number, "request_id": "o1"}
    answer = await send(kitchen, "/prep/overrule", fields)
    assert answer.status_code == 400 and "is not a whole number" in answer.text


async def test_an_overrule_is_seen_and_changes_the_list(kitchen: Any) -> None:
    """80 covers instead of 36: twice the batter; both numbers stand there; an empty number takes it back."""
    before = rows(await listed(kitchen))["brill-portion"]["made"]
    fields = {"on": "2026-11-25", "service": "dinner", "number": "80", "request_id": "o1"}
    assert (await send(kitchen, "/prep/overrule", fields)).status_code == 303
    found = await listed(kitchen)
    assert "household said 80, the log 36" in found["guests"][0]["expected"]
    assert int(rows(found)["brill-portion"]["made"]) > int(before)
    await send(kitchen, "/prep/overrule", {**fields, "number": "", "request_id": "o2"})
    assert rows(await listed(kitchen))["brill-portion"]["made"] == before


async def test_somebody_goes_home(kitchen: Any) -> None:
    """Bea is away from two: nothing of hers begins after it, and her station's work is others' or late."""
    await send(kitchen, "/prep/absence", {"who_is": "bea", "from": "14:00", "is": "away", "request_id": "a1"})
    mine = [r for r in rows(await listed(kitchen)).values() if r["person"] == "Bea" and r["start"][0] in "12"]
    assert all(r["start"] < "14:00" for r in mine)


async def test_no_sales_yet(kitchen: Any) -> None:
    """It says so, and the pars are the need: of 16 ling portions none is there, though they keep two days."""
    connection = sqlite3.connect(kitchen.file)
    for table in ("covers", "plates_sold"):
        connection.execute(f"delete from {table}")
    connection.commit()
    connection.close()
    found = await listed(kitchen)
    assert any("pars alone" in note for note in found["notes"])
    assert "no sales yet" in found["guests"][0]["expected"]
    made = {key: r for key, r in rows(found).items() if r["kind"] == "make"}
    assert made["ling-portion"]["why"] == "par 16, none on hand" and made["ling-portion"]["made"] == "16"
    assert made["ling-portion"]["ready_by"] == "16:30" and found["waits"] == []
    short = {"tartare-dressing", "oat-crumb", "pork-terrine", "egg-yolk-sauce"}
    assert short <= made.keys() and all("par" in r["why"] or r["whom"] for r in made.values())
    assert not any("disagree" in note or "smallest batch" in note for r in made.values() for note in r["notes"])


async def test_a_station_without_people(kitchen: Any) -> None:
    """Nobody holds the larder: it says so, and its tasks are first, as late."""
    connection = sqlite3.connect(kitchen.file)
    connection.execute("update people set stations = 'pastry'")
    connection.commit()
    connection.execute("insert into loads (loaded_at, source, rows, warnings) values ('x', 'x', 0, 0)")
    connection.commit()
    connection.close()
    found = await listed(kitchen)
    assert any("Nobody holds" in note for note in found["notes"])
    assert any("nobody who holds" in r["late"] for r in found["late"])


async def test_sheets_and_the_day(house: Any) -> None:
    """A section a station; the day with its band and its score."""
    sheets = await house.client.get("/prep/sheets", headers=HOST)
    assert sheets.text.count('class="sheet"') == 5
    day = (await house.client.get("/prep/day.json", headers=HOST)).json()
    assert day["error"].endswith("%") and len(day["scores"]) >= 20 and len(day["services"]) >= 6


async def test_what_an_item_that_is_out_stops(kitchen: Any) -> None:
    """Brill is short: its portions are on the list with what lacks. Out: stopped, and /guest says so at once."""
    brill = (await kitchen.client.get("/short/brill.json", headers=HOST)).json()
    (task,) = brill["prep"]["tasks"]
    assert task["key"] == "brill-portion" and not task["is_stopped"] and "not enough brill" in task["lacking"][0]
    best = brill["shared"]["ways"][0]["dishes"][0]
    assert best["plates"] < best["expected"]
    before = (await kitchen.client.get("/out.json", headers=HOST)).json()["version"]
    connection = sqlite3.connect(kitchen.file)
    connection.execute(
        "insert into shortages (request_id, recorded_at, actor, origin, item_id, state, since_on)"
        " values ('out', '2026-11-25T18:00:00Z', 'Marit', 'web', 'brill', 'out', '2026-11-25')"
    )
    connection.commit()
    connection.close()
    assert (await kitchen.client.get("/short/brill.json", headers=HOST)).json()["prep"]["tasks"][0]["is_stopped"]
    found = (await kitchen.client.get("/out.json", headers=HOST)).json()
    assert found["version"] > before and found["gone"][0]["name"] == "brill" and found["gone"][0]["state"] == "out"
    guest = await kitchen.client.get("/guest", headers=HOST)
    assert "Out now" in guest.text and "brill" in guest.text


async def test_a_dish_that_is_out_is_not_cooked_for(kitchen: Any) -> None:
    """The fried ling is off: nobody makes its batter."""
    connection = sqlite3.connect(kitchen.file)
    connection.execute(
        "insert into shortages (request_id, recorded_at, actor, origin, recipe_id, state, since_on)"
        " values ('out', '2026-11-25T18:00:00Z', 'Marit', 'web', 'fried-ling-tartare-dressing', 'out', '2026-11-25')"
    )
    connection.commit()
    connection.close()
    assert "ale-batter" not in rows(await listed(kitchen))
