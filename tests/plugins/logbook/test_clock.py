"""Which moment an entry is of: the real one, or a demonstration's own; what is said of a limit that it is past."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

Post = Callable[..., Any]


def words(page: Any) -> str:
    """What a page says, without its frame."""
    text = re.sub(r"<[^>]+>", " ", page.text[page.text.index("<main") :])
    return " ".join(text.split()).replace("\u00a0", " ")


async def test_an_entry_as_data_has_celsius_beside_the_laws_fahrenheit_too(own_house: Any, post: Post) -> None:
    """The demonstration is metric."""
    answer = await post("/log/hold", place="Fish drawer", held="cold", temp="9 °C")
    found = (await own_house.client.get(f"{answer.headers['location']}.json")).json()
    assert found["judged"]["reason"] == "48.2 °F (9.0 °C) is over 41 °F (5 °C)"


async def test_a_log_written_late_tells_that_its_limit_has_passed(own_house: Any, post: Post) -> None:
    """Both readings of the morning go in at one o'clock, four hours after the last of them."""
    first = await post("/log/cooling", temp="60 °C", of="Mutton stock", at="2026-11-25 08:00")
    code = re.search(r"P261125-\d+", (await own_house.client.get(first.headers["location"])).text)
    assert code
    then = await post("/log/cooling", temp="40 °C", pan=code[0], at="2026-11-25 09:00")
    said = words(await own_house.client.get(then.headers["location"])).replace("\u00a0", " ")
    assert "It should have been at 70 °F (21.1 °C) by now and no reading shows it: take one" in said
    assert "At 70 °F (21.1 °C) by 10:00, which is past" in said and "to come" not in said


async def test_on_a_demonstration_that_stands_still_every_entry_is_of_its_own_clock(
    own_db: Path, own_house: Any, post: Post
) -> None:
    """It is 13:00 on 25 November there; the log, its list and the entry say so."""
    answer = await post("/log/count", of="butter, salted", quantity="10 kg")
    said = words(await own_house.client.get(answer.headers["location"]))
    assert "25 November, 13:00" in said and "25 November, 13:00" in words(await own_house.client.get("/log"))


async def test_a_real_kitchens_entries_are_of_the_real_clock(own_db: Path, post: Post) -> None:
    """Where nothing stands still, recorded_at is the moment of writing [s]."""
    with sqlite3.connect(own_db) as connection:
        connection.execute("update kitchen set value = '' where key in ('today', 'clock')")
    connection.close()
    await post("/log/count", of="butter, salted", quantity="10 kg")
    connection = sqlite3.connect(own_db)
    (at,) = connection.execute("select recorded_at from counts order by id desc limit 1").fetchone()
    connection.close()
    assert abs((datetime.fromisoformat(at.replace("Z", "+00:00")) - datetime.now(UTC)).total_seconds()) < 60


def stands(file: Path, day: str, clock: str) -> None:
    """Sets the demonstration's own day and clock."""
    with sqlite3.connect(file) as connection:
        connection.execute("update kitchen set value = ? where key = 'today'", (day,))
        connection.execute("update kitchen set value = ? where key = 'clock'", (clock,))
    connection.close()


def read_at(file: Path) -> list[str]:
    """Moments of the cooling readings written in the browser [UTC], in the order of writing."""
    connection = sqlite3.connect(file)
    found = connection.execute("select read_at from cooling_readings where origin = 'web' order by id").fetchall()
    connection.close()
    return [at for (at,) in found]


async def test_a_clock_time_that_came_twice_is_the_later_and_is_asked_about(
    own_db: Path, own_house: Any, post: Post
) -> None:
    """Clocks in Britain go back on the last Sunday of October at 01:00 UTC (Summer Time Order 2002, from memory).

    From 00:10 to the second 01:50 it is 2 h 40, past the two hours of Food Code 3-501.14(A); to the first, 1 h 40.
    """
    stands(own_db, "2026-10-24", "00:10")
    await post("/log/cooling", temp="58 °C", of="Mutton stock")
    stands(own_db, "2026-10-24", "02:20")
    entry = {"temp": "22 °C", "pan": "P261024-1"}
    asked = await post("/log/cooling", **entry, at="01:50")
    assert "01:50 came twice that night" in words(asked) and read_at(own_db) == ["2026-10-24T23:10:00Z"]
    written = await post("/log/cooling", **entry, at="01:50", at__sure="01:50")
    assert read_at(own_db)[1:] == ["2026-10-25T01:50:00Z"]
    first = await post("/log/cooling", **entry, at="2026-10-25T00:50Z")
    assert first.status_code == 303 and read_at(own_db)[2:] == ["2026-10-25T00:50:00Z"]
    again = (await own_house.client.get(written.headers["location"])).text
    assert "at=2026-10-25T01%3A50%3A00Z" in again, "correcting it keeps the moment"


async def test_a_clock_time_that_would_be_of_yesterday_noon_is_asked_about(own_db: Path, post: Post) -> None:
    """At 13:00, 15:50 may be a slip of the hand for 12:50; at 00:40, 23:50 is last night's and nobody asks."""
    stands(own_db, "2026-11-25", "13:00")
    entry = {"temp": "60 °C", "of": "Mutton stock"}
    asked = await post("/log/cooling", **entry, at="15:50")
    assert "24 November, 15:50? That is 21 hours ago." in words(asked) and read_at(own_db) == []
    assert (await post("/log/cooling", **entry, at="15:50", at__sure="15:50")).status_code == 303
    stands(own_db, "2026-11-25", "00:40")
    assert (await post("/log/cooling", **entry, at="23:50")).status_code == 303
    assert read_at(own_db) == ["2026-11-24T15:50:00Z", "2026-11-25T23:50:00Z"]
