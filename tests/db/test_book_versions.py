"""Recipes and items as they stood: what a load writes down, and what stood on a day."""

from __future__ import annotations

import sqlite3

import pytest
from stillroom.db.book_versions import keep_versions, read_versions
from stillroom.db.build import create


@pytest.fixture
def db() -> sqlite3.Connection:
    """One item, one recipe of one line."""
    connection = sqlite3.connect(":memory:", isolation_level=None)
    create(connection)
    connection.execute("insert into items (id, name, category, unit) values ('leek', 'leek', 'produce', 'g')")
    connection.execute(
        "insert into recipes (id, name, kind, yield_quantity, yield_unit, yield_text, origin)"
        " values ('soup', 'Soup', 'dish', '1', 'each', '1 plate', 'here')"
    )
    connection.execute(
        "insert into components"
        " (id, recipe_id, position, line, item_id, quantity, amount, unit, said_quantity, said_unit)"
        " values (1, 'soup', 1, '200 g leek', 'leek', '200', 200, 'g', '200', 'g')"
    )
    return connection


def load(db: sqlite3.Connection, day: str) -> int:
    return keep_versions(db, day, f"{day}T10:00:00Z")


def quantity(db: sqlite3.Connection, day: str) -> str | None:
    state = read_versions(db).on(day).get(("recipe", "soup"))
    return None if state is None else state["lines"][0][2]


def test_a_load_that_changes_nothing_writes_nothing(db: sqlite3.Connection) -> None:
    """Item and recipe at the first load, then only what changed."""
    assert (load(db, "2026-03-01"), load(db, "2026-03-02")) == (2, 0)
    db.execute("update items set edible_yield = '0.5'")
    assert load(db, "2026-03-03") == 1
    assert read_versions(db).days == ["2026-03-03"]


def test_a_day_has_its_own_recipe(db: sqlite3.Connection) -> None:
    """200 g until the 4th, 250 g from the 5th; before the first load as on it; two changes of one day: the later."""
    load(db, "2026-03-01")
    for grams in ("240", "250"):
        db.execute("update components set quantity = ?", (grams,))
        load(db, "2026-03-05")
    days = ("2026-01-01", "2026-03-01", "2026-03-04", "2026-03-05", "2026-12-31")
    assert [quantity(db, d) for d in days] == ["200", "200", "200", "250", "250"]


def test_a_recipe_that_goes_and_comes_back(db: sqlite3.Connection) -> None:
    """On the days between it is not there."""
    load(db, "2026-03-01")
    lines = db.execute("select * from components").fetchall()
    recipe = db.execute("select * from recipes").fetchall()
    db.execute("delete from components")
    db.execute("delete from recipes")
    assert load(db, "2026-03-05") == 1 and load(db, "2026-03-06") == 0
    db.execute(f"insert into recipes values ({', '.join('?' * len(recipe[0]))})", recipe[0])
    db.execute(f"insert into components values ({', '.join('?' * len(lines[0]))})", lines[0])
    assert load(db, "2026-03-09") == 1
    assert [quantity(db, d) for d in ("2026-03-04", "2026-03-07", "2026-03-09")] == ["200", None, "200"]


def test_a_clock_set_back_hides_no_change(db: sqlite3.Connection) -> None:
    """A load on an earlier day than the last one counts from that last day on."""
    load(db, "2026-03-05")
    db.execute("update components set quantity = '300'")
    load(db, "2026-03-01")
    assert [quantity(db, d) for d in ("2026-03-04", "2026-03-05")] == ["200", "300"]


def test_what_was_written_down_stays(db: sqlite3.Connection) -> None:
    """No row is changed or removed."""
    load(db, "2026-03-01")
    for statement in ("update book_versions set state = ''", "delete from book_versions"):
        with pytest.raises(sqlite3.IntegrityError, match="never"):
            db.execute(statement)
