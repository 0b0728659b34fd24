"""The database: tables, guards, the one way to write, the kitchen's day."""

from __future__ import annotations

import sqlite3
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from stillroom.db.build import create, create_views, log_tables
from stillroom.db.connect import open_kitchen, transaction
from stillroom.db.kitchen import DEFAULTS, day_of
from stillroom.db.names import fold, slug
from stillroom.db.problems import Place, Problem, as_text, quoted, report

COUNT = (
    "insert into counts (request_id, recorded_at, actor, origin, item_id, counted_on, quantity, unit, voids, stands)"
    " values (?, '2026-11-25T10:00:00Z', 'Marit', ?, 'butter', '2026-11-24', ?, 'g', ?, ?)"
)


@pytest.fixture
def db() -> sqlite3.Connection:
    """An empty kitchen in memory."""
    connection = sqlite3.connect(":memory:", isolation_level=None)
    create(connection)
    return connection


def test_what_people_wrote_is_never_changed_or_removed(db: sqlite3.Connection) -> None:
    """The trigger refuses both, and says what to do instead."""
    db.execute(COUNT, ("r1", "web", "500", None, 1))
    for statement in ("update counts set quantity = '5'", "delete from counts"):
        with pytest.raises(sqlite3.IntegrityError, match="write a new row that voids the old one"):
            db.execute(statement)


def test_rows_from_files_are_replaced_by_a_load(db: sqlite3.Connection) -> None:
    """Only those: a load deletes what the last one brought."""
    db.execute(COUNT, ("r1", "file", "500", None, 1))
    assert db.execute("delete from counts where origin = 'file'").rowcount == 1


def test_a_double_tap_is_one_row(db: sqlite3.Connection) -> None:
    """The same request_id can't be stored twice."""
    db.execute(COUNT, ("r1", "web", "500", None, 1))
    with pytest.raises(sqlite3.IntegrityError):
        db.execute(COUNT, ("r1", "web", "500", None, 1))


def test_standing_rows_are_the_ones_that_count(db: sqlite3.Connection) -> None:
    """A corrected row and an undo do not stand; the correction does."""
    db.execute(COUNT, ("wrong", "web", "5000", None, 1))
    db.execute(COUNT, ("right", "web", "500", 1, 1))
    db.execute(COUNT, ("other", "web", "9", None, 1))
    db.execute(COUNT, ("undo", "web", "9", 3, 0))
    assert db.execute("select request_id from standing_counts").fetchall() == [("right",)]


def test_every_log_table_has_its_guards(db: sqlite3.Connection) -> None:
    """Two triggers and a standing view each, and making the views again changes nothing."""
    tables = log_tables(db)
    assert len(tables) >= 17
    made = {name for (name,) in db.execute("select name from sqlite_master where type in ('trigger', 'view')")}
    for table in tables:
        assert {f"{table}_keep", f"{table}_stay", f"standing_{table}"} <= made
    before = db.execute("select name, sql from sqlite_master order by name").fetchall()
    create_views(db)
    assert db.execute("select name, sql from sqlite_master order by name").fetchall() == before


def test_a_write_that_fails_leaves_nothing_and_no_lock(tmp_path: Path) -> None:
    """The half-done row is gone and another connection can write at once."""
    first, second = open_kitchen(tmp_path / "k.db"), open_kitchen(tmp_path / "k.db")
    create(first)
    with pytest.raises(RuntimeError), transaction(first):
        first.execute("insert into stations (id, name) values ('grill', 'Grill')")
        raise RuntimeError("power cut")
    with transaction(second):
        second.execute("insert into stations (id, name) values ('larder', 'Larder')")
    assert first.execute("select id from stations").fetchall() == [("larder",)]


@pytest.mark.parametrize(
    ("instant", "day"),
    [
        ("2026-11-25T23:30:00", date(2026, 11, 25)),
        ("2026-11-26T00:30:00", date(2026, 11, 25)),
        ("2026-11-26T04:00:00", date(2026, 11, 26)),
    ],
)
def test_the_kitchens_day_ends_after_service(instant: str, day: date) -> None:
    """Half past midnight still belongs to last night; four in the morning begins the next day."""
    now = datetime.fromisoformat(instant).replace(tzinfo=UTC)
    assert day_of({**DEFAULTS, "time zone": "UTC", "day starts": "04:00"}, now) == day


def test_names_fold_accents_and_case() -> None:
    """Two spellings of a name are one thing; the id has neither accents nor spaces."""
    assert fold("  Crème  FRAÎCHE ") == fold("creme fraiche")
    assert slug("Sauce à l’échalote, rouge") == "sauce-a-l-echalote-rouge"


def test_a_problem_says_where_what_why_and_how_to_mend_it() -> None:
    """The three lines of an error text, exactly."""
    place = Place("items.csv", line=31, column_name="price")
    what, why = '"4.5O" is not a number', "The last character is the letter O."
    problem = Problem("number-bad", place, what, why, "write 4.50")
    assert as_text(problem) == (
        'items.csv:31, column "price": error: "4.5O" is not a number  [number-bad]\n'
        "  The last character is the letter O.\n"
        "  Fix: write 4.50"
    )


def test_a_file_full_of_mistakes_shows_fifty() -> None:
    """Then how many more there are, with a thousands comma."""
    problems = [Problem("x", Place("a.csv", line=n), "bad") for n in range(1, 10_001)]
    lines = report(problems).splitlines()
    assert len(lines) == 51 and lines[-1] == "a.csv: and 9,950 more"


def test_quoted_text_is_cut_and_shows_control_characters() -> None:
    """Sixty characters at most, a NUL byte visible."""
    assert quoted("a\x00b") == '"a\\x00b"'
    assert len(quoted("x" * 500)) == 63
