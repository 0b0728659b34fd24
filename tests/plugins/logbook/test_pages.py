"""The forms through the front door: one row a request, undo for whom, money for whom, and nothing lost when busy."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, quote_plus
from zoneinfo import ZoneInfo

import pytest
from stillroom.plugins.logbook.book import open_book
from stillroom.plugins.logbook.forms import FORMS

Post = Callable[..., Any]
STANDS_AT = datetime(2026, 11, 25, 13, 0, tzinfo=ZoneInfo("Europe/London"))  # the demonstration's own clock


def words(page: Any) -> str:
    """What a page says, without its frame."""
    text = re.sub(r"<[^>]+>", " ", page.text[page.text.index("<main") :])
    return " ".join(text.split())


def count(path: Path, table: str) -> int:
    connection = sqlite3.connect(path)
    (found,) = connection.execute(f"select count(*) from {table}").fetchone()
    connection.close()
    return int(found)


@pytest.mark.parametrize("slug", FORMS)
async def test_every_form_opens_and_an_empty_one_writes_nothing(
    own_db: Path, own_house: Any, post: Post, slug: str
) -> None:
    table = FORMS[slug].table
    before = count(own_db, table)
    answer = await post(f"/log/{slug}")
    assert answer.status_code == 200 and "Nothing is written down yet" in answer.text
    assert count(own_db, table) == before


async def test_a_double_tap_is_one_row_and_both_see_it(own_db: Path, post: Post) -> None:
    before = count(own_db, "counts")
    said = {"of": "butter, salted", "quantity": "2½ kg"}
    first = await post("/log/count", request="twice-tapped-1", **said)
    second = await post("/log/count", request="twice-tapped-1", **said)
    assert first.status_code == second.status_code == 303
    assert first.headers["location"] == second.headers["location"]
    assert count(own_db, "counts") == before + 1


async def test_shown_back_with_its_rule_and_taken_back(own_db: Path, own_house: Any, post: Post) -> None:
    answer = await post("/log/hold", place="Pass, bain-marie", held="hot", temp="54 °C")
    shown = await own_house.client.get(answer.headers["location"])
    said = words(shown)
    assert "129.2 °F (54.0 °C) is under 135 °F (57.2 °C) not met" in said and "Food Code 3-501.16(A)(1)" in said
    back = await post_back(own_house, answer.headers["location"])
    assert back.status_code == 303
    assert "no longer counts" in words(await own_house.client.get(back.headers["location"]))
    entry = int(answer.headers["location"].rsplit("/", 1)[1])
    connection = sqlite3.connect(own_db)
    assert connection.execute("select count(*) from standing_hold_checks where id = ?", (entry,)).fetchone() == (0,)
    assert connection.execute("select count(*) from hold_checks where voids = ?", (entry,)).fetchone() == (1,)


async def post_back(house: Any, address: str, cookies: dict[str, str] | None = None) -> Any:
    opened = await house.client.get(address, cookies=cookies)
    token = re.search(r'name="csrftoken" value="([^"]*)"', opened.text)
    fields = {"csrftoken": token[1] if token else ""}
    return await house.client.post(f"{address}/back", data=fields, cookies={**(cookies or {}), **dict(opened.cookies)})


async def test_who_may_take_back(own_house: Any, post: Post, as_role: Callable[..., dict[str, str]]) -> None:
    """Ann's entry: Bea may not, the chef may."""
    ann, bea, chef = as_role("cook", "ann"), as_role("cook", "bea"), as_role("chef", "carl")
    answer = await post("/log/short", cookies=ann, of="brill", state="out")
    address = answer.headers["location"]
    assert "Take it back" in (await own_house.client.get(address, cookies=ann)).text
    assert "Take it back" not in (await own_house.client.get(address, cookies=bea)).text
    refused = await own_house.client.get(f"{address}.json", cookies=bea)
    assert refused.json()["may be taken back"] is False
    form = await own_house.client.get("/log/short", cookies=bea)
    token = re.search(r'name="csrftoken" value="([^"]*)"', form.text)
    assert token
    cookies = {**bea, **dict(form.cookies)}
    tried = await own_house.client.post(f"{address}/back", data={"csrftoken": token[1]}, cookies=cookies)
    assert tried.status_code == 200 and "Only whoever wrote it" in tried.text
    assert (await own_house.client.get(f"{address}.json", cookies=chef)).json()["stands"] is True
    assert (await post_back(own_house, address, chef)).status_code == 303
    assert (await own_house.client.get(f"{address}.json", cookies=chef)).json()["stands"] is False


async def test_a_server_opens_no_form(own_house: Any, as_role: Callable[..., dict[str, str]]) -> None:
    for path in ("/log", "/log/probe", "/log/probe.json", "/trace", "/log/dates", "/log/counts/1"):
        assert (await own_house.client.get(path, cookies=as_role("server"))).status_code == 403, path


async def test_a_cook_sees_and_writes_no_money(
    own_db: Path, own_house: Any, post: Post, as_role: Callable[..., dict[str, str]]
) -> None:
    cook = as_role("cook")
    for path in ("/log/delivery", "/log/plates"):
        page = await own_house.client.get(path, cookies=cook)
        assert 'name="price"' not in page.text and 'name="sales"' not in page.text
    dish = "Brill on the bone, buttered samphire"
    answer = await post("/log/plates", cookies=cook, of=dish, plates="3", sales="99.00")
    connection = sqlite3.connect(own_db)
    assert connection.execute("select sales from plates_sold order by id desc limit 1").fetchone() == (None,)
    (priced,) = connection.execute("select max(id) from plates_sold where sales is not null").fetchone()
    for path in (f"/log/plates_sold/{priced}", f"/log/plates_sold/{priced}.json"):
        assert "Money" not in (await own_house.client.get(path, cookies=cook)).text
    assert "Money" in (await own_house.client.get(f"/log/plates_sold/{priced}")).text
    assert answer.status_code == 303


async def test_an_order_is_answered_once(own_db: Path, own_house: Any, post: Post) -> None:
    """The receipt stands in the place of the order; a second receipt of the same is told that somebody was quicker."""
    connection = sqlite3.connect(own_db)
    (order,) = connection.execute("select max(id) from deliveries where received = '0'").fetchone()
    path = f"/log/delivery?expected={order}"
    other = await own_house.client.get(path)
    first = await post(path, received="2 kg", door="3 °C", lot="W1")
    assert first.status_code == 303
    said = words(await own_house.client.get(first.headers["location"]))
    assert "Short: 80% of what was ordered" in said
    token = dict(re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)"', other.text))
    second = await own_house.client.post(
        "/log/delivery", data={**token, "received": "1 kg"}, cookies=dict(other.cookies)
    )
    assert second.status_code == 200


async def test_a_held_file_answers_503_with_the_form_still_filled(
    own_db: Path, own_house: Any, post: Post, monkeypatch: Any
) -> None:
    from stillroom.plugins.logbook import pages

    async def held(*args: Any) -> None:
        raise sqlite3.OperationalError("database is locked")

    monkeypatch.setattr(pages, "write", held)
    answer = await post("/log/count", request="held-request-1", of="butter, salted", quantity="2½ kg")
    assert answer.status_code == 503 and 'value="2½ kg"' in answer.text and "Nothing was written" in answer.text
    assert 'value="held-request-1"' in answer.text
    monkeypatch.undo()
    assert (
        await post("/log/count", request="held-request-1", of="butter, salted", quantity="2½ kg")
    ).status_code == 303


async def test_without_the_token_nothing_is_written(own_db: Path, own_house: Any) -> None:
    before = count(own_db, "counts")
    opened = await own_house.client.get("/log/count")
    fields = {"request": "no-token-here", "of": "butter, salted", "quantity": "1 kg"}
    answer = await own_house.client.post("/log/count", data=fields, cookies=dict(opened.cookies))
    assert answer.status_code == 403 and count(own_db, "counts") == before


async def test_a_megabyte_is_refused_without_a_fault(own_house: Any, post: Post) -> None:
    assert (await post("/log/count", of="x" * 1_000_000)).status_code == 413


async def test_a_breakdown_is_taken_back_with_what_came_out(own_db: Path, own_house: Any, post: Post) -> None:
    answer = await post(
        "/log/breakdown", of="Mutton loin chop", input="5 kg", of1="Mutton loin chop", weight1="5 kg", pieces1="20"
    )
    connection = sqlite3.connect(own_db)
    (code,) = connection.execute("select code from breakdowns order by id desc limit 1").fetchone()
    inside = "select count(*) from standing_breakdown_outputs where breakdown_code = ?"
    assert connection.execute(inside, (code,)).fetchone() == (1,)
    await post_back(own_house, answer.headers["location"])
    assert connection.execute(inside, (code,)).fetchone() == (0,)


async def test_written_as_data_for_entries_that_waited(own_house: Any, own_db: Path) -> None:
    """The same address with .json: written, or why not."""
    opened = await own_house.client.get("/log/token.json")
    token, cookies = opened.json()["token"], dict(opened.cookies)
    fields = {
        "csrftoken": token,
        "request": "waited-on-tablet",
        "core": "64",
        "core-unit": "C",
        "of": "Mutton loin chop",
    }
    fields |= {"made-at": "2026-11-25T10:00:00Z", "sent-at": "2026-11-25T10:03:00Z"}
    said = (await own_house.client.post("/log/probe.json", data=fields, cookies=cookies)).json()
    assert said["written"] is True and said["entry"].startswith("/log/probe_readings/")
    connection = sqlite3.connect(own_db)
    (waited,) = connection.execute(
        "select round((julianday(recorded_at) - julianday(read_at)) * 86400)"
        " from probe_readings order by id desc limit 1"
    ).fetchone()
    assert 179 <= waited <= 182
    wrong = (
        await own_house.client.post(
            "/log/probe.json", data=fields | {"core": "1450", "request": "other-one"}, cookies=cookies
        )
    ).json()
    assert wrong["written"] is False and "can't be" in wrong["wrong"]["core"]


async def test_the_script_for_no_connection_covers_the_whole_house(own_house: Any) -> None:
    answer = await own_house.client.get("/sw.js")
    assert answer.headers["service-worker-allowed"] == "/" and answer.headers["content-type"].startswith(
        "text/javascript"
    )


async def test_the_first_page_has_doors_and_what_runs_out(house: Any) -> None:
    page = await house.client.get("/")
    assert 'href="/log/probe?of=' in page.text and "Last day of use" in page.text
    data = (await house.client.get("/today.json")).json()
    assert data["watch"]["due"] and "/log/probe" in data["write"]


async def test_goods_never_seen_make_their_item_not_reviewed_until_taken_back(own_house: Any, post: Post) -> None:
    """A brill under a name nobody knows is not reviewed, and so is every dish it is in."""

    async def verdict() -> str:
        dishes = (await own_house.client.get("/guest.json?avoid=lupin")).json()["dishes"]
        dish = "Brill on the bone, buttered samphire"
        return str(next(d["verdict"] for d in dishes if d["name"] == dish))

    before = await verdict()
    said = {
        "supplier": "Hollow Creek Boats",
        "product": "Brill, another boat",
        "item": "brill",
        "received": "2 kg",
    }
    answer = await post("/log/delivery", **said, product__sure="Brill, another boat")
    assert answer.status_code == 303 and before != "not reviewed"
    assert await verdict() == "not reviewed"
    await post_back(own_house, answer.headers["location"])
    assert await verdict() == before


async def test_an_order_that_was_sent_is_expected_until_it_comes(own_db: Path, own_house: Any, post: Post) -> None:
    from stillroom.db.log import append

    connection = sqlite3.connect(own_db, isolation_level=None)
    row = {"request_id": "o1", "actor": "x", "origin": "web", "supplier_id": "market-hill-produce", "item_id": "lemon"}
    row |= {"due_on": "2026-11-26", "quantity": "100", "unit": "each", "state": "sent"}
    append(connection, "order_lines", row)
    page = await own_house.client.get("/log/delivery")
    address = re.search(r'href="(/log/delivery\?expected=market-hill-[^"]*)"', page.text)
    assert address
    answer = await post(address[1], received="90")
    assert answer.status_code == 303
    last = connection.execute("select ordered, due_on, received from deliveries order by id desc limit 1").fetchone()
    assert last == ("100", "2026-11-26", "90")
    assert "expected=market-hill-produce" not in (await own_house.client.get("/log/delivery")).text


async def test_a_new_pan_says_by_when(own_house: Any, post: Post) -> None:
    answer = await post("/log/cooling", temp="150 °F", of="Mutton stock")
    said = words(await own_house.client.get(answer.headers["location"]))
    limits = r"At 70 °F \(21.1 °C\) by \d\d:\d\d, at 41 °F \(5 °C\) by \d\d:\d\d"
    assert re.search(rf"Write P\d{{6}}-1 on the pan. {limits}", said.replace("\u00a0", " "))
    assert "Still cooling: its first limit is to come" in said and "Its next reading" in said


async def test_a_pan_is_judged_by_the_rule_that_fits_its_food(own_house: Any, own_db: Path, post: Post) -> None:
    """Cooked unless tapped otherwise; the row keeps it; the first page tells how long is left by it."""
    form = (await own_house.client.get("/log/cooling")).text
    assert form.count('name="rule"') == 3 and 'value="cooked" checked>cooked, cooling down' in form
    answer = await post("/log/cooling", temp="20 °C", of="Mutton stock", rule="ambient")
    said = words(await own_house.client.get(answer.headers["location"]))
    assert "Food Code 3-501.14(B): to 41 °F (5 °C) in 4 h" in said
    assert re.search(r"on the pan. At 41 °F \(5 °C\) by \d\d:\d\d\.", said.replace("\u00a0", " "))
    assert "What it is made from ingredients at room temperature" in said
    connection = sqlite3.connect(own_db)
    code, rule = connection.execute("select log_code, rule from cooling_readings order by id desc").fetchone()
    assert rule == "ambient"
    home = words(await own_house.client.get("/"))
    assert re.search(rf"{code} (4 h 00|3 h 59) left to 41 °F \(5 °C\)", home) and "to 41 °F (5 °C) in 4 h" in home
    again = (await own_house.client.get(f"/log/cooling?pan={code}")).text
    assert 'value="ambient" checked' in again  # the next reading begins with what the pan is


def half_an_hour_ago() -> str:
    """As it may be typed, by the kitchen's clock."""
    return ago(30)


async def test_another_rule_for_a_pan_is_asked_and_then_holds_for_all_of_it(
    own_house: Any, own_db: Path, post: Post
) -> None:
    """Nothing is judged anew by a slip of the thumb; said twice, the last word about a log holds."""
    await post("/log/cooling", temp="20 °C", of="Mutton stock", rule="ambient", at=half_an_hour_ago())
    connection = sqlite3.connect(own_db)
    (code,) = connection.execute("select log_code from cooling_readings order by id desc").fetchone()
    asked = await post("/log/cooling", temp="15 °C", pan=code, rule="cooked")
    assert asked.status_code == 200 and "Judge all of it as cooked, cooling down?" in words(asked)
    sure = await post("/log/cooling", temp="15 °C", pan=code, rule="cooked", rule__sure="cooked")
    assert "3-501.14(A)" in words(await own_house.client.get(sure.headers["location"]))
    first = connection.execute("select id from cooling_readings where log_code = ? order by id", (code,)).fetchone()[0]
    assert "3-501.14(A)" in words(await own_house.client.get(f"/log/cooling_readings/{first}"))


def ago(minutes: float) -> str:
    """A moment of the last hours as it may be typed, by the kitchen's clock."""
    return f"{STANDS_AT - timedelta(minutes=minutes):%Y-%m-%d %H:%M}"


def utc(typed: str) -> str:
    """A moment as it was typed, as the log keeps it."""
    local = datetime.fromisoformat(typed).replace(tzinfo=ZoneInfo("Europe/London"))
    return f"{local.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"


def last_start(path: Path) -> tuple[str, str | None]:
    """Pan and start of the last cooling reading."""
    with sqlite3.connect(path) as connection:
        found = connection.execute("select log_code, started_at from cooling_readings order by id desc").fetchone()
    return str(found[0]), found[1]


async def test_a_clock_that_began_before_the_first_reading(own_house: Any, own_db: Path, post: Post) -> None:
    """Made 90 minutes ago: two and a half hours are left, on the first page too; the next reading keeps it."""
    began = ago(90)
    answer = await post("/log/cooling", temp="18 °C", of="Mutton stock", rule="ambient", started=began)
    said = words(await own_house.client.get(answer.headers["location"])).replace("\u00a0", " ")
    code, kept = last_start(own_db)
    assert kept == utc(began)
    by = datetime.fromisoformat(began) + timedelta(hours=4)
    assert f"At 41 °F (5 °C) by {by:%H:%M}." in said and "Made, or came in" in said
    assert "first reading" not in said.partition("Made, or came in")[0]
    home = words(await own_house.client.get("/"))
    assert re.search(rf"{code} (2 h 30|2 h 29) left to 41 °F", home) and f"counted from {began[-5:]}" in home
    data = (await own_house.client.get("/.json")).json()
    assert f"counted from {began[-5:]}" in str(data)
    await post(f"/log/cooling?pan={code}", temp="12 °C", pan=code, rule="ambient")
    assert last_start(own_db) == (code, utc(began))


async def test_without_a_start_the_condition_stays(own_house: Any, post: Post) -> None:
    """Cold by the log in an hour, and made as it was first read, or not."""
    await post("/log/cooling", temp="18 °C", of="Mutton stock", rule="ambient", at=ago(60))
    home = words(await own_house.client.get("/"))
    code = re.search(r"Mutton stock, (P\d{6}-\d+)", home)
    assert code and "counted from its first reading" in home
    cold = await post(f"/log/cooling?pan={code[1]}", temp="5 °C", pan=code[1], rule="ambient")
    assert "if it was earlier, so is the limit" in words(await own_house.client.get(cold.headers["location"]))


async def test_a_start_that_cannot_be_is_refused_and_an_unlikely_one_asked(own_db: Path, post: Post) -> None:
    """After the first reading, still to come, of cooked food: refused. More than half a day before: asked."""
    before = count(own_db, "cooling_readings")
    typed = {"temp": "18 °C", "of": "Mutton stock", "rule": "ambient"}
    late = await post("/log/cooling", **typed, at=ago(60), started=ago(30))
    assert 'id="started-wrong"' in late.text and "have been made or come in after that" in words(late)
    ahead = await post("/log/cooling", **typed, started=ago(-60))
    assert "That time has not come yet." in words(ahead)
    cooked = await post("/log/cooling", **(typed | {"rule": "cooked"}), started=ago(60))
    assert "starts as it passes 135 °F" in words(cooked)
    unread = await post("/log/cooling", **typed, started="this morning")
    assert 'id="started-wrong"' in unread.text and 'value="this morning"' in unread.text
    early = ago(13 * 60)
    asked = await post("/log/cooling", **typed, started=early)
    assert "more than 12 hours before its first reading" in words(asked)
    assert count(own_db, "cooling_readings") == before
    sure = await post("/log/cooling", **typed, started=early, started__sure=early)
    assert sure.status_code == 303 and last_start(own_db)[1] == utc(early)


async def test_no_reading_of_a_pan_is_from_before_it_was_made(own_db: Path, post: Post) -> None:
    """Neither a new reading that lies before the start on file, nor a new start after the first reading."""
    await post("/log/cooling", temp="18 °C", of="Mutton stock", rule="ambient", at=ago(40), started=ago(60))
    code, _ = last_start(own_db)
    before = count(own_db, "cooling_readings")
    early = await post("/log/cooling", temp="19 °C", pan=code, rule="ambient", at=ago(70))
    assert 'id="at-wrong"' in early.text and f"{code} was made or came in after that" in words(early)
    late = await post("/log/cooling", temp="15 °C", pan=code, rule="ambient", started=ago(30))
    assert 'id="started-wrong"' in late.text and count(own_db, "cooling_readings") == before
    assert (await post("/log/cooling", temp="19 °C", pan=code, rule="ambient", at=ago(60))).status_code == 303
    cooked = {"rule": "cooked", "rule__sure": "cooked"}  # taken for cooked food now: that has no such start
    assert (await post("/log/cooling", temp="15 °C", pan=code, **cooked)).status_code == 303
    assert last_start(own_db) == (code, None)


async def test_half_a_day_is_reckoned_from_the_first_reading(own_db: Path, post: Post) -> None:
    """Twelve hours and a half before this reading, eleven and a half before the first: not asked."""
    await post("/log/cooling", temp="18 °C", of="Mutton stock", rule="received", at=ago(60))
    code, _ = last_start(own_db)
    early = ago(12 * 60 + 30)
    assert (await post("/log/cooling", temp="15 °C", pan=code, rule="received", started=early)).status_code == 303
    assert last_start(own_db) == (code, utc(early))


async def corrected(house: Any, post: Post, entry: str, **typed: str) -> Any:
    """An entry written again from its own link, with something else in it."""
    link = re.search(r'href="([^"]*)">Correct it', (await house.client.get(entry)).text)
    assert link
    path = link[1].replace("&amp;", "&")
    kept = {name: text for name, text in parse_qsl(path.partition("?")[2]) if name != "voids"}
    return await post(path, **(kept | typed))


async def test_a_correction_keeps_when_the_clock_began(own_house: Any, own_db: Path, post: Post) -> None:
    """Of the first reading, and of the one that ended the log: its moment and its start stay, its pan too."""
    began, first_at = ago(90), ago(60)
    typed = {"temp": "18 °C", "of": "Mutton stock", "rule": "received", "at": first_at, "started": began}
    first = await post("/log/cooling", **typed)
    code, _ = last_start(own_db)
    shown = (await own_house.client.get(first.headers["location"])).text
    assert f"started={quote_plus(began)}" in shown and f"at={quote_plus(first_at)}" in shown
    mended = await corrected(own_house, post, first.headers["location"], temp="17 °C")
    assert mended.status_code == 303 and last_start(own_db) == (code, utc(began))
    last = await post(f"/log/cooling?pan={code}", temp="4 °C", pan=code, rule="received")
    assert (await post(f"/log/cooling?pan={code}", temp="4 °C", pan=code, rule="received")).status_code == 200  # ended
    mended = await corrected(own_house, post, last.headers["location"], temp="9 °C", started="")
    assert mended.status_code == 303 and last_start(own_db) == (code, utc(began))
    with sqlite3.connect(own_db) as connection:
        question = "select read_at, temp_f from standing_cooling_readings where log_code = ? order by read_at"
        found = connection.execute(question, (code,)).fetchall()
    assert [round(temp, 1) for _, temp in found] == [62.6, 48.2] and found[0][0] == utc(first_at)
    later = await corrected(own_house, post, mended.headers["location"], started=ago(70))
    assert later.status_code == 303 and last_start(own_db)[1] != utc(began)  # said anew, the last word holds


async def test_a_start_is_asked_for_where_it_has_a_use(own_house: Any) -> None:
    """The field is on the page without a script; a style alone leaves it out for cooked food, and the data names it."""
    form = (await own_house.client.get("/log/cooling")).text
    assert re.search(r'<div class="ask not-cooked"><label for="started">Made, or came in, at', form)
    fields = (await own_house.client.get("/log/cooling.json")).json()["fields"]
    assert {"name": "started", "label": "Made, or came in, at", "kind": "before", "needed": False} in fields


async def test_food_too_hot_for_a_room_is_asked(post: Post) -> None:
    """A pan at 150 °F that was never cooked is a slip; and no other word is a rule."""
    asked = await post("/log/cooling", temp="150 °F", of="Mutton stock", rule="received")
    assert asked.status_code == 200
    assert "150 °F (65.6 °C) is hotter than a room or a van. Was it not cooked?" in words(asked)
    wrong = await post("/log/cooling", temp="50 °F", of="Mutton stock", rule="frozen")
    assert wrong.status_code == 200 and "Choose one of those offered." in words(wrong)


@pytest.mark.parametrize(
    ("step", "core", "verdict", "rule"),
    [("reheat", "74 °C", "cannot tell", "3-403.11(A)"), ("reheat microwave", "74 °C", "only if", "3-403.11(B)"),
     ("reheat packed", "50 °C", "not met", "3-403.11(C)"), ("reheat roast", "70 °C", "only if", "3-403.11(E)")],
)  # fmt: skip
async def test_one_reading_of_food_heated_again(
    own_house: Any, post: Post, step: str, core: str, verdict: str, rule: str
) -> None:
    """Held to the paragraph that is tapped, never to the minimum of cooking it."""
    answer = await post("/log/probe", core=core, of="Mutton loin chop", step=step)
    data = (await own_house.client.get(f"{answer.headers['location']}.json")).json()["judged"]
    assert data["verdict"] == verdict and rule in data["rule"] and data["do"]


async def test_oysters_off_the_van_cool_as_goods(own_house: Any, own_db: Path, post: Post) -> None:
    """What came in warm by law is bought, not made: it is named, and stays named with its next reading."""
    await post("/log/cooling", temp="9 °C", of="oyster", rule="received", at=half_an_hour_ago())
    connection = sqlite3.connect(own_db)
    (code,) = connection.execute("select log_code from cooling_readings order by id desc").fetchone()
    await post(f"/log/cooling?pan={code}", temp="7 °C", pan=code)
    rows = connection.execute("select item_id, recipe_id, rule from cooling_readings where log_code = ?", (code,))
    assert rows.fetchall() == [("oyster", None, "received")] * 2
    assert f"oyster, {code}" in words(await own_house.client.get("/"))


async def test_what_was_used_of_a_batch_stays_used_when_the_batch_is_corrected(
    own_db: Path, own_house: Any, post: Post
) -> None:
    """1.6 kg made, 600 g used, then corrected to 1.4 kg: 800 g are left, on the form and on the batch's own page."""
    made = await post("/log/batch", of="Brown butter", quantity="1.6 kg")
    entry = int(made.headers["location"].rsplit("/", 1)[1])
    connection = sqlite3.connect(own_db)
    (lot,) = connection.execute("select lot_code from batches where id = ?", (entry,)).fetchone()
    used = await post("/log/use", of=f"Brown butter, {lot}", quantity="600 g", what="used")
    assert used.status_code == 303, words(used)
    shown = await own_house.client.get(made.headers["location"])
    link = re.search(r'href="([^"]*)">Correct it', shown.text)
    assert link
    path = link[1].replace("&amp;", "&")
    typed = dict(parse_qsl(path.partition("?")[2])) | {"quantity": "1.4 kg"}
    corrected = await post(path, **{name: text for name, text in typed.items() if name != "voids"})
    assert corrected.status_code == 303, words(corrected)
    now = int(corrected.headers["location"].rsplit("/", 1)[1])
    assert "600 g" in words(await own_house.client.get(f"/batch/{now}"))
    book = open_book(connection, FORMS["use"], {}, datetime.now(ZoneInfo("Europe/London")))
    assert book.names["batches"][f"batch {now}"].more["left"] == 800


@pytest.mark.parametrize(
    "price, words", [("1716", "times what brill usually costs"), ("168", "times what"), ("0", "Nothing was asked")]
)
async def test_a_price_far_from_the_usual_is_asked_at_the_door(
    post: Post, as_role: Any, own_db: Path, price: str, words: str
) -> None:
    """The chef is asked, and may say that it is so; a usual price is not asked about."""
    typed = {"supplier": "hollow-creek-boats", "item": "brill", "product": "Brill, gutted", "received": "4 kg",
             "door": "1 °C", "price_per": "1 kg"}  # fmt: skip
    chef = as_role("chef")
    asked = await post("/log/delivery", cookies=chef, **typed, price=price)
    assert asked.status_code != 303 and words in asked.text
    taken = await post("/log/delivery", cookies=chef, **typed, price=price, price__sure=price)
    usual = await post("/log/delivery", cookies=chef, **typed, price="17.10")
    assert (taken.status_code, usual.status_code) == (303, 303)


async def test_below_zero_is_said_as_the_field_allows(post: Post, as_role: Any) -> None:
    """A count may be 0, goods that ripen to a weight may not."""
    chef = as_role("chef")
    counted = await post("/log/count", cookies=chef, of="brill", quantity="-3 kg")
    assert "Write how much there is: 0 or more." in counted.text
    hung = await post("/log/hang", cookies=chef, of="beef rib, bone in", weight="-3 kg")
    assert "Write how much there is: a number above zero." in hung.text
