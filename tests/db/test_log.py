"""One row a request, and taking back without change."""

from __future__ import annotations

import sqlite3

import pytest
from stillroom.db.build import create
from stillroom.db.log import append, take_back

ROW = {
    "request_id": "a", "actor": "Marit", "origin": "web", "item_id": "leek", "counted_on": "2026-11-25",
    "quantity": "2", "unit": "each",
}  # fmt: skip


@pytest.fixture
def kitchen() -> sqlite3.Connection:
    connection = sqlite3.connect(":memory:", isolation_level=None)
    create(connection)
    return connection


def test_a_request_is_one_row(kitchen: sqlite3.Connection) -> None:
    """The same request again, even with another number in it, answers with the first row."""
    assert append(kitchen, "counts", ROW) == append(kitchen, "counts", ROW | {"quantity": "3"})
    assert kitchen.execute("select quantity from counts").fetchall() == [("2",)]


def test_taken_back_once_and_copied(kitchen: sqlite3.Connection) -> None:
    """Taking back adds one row, however often; the entry counts no more, and nothing was changed."""
    entry = append(kitchen, "counts", ROW)
    assert take_back(kitchen, "counts", entry, "Per") == take_back(kitchen, "counts", entry, "Per")
    assert kitchen.execute("select actor, voids, stands, quantity from counts order by id").fetchall() == [
        ("Marit", None, 1, "2"), ("Per", entry, 0, "2"),
    ]  # fmt: skip
    assert kitchen.execute("select count(*) from standing_counts").fetchone() == (0,)


def test_what_is_not_there_is_refused(kitchen: sqlite3.Connection) -> None:
    """Another table, another column: refused; an entry that is not there: None."""
    with pytest.raises(KeyError, match="items is not a log"):
        append(kitchen, "items", ROW)
    with pytest.raises(KeyError, match="no column colour"):
        append(kitchen, "counts", ROW | {"colour": "red"})
    assert take_back(kitchen, "counts", 99, "Per") is None
