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
