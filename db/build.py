"""Making a kitchen's database: tables, the triggers and views that every log table gets, and the named views."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator
from graphlib import TopologicalSorter
from importlib.resources import files
from importlib.resources.abc import Traversable

SCHEMAS = ("schema_reference.sql", "schema_kitchen.sql", "schema_log.sql")
VERSION = 5  # pragma user_version: the highest number in migrations/, see db/migrate.py


def create(connection: sqlite3.Connection) -> None:
    """All tables, triggers and views on an empty database; within a transaction, if one is open."""
    for name in SCHEMAS:
        for statement in statements(_here().joinpath(name).read_text("utf-8")):
            connection.execute(statement)
    guard_logs(connection)
    create_views(connection)
    connection.execute(f"pragma user_version = {VERSION}")


def statements(script: str) -> Iterator[str]:
    """The statements of a script one by one: sqlite3's own `executescript` would end the transaction."""
    pending = ""
    for piece in re.split("(?<=;)", script):
        pending += piece
        if sqlite3.complete_statement(pending):
            yield pending
            pending = ""
    if re.sub(r"--[^\n]*|/\*.*?\*/", "", pending, flags=re.DOTALL).strip():
        raise ValueError(f"a statement has no end: {pending.strip()[:60]}")


def guard_logs(connection: sqlite3.Connection) -> None:
    """The triggers, index and view of rows that stand, of every log table; made where they are missing."""
    for table in log_tables(connection):
        for statement in _log_guards(table):
            connection.execute(statement)


def create_views(connection: sqlite3.Connection) -> None:
    """The views of db/views, each after the views it needs; made again where they exist."""
    sources = view_sources()
    for name in _view_order(sources):
        connection.execute(f'drop view if exists "{name}"')
        connection.execute(sources[name])
        connection.execute(f'select * from "{name}" limit 0')


def log_tables(connection: sqlite3.Connection) -> list[str]:
    """Names of the append-only tables: those with a request_id."""
    rows = connection.execute(
        "select m.name from sqlite_master as m join pragma_table_info(m.name) as c"
        " where m.type = 'table' and c.name = 'request_id' order by m.rowid"
    )
    return [name for (name,) in rows]


def view_sources() -> dict[str, str]:
    """View name -> its `create view` statement."""
    folder = _here().joinpath("views")
    return {f.name[:-4]: f.read_text("utf-8") for f in folder.iterdir() if f.name.endswith(".sql")}


def needs_of(source: str) -> list[str]:
    """Tables and views named in a view's `needs:` line."""
    found = re.search(r"needs: ([^.]*)\.", source)
    return [] if found is None else [name.strip() for name in found.group(1).split(",")]


def _view_order(sources: dict[str, str]) -> list[str]:
    needs = {name: [n for n in needs_of(text) if n in sources] for name, text in sources.items()}
    return list(TopologicalSorter(needs).static_order())


def _log_guards(table: str) -> tuple[str, ...]:
    """Triggers that refuse change and removal of what people wrote, and the view of the rows that count."""
    refusals = (("keep", "update", "changed"), ("stay", "delete", "removed"))
    return (
        f"create index if not exists {table}_voids on {table} (voids) where voids is not null",
        *(
            f"create trigger if not exists {table}_{name} before {event} on {table} when old.origin <> 'file' begin"
            f" select raise(abort, 'rows of {table} are never {done}: write a new row that voids the old one'); end"
            for name, event, done in refusals
        ),
        f"drop view if exists standing_{table}",
        f"""create view standing_{table} as
    -- Rows of {table} that count: neither taken back nor corrected by a later row. grain: id. needs: {table}.
    select entry.* from {table} as entry
    where entry.stands = 1 and not exists (select 1 from {table} as later where later.voids = entry.id)""",
    )


def _here() -> Traversable:
    return files("stillroom.db")
