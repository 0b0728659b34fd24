"""Batches through the front door: days that can be, lots that are known, and a freezer that things go into once."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Post = Callable[..., Any]


def row(path: Path, question: str, *said: Any) -> Any:
    with sqlite3.connect(path) as connection:
        found = connection.execute(question, said).fetchone()
    connection.close()
    return found


def count(path: Path, table: str) -> int:
    return int(row(path, f"select count(*) from {table}")[0])


def words(page: Any) -> str:
    text = re.sub(r"<[^>]+>", " ", page.text[page.text.index("<main") :])
    return " ".join(text.split()).replace("&#39;", "'")


def box(page: Any, name: str) -> str:
    """What the box under a field confirms."""
    found = re.search(rf'type="checkbox" name="{name}-sure" value="([^"]*)"', page.text)
    assert found, page.text
    return found[1]


CREAM = {"of": "Horseradish cream", "quantity": "500 g"}  # made on 25 November it keeps three days: to the 27th


async def test_a_last_day_before_the_day_made_is_refused(own_db: Path, post: Post) -> None:
    before = count(own_db, "batches")
    page = await post("/log/batch", **CREAM, use_by="2026-11-24")
    assert page.status_code == 200 and "its last day can't come before that" in words(page)
    assert 'name="use_by-sure"' not in page.text and count(own_db, "batches") == before


@pytest.mark.parametrize(
    ("use_by", "on", "told"),
    [
        ("2027-05-01", "2026-11-25", "The rule ends on 27 November. Keeps 3 days by the kitchen's shelf life"),
        ("2026-11-28", "2026-11-25", "The rule ends on 27 November."),
        ("2026-11-24", "2026-11-22", "24 November is past already"),
    ],
)
async def test_a_last_day_that_is_late_or_past_is_asked_once(
    own_db: Path, post: Post, use_by: str, on: str, told: str
) -> None:
    before = count(own_db, "batches")
    page = await post("/log/batch", **CREAM, use_by=use_by, on=on)
    assert told in words(page) and count(own_db, "batches") == before
    sure = await post("/log/batch", **CREAM, use_by=use_by, on=on, use_by__sure=box(page, "use_by"))
    assert sure.status_code == 303
    assert row(own_db, "select use_by, made_on from batches order by id desc limit 1") == (use_by, on)


async def test_a_last_day_within_the_rule_is_written_without_a_word(own_db: Path, post: Post) -> None:
    assert (await post("/log/batch", **CREAM, use_by="2026-11-26")).status_code == 303
    assert (await post("/log/batch", **CREAM)).status_code == 303
    assert row(own_db, "select use_by from batches order by id desc limit 1") == ("2026-11-27",)


async def test_a_lot_nobody_wrote_down_is_asked_once_and_then_found_by_trace(
    own_db: Path, own_house: Any, post: Post
) -> None:
    """A recall names it: the batch, its dishes and days are told, and that no receipt is written down."""
    nothing = words(await own_house.client.get("/trace?lot=L-10"))
    assert "no batch names it" in nothing
    page = await post("/log/batch", of="Brown butter", quantity="400 g", **{"from": "L-10", "on": "2026-11-20"})
    assert "No receipt and no batch with the lot code L-10 is written down. Did it go in?" in words(page)
    sure = await post("/log/batch", of="Brown butter", quantity="400 g",
                      **{"from": "L-10", "on": "2026-11-20", "from__sure": box(page, "from")})  # fmt: skip
    assert sure.status_code == 303
    said = words(await own_house.client.get("/trace?lot=L-10"))
    assert "No receipt of L-10 is written down. What batches name it went into follows." in said
    found = (await own_house.client.get("/trace.json?lot=L-10")).json()
    assert found["steps"][0]["how"] == "the records end here"
    assert (found["steps"][1]["name"], found["steps"][1]["on"]) == ("Brown butter", "2026-11-20")
    plates = [step for step in found["steps"] if step["kind"] == "dish"]
    assert plates and all("2026-11-20" <= step["on"] <= "2026-11-26" for step in plates)


async def test_a_lot_that_is_written_down_is_not_asked(own_db: Path, post: Post) -> None:
    """The newest butter in the house."""
    (lot,) = row(own_db, "select lot_code from deliveries where item_id = 'butter-salted' and lot_code <> ''"
                         " and received <> '0' order by received_on desc, id desc limit 1")  # fmt: skip
    answer = await post("/log/batch", of="Brown butter", quantity="400 g", **{"from": lot})
    assert answer.status_code == 303


async def test_a_batch_takes_the_earliest_day_of_its_lots_and_a_lot_past_its_day_is_asked(
    own_db: Path, post: Post
) -> None:
    """Food Code 3-501.17(D): a mixture takes the earliest date of its parts."""
    assert (await post("/log/batch", **CREAM, lot="HC-1", use_by="2026-11-26")).status_code == 303
    mixed = {"of": "Brown butter", "quantity": "400 g", "from": "HC-1"}
    assert (await post("/log/batch", **mixed)).status_code == 303
    assert row(own_db, "select use_by from batches order by id desc limit 1") == ("2026-11-26",)
    assert (await post("/log/batch", **CREAM, lot="HC-0", on="2026-11-20")).status_code == 303
    page = await post("/log/batch", of="Brown butter", quantity="400 g", **{"from": "HC-0"})
    assert "Horseradish cream HC-0 was past its last day, 22 November, when this was made." in words(page)


@pytest.fixture
async def cream(own_db: Path, post: Post) -> str:
    """A batch made today, as the freezer's form names it."""
    answer = await post("/log/batch", **CREAM, lot="HC-9")
    return f"batch {answer.headers['location'].rsplit('/', 1)[1]}"


async def test_nothing_is_frozen_twice_or_thawed_twice_or_before_it_was_made(
    own_db: Path, post: Post, cream: str
) -> None:
    async def move(what: str, on: str = "") -> str:
        page = await post("/log/freeze", of=cream, what=what, on=on)
        return "" if page.status_code == 303 else words(page)

    before = count(own_db, "batch_freezes")
    assert "nobody wrote down that it was frozen" in await move("thawed")
    assert "It was made today: this can't be before that." in await move("frozen", "2026-11-24")
    assert await move("frozen") == ""
    assert "in the freezer already, since today" in await move("frozen")
    assert await move("thawed") == ""
    assert "It is not in the freezer: it came out today" in await move("thawed")
    again = await move("frozen")
    assert "It was frozen before and came out today. Again?" in again
    assert count(own_db, "batch_freezes") == before + 2


async def test_what_is_past_its_day_is_asked_and_a_batch_frozen_as_it_was_made_is_in(own_db: Path, post: Post) -> None:
    made = await post("/log/batch", **CREAM, lot="HC-8", on="2026-11-20")
    number = made.headers["location"].rsplit("/", 1)[1]
    page = await post("/log/freeze", of=f"batch {number}", what="frozen")
    assert "Its last day of use was 22 November, and the freezer gives no day back" in words(page)
    made = await post("/log/batch", **CREAM, lot="HC-7", frozen="yes")
    number = made.headers["location"].rsplit("/", 1)[1]
    page = await post("/log/freeze", of=f"batch {number}", what="frozen")
    assert "in the freezer already" in words(page)
    assert (await post("/log/freeze", of=f"batch {number}", what="thawed")).status_code == 303


async def test_a_correction_of_a_freeze_does_not_stand_in_its_own_way(
    own_db: Path, own_house: Any, post: Post, cream: str
) -> None:
    first = await post("/log/freeze", of=cream, what="frozen")
    entry = first.headers["location"].rsplit("/", 1)[1]
    page = await post(f"/log/freeze?voids={entry}", of=cream, what="frozen", note="bottom shelf")
    assert page.status_code == 303
    label = (await own_house.client.get(f"/batch/{cream.split()[1]}.json")).json()
    assert label["use_by"] is None  # frozen: no day runs


async def test_a_second_tap_of_a_freeze_is_the_first_and_of_two_who_freeze_at_once_one_is_told(
    own_db: Path, own_house: Any, post: Post, cream: str
) -> None:
    """The form that wrote it is shown what it wrote; another form, sent at the same moment, is not written."""
    import asyncio

    before = count(own_db, "batch_freezes")
    first = await post("/log/freeze", request="tapped-twice-1", of=cream, what="frozen")
    second = await post("/log/freeze", request="tapped-twice-1", of=cream, what="frozen")
    assert first.status_code == second.status_code == 303 and first.headers["location"] == second.headers["location"]
    both = await asyncio.gather(*(post("/log/freeze", of=cream, what="thawed") for _ in range(4)))
    assert sorted(answer.status_code for answer in both) == [200, 200, 200, 303]
    assert count(own_db, "batch_freezes") == before + 2


async def test_a_lot_code_shared_by_a_delivery_gives_the_day_of_what_is_in_the_recipe(own_db: Path, post: Post) -> None:
    """Carcasses of LP261120 end on 25 November; a custard is made of the eggs that came under the same code."""
    typed = {"of": "Set custard base", "quantity": "1 l", "from": "LP261120; SD261124"}
    assert (await post("/log/batch", **typed)).status_code == 303
    assert row(own_db, "select use_by from batches order by id desc limit 1") == ("2026-11-27",)
    stock = {"of": "White chicken stock", "quantity": "2 l", "from": "LP261120"}
    assert (await post("/log/batch", **stock)).status_code == 303
    assert row(own_db, "select use_by from batches order by id desc limit 1") == ("2026-11-25",)
