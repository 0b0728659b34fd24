"""Answers kept for each state of the file: made once, the oldest asked for goes first, a new row makes all anew."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest
from stillroom.db.build import create
from stillroom.plugins.costing import rows


@pytest.fixture
def db(tmp_path: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(tmp_path / "kitchen.db", isolation_level=None)
    create(connection)
    return connection


def test_what_is_asked_for_often_stays(db: sqlite3.Connection, monkeypatch: pytest.MonkeyPatch) -> None:
    """Room for two: the one asked for in between stays, the other goes."""
    monkeypatch.setattr(rows, "KEPT", 2)
    monkeypatch.setattr(rows, "_kept", {})
    made: list[str] = []

    def ask(name: str) -> None:
        rows.once(db, name, lambda: made.append(name))

    for name in ("house", "a", "house", "b", "house", "a"):
        ask(name)
    assert made == ["house", "a", "b", "a"]


def test_a_new_row_makes_it_anew(db: sqlite3.Connection) -> None:
    """A count written down, or a recipe kept as it stood, is another state of the file."""
    made: list[int] = []
    log = "(request_id, recorded_at, actor, origin, {}) values ('r', '', '', 'web', {})"
    for statement in (
        "insert into counts " + log.format("item_id, counted_on, quantity, unit", "'x', '2026-03-01', '1', 'g'"),
        "insert into book_versions " + log.format("what, of_id, since_on, state", "'item', 'x', '2026-03-01', ''"),
    ):
        for _ in range(2):
            rows.once(db, "house", lambda: made.append(1))
        db.execute(statement)
    rows.once(db, "house", lambda: made.append(1))
    assert len(made) == 3
