"""Making a kitchen's database: tables, the triggers and views that every log table gets, and the named views."""

from __future__ import annotations

import re
import sqlite3
from graphlib import TopologicalSorter
from importlib.resources import files
from importlib.resources.abc import Traversable

SCHEMAS = ("schema_reference.sql", "schema_kitchen.sql", "schema_log.sql")
VERSION = 1  # pragma user_version; raised by a migration


def create(connection: sqlite3.Connection) -> None:
    """All tables, triggers and views on an empty database."""
    for name in SCHEMAS:
        connection.executescript(_here().joinpath(name).read_text("utf-8"))
    for table in log_tables(connection):
        connection.executescript(_log_guards(table))
    create_views(connection)
    connection.execute(f"pragma user_version = {VERSION}")


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


def _log_guards(table: str) -> str:
    """Triggers that refuse change and removal of what people wrote, and the view of the rows that count."""
    return f"""
    create index if not exists {table}_voids on {table} (voids) where voids is not null;
    create trigger if not exists {table}_keep before update on {table} when old.origin <> 'file'
    begin select raise(abort, 'rows of {table} are never changed: write a new row that voids the old one'); end;
    create trigger if not exists {table}_stay before delete on {table} when old.origin <> 'file'
    begin select raise(abort, 'rows of {table} are never removed: write a new row that voids the old one'); end;
    drop view if exists standing_{table};
    create view standing_{table} as
    -- Rows of {table} that count: neither taken back nor corrected by a later row. grain: id. needs: {table}.
    select entry.* from {table} as entry
    where entry.stands = 1 and not exists (select 1 from {table} as later where later.voids = entry.id);
    """


def _here() -> Traversable:
    return files("stillroom.db")
