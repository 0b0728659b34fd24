"""The view of last days says what the pure sum says."""

from __future__ import annotations

import sqlite3
from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st
from stillroom.db.build import create
from stillroom.db.date_marks import Freeze, mark
from stillroom.db.log import append, next_code, take_back

MADE = date(2026, 10, 1)


def kitchen() -> sqlite3.Connection:
    connection = sqlite3.connect(":memory:", isolation_level=None)
    create(connection)
    return connection


def batch(connection: sqlite3.Connection, days: int, **more: str) -> int:
    use_by = (MADE + timedelta(days=days - 1)).isoformat()
    row = {"request_id": "b", "actor": "x", "origin": "web", "recipe_id": "stock", "lot_code": "1", "unit": "g",
           "made_on": MADE.isoformat(), "quantity": "5", "use_by": use_by}  # fmt: skip
    return append(connection, "batches", row | more)


def move(connection: sqlite3.Connection, what: str, after: int) -> int:
    row = {"request_id": f"{what}{after}", "actor": "x", "origin": "web", "recipe_id": "stock", "lot_code": "1",
           "what": what, "moved_on": (MADE + timedelta(days=after)).isoformat()}  # fmt: skip
    return append(connection, "batch_freezes", row)


def last(connection: sqlite3.Connection) -> tuple[str | None, int]:
    found: tuple[str | None, int] = connection.execute("select last_on, is_frozen from batch_date").fetchone()
    return found


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 9), st.integers(0, 12), st.none() | st.integers(0, 300))
def test_the_view_is_the_sum(days: int, cold: int, frozen: int | None) -> None:
    db = kitchen()
    batch(db, days)
    move(db, "frozen", cold)
    if frozen is not None:
        move(db, "thawed", cold + frozen)
    out = None if frozen is None else MADE + timedelta(days=cold + frozen)
    wanted = mark(MADE, [Freeze(MADE + timedelta(days=cold), out)], days)
    assert last(db) == (None if wanted.last_on is None else wanted.last_on.isoformat(), int(wanted.last_on is None))


def test_worked_case_and_taking_back() -> None:
    """North Carolina date-marking sheet: 1, 3 and 10 October give the 14th. Taken back, the freezer never was."""
    db = kitchen()
    batch(db, 7)
    frozen = move(db, "frozen", 2)
    assert last(db) == (None, 1)
    thawed = move(db, "thawed", 9)
    assert last(db) == ("2026-10-14", 0)
    take_back(db, "batch_freezes", thawed, "x")
    assert last(db) == (None, 1)
    take_back(db, "batch_freezes", frozen, "x")
    assert last(db) == ("2026-10-07", 0)


def test_what_the_batch_itself_says_of_the_freezer_counts() -> None:
    db = kitchen()
    batch(db, 7, frozen_on="2026-10-03", thawed_on="2026-10-10")
    assert last(db) == ("2026-10-14", 0)


def test_codes_run_on_within_a_day() -> None:
    db = kitchen()
    assert next_code(db, "batches", "lot_code", "B", "2026-11-25") == "B261125-1"
    batch(db, 3, lot_code="B261125-9")
    assert next_code(db, "batches", "lot_code", "B", "2026-11-25") == "B261125-10"
    assert next_code(db, "batches", "lot_code", "B", "2026-11-26") == "B261126-1"
