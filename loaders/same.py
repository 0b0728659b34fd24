"""Whether two kitchens' files hold the same: every table, row by row, numbers that only number left out of account.

Ids that count upwards mean nothing by themselves, so a row names another by what does: a log's row by its request id, a
recipe's line by recipe and place. Not compared: published figures, which ship with stillroom; what tells of the file
itself (`loads`, `backups`, `warnings`); and from which line of which file a recipe or price came. An empty text and
none are one.
"""

from __future__ import annotations

import json
import sqlite3
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from itertools import zip_longest
from pathlib import Path
from typing import Any
from urllib.parse import quote

from stillroom.db.build import log_tables
from stillroom.loaders.merge import REFERS
from stillroom.loaders.publish import KITCHEN_TABLES

OF_THE_FILE = {"warnings"}
PASSED_OVER = {"recipes": {"origin"}, "price_quotes": {"origin"}, "explosion": {"path_no"}, "photos": {"source_sha256"}}
NUMBERED = {"components", "substitutes", "pars"}
Values = tuple[Any, ...]


def differences(one: Path, other: Path) -> list[str]:
    """What differs, a line for each table where something does; none where they hold the same."""
    with closing(_open(one)) as first, closing(_open(other)) as second:
        found = [_tables(first, second)]
        for table in KITCHEN_TABLES:
            if table not in OF_THE_FILE:
                found.append(_differs(table, Counter(kitchen_rows(first, table)), Counter(kitchen_rows(second, table))))
        for table in log_tables(first):
            found.append(_logs_differ(table, first, second))
    return [line for line in found if line]


def _open(path: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(f"file:{quote(str(path.absolute()))}?mode=ro", uri=True, timeout=10)
    connection.row_factory = sqlite3.Row
    return connection


def _tables(first: sqlite3.Connection, second: sqlite3.Connection) -> str:
    def shapes(connection: sqlite3.Connection) -> set[tuple[str, str]]:
        question = (
            "select m.name, c.name from sqlite_master as m join pragma_table_info(m.name) as c where m.type = 'table'"
        )
        return {(row[0], row[1]) for row in connection.execute(question)}

    apart = shapes(first) ^ shapes(second)
    return f"tables have other columns: {', '.join('.'.join(pair) for pair in sorted(apart))}" if apart else ""


def kitchen_rows(connection: sqlite3.Connection, table: str) -> Iterator[Values]:
    """The rows of one of the kitchen's own tables, lines of recipes by recipe and place."""
    left_out = PASSED_OVER.get(table, set()) | ({"id"} if table in NUMBERED else set())
    lines: dict[int | None, str | None] = {None: None, -1: "left over"}
    if table == "explosion":
        lines |= {r["id"]: f"{r['recipe_id']} {r['position']}" for r in connection.execute("select * from components")}
    for row in connection.execute(f"select * from {table}"):
        values = {name: row[name] for name in row.keys() if name not in left_out}  # noqa: SIM118  (no mapping)
        if table == "explosion":
            values["component_ids"] = str([lines.get(n) for n in json.loads(row["component_ids"])])
            values["removable_id"] = lines.get(row["removable_id"])
        yield _plain(values)


def log_rows(connection: sqlite3.Connection, table: str) -> Iterator[Values]:
    """The rows of a log in their order, what they say of others by request id."""
    others = [("voids", table), *((column, other) for column, _, other in REFERS.get(table, ()))]
    said = ", ".join(
        f"(select other.request_id from {other} as other where other.id = entry.{column}) as said_{column}"
        for column, other in others
    )
    hidden = {"id", *(column for column, _ in others)}
    for row in connection.execute(f"select entry.*, {said} from {table} as entry order by entry.id"):
        yield _plain({name: row[name] for name in row.keys() if name not in hidden})  # noqa: SIM118


def _plain(values: dict[str, Any]) -> Values:
    """Values by the names of their columns, which may stand in another order in an older file."""
    return tuple((name, "" if values[name] is None else values[name]) for name in sorted(values))


def _differs(table: str, first: Counter[Values], second: Counter[Values]) -> str:
    if first == second:
        return ""
    lost, come = list((first - second).elements()), list((second - first).elements())
    example = _apart(lost[0] if lost else (), come[0] if come else ())
    return f"{table}: {len(lost)} rows are lost, {len(come)} have come; {example}"


def _logs_differ(table: str, first: sqlite3.Connection, second: sqlite3.Connection) -> str:
    for number, (old, new) in enumerate(zip_longest(log_rows(first, table), log_rows(second, table)), 1):
        if old != new:
            return f"{table}: row {number} differs; {_apart(old or (), new or ())}"
    return ""


def _apart(old: Values, new: Values) -> str:
    """The values of two rows that differ, in words."""
    were, are = dict(old), dict(new)
    said = [f"{k}: {were.get(k)!r}, then {are.get(k)!r}" for k in sorted({*were, *are}) if were.get(k) != are.get(k)]
    return "; ".join(said)[:300]
