"""Writing to a log and taking an entry back: one row a request, and nothing is ever changed."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from stillroom.db.kitchen import moment, settings

NOT_COPIED = frozenset({"id", "request_id", "recorded_at", "actor", "origin", "voids", "stands"})


def instant(now: datetime | None = None) -> str:
    """The UTC instant as every log keeps it: '2026-11-25T17:40:00Z'."""
    return (now or datetime.now(UTC)).astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def now(connection: sqlite3.Connection) -> str:
    """The UTC instant of an entry written now: where a demonstration stands still, that of its own day and clock."""
    return instant(moment(settings(connection)))


def append(connection: sqlite3.Connection, table: str, row: Mapping[str, Any]) -> int:
    """The id of the entry with this row's request_id: written now, or already there from a first tap.

    Args:
        connection: inside a transaction (`connect.write`).
        table: one of the log tables.
        row: columns but id; must hold request_id, actor and origin. recorded_at is `now` where it says nothing. Text is
            kept without white space at its ends and without NUL.

    Raises:
        KeyError: no such log, or a column that it has not.
    """
    full = {"recorded_at": now(connection), **{name: _text(value) for name, value in row.items()}}
    known = _columns(connection, table)
    wrong = [name for name in full if name not in known]
    if wrong:
        raise KeyError(f"{table} has no column {', '.join(wrong)}")
    names, marks = ", ".join(full), ", ".join(f":{name}" for name in full)
    connection.execute(
        f"insert into {table} ({names}) values ({marks}) on conflict (request_id) do nothing", full,
    )  # fmt: skip
    (found,) = connection.execute(f"select id from {table} where request_id = ?", (full["request_id"],)).fetchone()
    return int(found)


def _text(value: Any) -> Any:
    """Text as the files could hold it too: no white space at its ends, no NUL."""
    return value.replace("\0", "").strip() if isinstance(value, str) else value


def next_code(connection: sqlite3.Connection, table: str, column: str, letters: str, day: str) -> str:
    """The next code of the kitchen's own for an entry of a day: 'B261125-1', then 'B261125-2'.

    Args:
        connection: inside a transaction, so that no other entry takes the same.
        table: one of the log tables.
        column: where its code stands.
        letters: what the code begins with.
        day: ISO date.

    Raises:
        KeyError: no such log, or no such column.
    """
    if column not in _columns(connection, table):
        raise KeyError(f"{table} has no column {column}")
    head = f"{letters}{day[2:4]}{day[5:7]}{day[8:10]}-"
    # As a range, so that an index over the codes is used: '.' comes next after '-'.
    taken = connection.execute(
        f"select {column} from {table} where {column} >= ? and {column} < ?", (head, head[:-1] + ".")
    ).fetchall()
    numbers = [
        int(code[len(head) :]) for (code,) in taken if code[len(head) :].isascii() and code[len(head) :].isdigit()
    ]
    return f"{head}{max(numbers, default=0) + 1}"


def sent_already(connection: sqlite3.Connection, table: str, request: str) -> tuple[int, str] | None:
    """The entry that a form was written down as, and by whom; None: it was not yet."""
    found: tuple[int, str] | None = connection.execute(
        f"select id, actor from {table} where request_id = ?", (request,)
    ).fetchone()
    return found


def take_back(connection: sqlite3.Connection, table: str, entry: int, actor: str) -> int | None:
    """Voids an entry: a new row, its copy, that voids it and does not stand. None: there is no such entry.

    Taking the same entry back twice is one row.
    """
    names = ", ".join(name for name in _columns(connection, table) if name not in NOT_COPIED)
    request = f"undo-{table}-{entry}"
    connection.execute(
        f"insert into {table} (request_id, recorded_at, actor, origin, voids, stands, {names})"
        f" select :request, :now, :actor, 'web', id, 0, {names} from {table} where id = :entry"
        " on conflict (request_id) do nothing",
        {"request": request, "now": now(connection), "actor": actor, "entry": entry},
    )
    found = connection.execute(f"select id from {table} where request_id = ?", (request,)).fetchone()
    return None if found is None else int(found[0])


def _columns(connection: sqlite3.Connection, table: str) -> tuple[str, ...]:
    """Columns of a log: a table with a request_id. Asked of this table alone, for all of them take milliseconds."""
    rows = connection.execute(
        "select c.name from sqlite_master as m join pragma_table_info(m.name) as c"
        " where m.type = 'table' and m.name = ?",
        (table,),
    )
    names = tuple(name for (name,) in rows)
    if "request_id" not in names:
        raise KeyError(f"{table} is not a log")
    return names
