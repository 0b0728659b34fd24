"""What is doubtful about a stock, in words with the mend: said wherever its number is used."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from datetime import date, timedelta

from stillroom.db.named_sql import asker
from stillroom.db.stock import Stock

ask = asker("stillroom.db")

SINCE_DAYS = 4  # how long two counts in conflict are told, where nobody counted again
OLD_DAYS = 7  # no count is called old before
DOUBTS = {
    "missing": "more was used than the records had: count it",
    "twice": "counted twice on one day with two results; the later entry is used: count it again",
    "old": "the last count is older than the thing keeps: count it",
}


def doubts(
    connection: sqlite3.Connection, stocks: Mapping[str, Stock], lives: Mapping[str, int | None], today: date
) -> dict[str, str]:
    """Thing -> what is doubtful about what is there of it: a key of DOUBTS. The gravest only.

    Args:
        connection: for reading.
        stocks: what is on hand of some things.
        lives: thing -> days that it keeps; what is not in it keeps.
        today: the kitchen's day.
    """
    since = (today - timedelta(days=SINCE_DAYS)).isoformat()
    twice = {thing for (thing,) in ask(connection, "counted_twice", since=since)}
    found = {}
    for thing, of in stocks.items():
        life = lives.get(thing)
        if thing in twice:
            found[thing] = "twice"
        elif of.missing > 0:
            found[thing] = "missing"
        elif of.counted_on and life and (today - date.fromisoformat(of.counted_on)).days > max(life, OLD_DAYS):
            found[thing] = "old"
    return found
