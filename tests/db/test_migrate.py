"""Older files: brought up whole, with a copy first; newer and foreign ones refused in words."""

from __future__ import annotations

import re
import sqlite3
from pathlib import Path

import pytest
from stillroom.db import build, migrate
from stillroom.db.build import statements
from stillroom.db.migrate import NotAKitchen, bring_up, version_of

OLD = (Path(__file__).parents[1] / "data" / "schema_1.sql").read_text("utf-8")
ENTRY = (
    "insert into counts (request_id, recorded_at, actor, origin, item_id, counted_on, quantity, unit)"
    " values ('r1', '2026-11-25T10:00:00Z', 'Marit', 'web', 'butter', '2026-11-24', '500', 'g')"
)
VIEW_OF_OLD = "create view gone as select id from items"


@pytest.fixture
def old(tmp_path: Path) -> Path:
    """A file of version 1 with one entry of a cook's and a view that stillroom no longer makes."""
    path = tmp_path / "kitchen.db"
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("pragma journal_mode = wal")
    connection.executescript(OLD)
    build.guard_logs(connection)
    connection.execute(VIEW_OF_OLD)
    connection.execute(ENTRY)
    connection.execute("pragma user_version = 1")
    connection.close()
    return path


def shape(connection: sqlite3.Connection) -> dict[tuple[str, str], object]:
    """What a file is made of: every table, trigger, view and index with its text, a table's columns in any order."""
    rows = connection.execute("select type, name, sql from sqlite_master where name not like 'sqlite_%'").fetchall()
    return {(kind, name): parts(sql) if kind == "table" else plain(sql) for kind, name, sql in rows}


def plain(sql: str) -> str:
    """A statement without its remarks and spacing."""
    bare = re.sub(r"\s+", " ", re.sub(r"--[^\n]*", "", sql)).replace("( ", "(").replace(" )", ")")
    return bare.replace('"', "").replace(" ,", ",").strip()


def parts(sql: str) -> tuple[list[str], str]:
    """A table's columns and rules, sorted, and what stands behind the last bracket."""
    text = plain(sql)
    inside, _, behind = text.partition("(")[2].rpartition(")")
    return sorted(piece.strip() for piece in re.split(r",(?![^(]*\))", inside)), behind.strip()


def test_an_older_file_becomes_what_a_new_one_is(old: Path) -> None:
    """Same tables, columns, triggers, views and indexes, and every row still there."""
    bring_up(old, lambda path, version: None)
    fresh = sqlite3.connect(":memory:", isolation_level=None)
    build.create(fresh)
    connection = sqlite3.connect(old)
    had, wanted = shape(connection), shape(fresh)
    assert had.keys() == wanted.keys()
    assert [name for name in wanted if had[name] != wanted[name]] == []
    assert version_of(old) == build.VERSION
    assert connection.execute("select request_id, quantity from standing_counts").fetchall() == [("r1", "500")]
    assert connection.execute("pragma integrity_check").fetchone() == ("ok",)


def test_every_reference_names_its_column(old: Path) -> None:
    """In a new file and in one that was brought up: Datasette can't show a table where one does not."""
    bring_up(old, lambda path, version: None)
    fresh = sqlite3.connect(":memory:", isolation_level=None)
    build.create(fresh)
    for connection in (fresh, sqlite3.connect(old)):
        found = connection.execute(
            "select m.name, f.[from], f.[to] from sqlite_master as m join pragma_foreign_key_list(m.name) as f"
            " where m.type = 'table'"
        ).fetchall()
        assert len(found) > 70 and [one for one in found if one[2] is None] == []


def test_a_cooling_log_of_an_older_file_says_no_rule(old: Path) -> None:
    """It was written down before there was a choice: nothing is said for it, and nothing but the four words goes in."""
    reading = (
        "insert into cooling_readings (request_id, recorded_at, actor, origin, log_code, read_at, temp_f{})"
        " values ('c{}', '2026-11-25T10:00:00Z', 'Marit', 'web', 'P1', '2026-11-25T10:00:00Z', 140{})"
    )
    connection = sqlite3.connect(old, isolation_level=None)
    connection.execute(reading.format("", 1, ""))
    bring_up(old, lambda path, version: None)
    connection.execute(reading.format(", rule", 2, ", 'ambient'"))
    said = connection.execute("select rule from standing_cooling_readings order by id").fetchall()
    assert said == [("",), ("ambient",)]
    starts = connection.execute("select started_at from standing_cooling_readings").fetchall()
    assert starts == [(None,), (None,)]  # and when it was made or came in, nobody said
    with pytest.raises(sqlite3.IntegrityError, match="CHECK"):
        connection.execute(reading.format(", rule", 3, ", 'frozen'"))


@pytest.mark.parametrize("version", range(1, build.VERSION))
def test_the_search_box_knows_what_an_older_file_holds(old: Path, version: int) -> None:
    """Without waiting for a load: each kind of name, trials among them where the file could hold any."""
    connection = sqlite3.connect(old, isolation_level=None)
    for number in range(2, version + 1):
        connection.executescript(migrate.step(number))
    connection.execute(f"pragma user_version = {version}")
    connection.execute("insert into loads (loaded_at, source, rows, warnings) values ('2026-11-20', 'k', 1, 0)")
    connection.execute("insert into items (id, name, category, unit) values ('leeks', 'leeks', 'produce', 'g')")
    if version > 1:
        connection.execute(
            "insert into trial_versions (request_id, recorded_at, actor, origin, trial_id, trial, version, written_on,"
            " lines) values ('t', '', 'Marit', 'web', 'leek-pie', 'Leek pie', 1, '2026-11-20', '60 g leeks')"
        )
    bring_up(old, lambda path, before: None)
    found = connection.execute("select kind, name from search_name order by kind").fetchall()
    assert found == [("item", "leeks"), *([("trial", "Leek pie")] if version > 1 else [])]


def test_every_version_has_its_step() -> None:
    """Numbered without a gap from 2 to VERSION, and none beyond."""
    found = sorted(path.name for path in (Path(migrate.__file__).parent / "migrations").glob("*.sql"))
    assert found == [f"{number:04}.sql" for number in range(2, build.VERSION + 1)]


def test_a_copy_is_made_before_anything_changes(old: Path) -> None:
    """`keep` sees the file as it was; where it fails, nothing is changed."""
    seen = []

    def refuse(path: Path, version: int) -> None:
        seen.append((version, version_of(path)))
        raise OSError("no room")

    with pytest.raises(OSError, match="no room"):
        bring_up(old, refuse)
    assert seen == [(1, 1)]
    assert version_of(old) == 1


def end_with(monkeypatch: pytest.MonkeyPatch, script: str) -> None:
    """Puts statements behind the last step."""
    step = migrate.step
    monkeypatch.setattr(migrate, "step", lambda number: step(number) + (script if number == build.VERSION else ""))


def test_a_step_that_fails_leaves_the_old_file(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Half a migration is none: the views that were dropped for it are there again."""
    before = shape(sqlite3.connect(old))
    end_with(monkeypatch, "create table later (id integer); insert into nowhere values (1);")
    with pytest.raises(sqlite3.OperationalError, match="nowhere"):
        bring_up(old, lambda path, version: None)
    assert shape(sqlite3.connect(old)) == before
    assert version_of(old) == 1


def test_a_step_that_breaks_a_reference_is_undone(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Foreign keys are off while tables are made again, so they are checked before the end."""
    end_with(monkeypatch, "insert into item_tags values ('nothing', 'garlic');")
    with pytest.raises(sqlite3.IntegrityError, match="a row of item_tags would name one in items"):
        bring_up(old, lambda path, version: None)
    assert version_of(old) == 1


def test_a_file_of_today_is_left_alone(old: Path) -> None:
    """The second time there is nothing to do and no copy is made."""
    bring_up(old, lambda path, version: None)

    def never(path: Path, version: int) -> None:
        raise AssertionError

    assert bring_up(old, never) == build.VERSION
    assert bring_up(old.with_name("none.db"), never) == 0


def test_a_newer_file_is_refused(old: Path) -> None:
    """The words say whose it is and what to do; the file keeps its version."""
    connection = sqlite3.connect(old, isolation_level=None)
    connection.execute("pragma user_version = 99")
    with pytest.raises(NotAKitchen, match="made by a newer stillroom: it is of version 99, this program knows"):
        bring_up(old, lambda path, version: None)
    assert connection.execute("pragma user_version").fetchone() == (99,)


@pytest.mark.parametrize("version", [0, 1])
def test_another_programs_database_is_refused(tmp_path: Path, version: int) -> None:
    """Whatever number it carries: a kitchen's file is known by its tables."""
    path = tmp_path / "other.db"
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("create table songs (id integer)")
    connection.execute(f"pragma user_version = {version}")
    with pytest.raises(NotAKitchen, match="not a kitchen's"):
        version_of(path)


def test_what_is_no_database_is_refused(tmp_path: Path) -> None:
    """A text file, a picture."""
    path = tmp_path / "notes.txt"
    path.write_text("leeks " * 1000)
    with pytest.raises(NotAKitchen, match="can't be opened as a kitchen's database"):
        version_of(path)


def test_statements_are_cut_where_they_end() -> None:
    """A semicolon within a trigger, a text or a remark ends none; a script that breaks off is told."""
    trigger = "create trigger t before delete on a begin select 1; select 'x;y'; end;"
    script = f"-- a remark; with a semicolon\ncreate table a (x); {trigger}\n-- the end;"
    assert [s.strip() for s in statements(script)][1] == trigger
    assert len(list(statements(script))) == 2
    with pytest.raises(ValueError, match="has no end"):
        list(statements("create table a (x)"))
