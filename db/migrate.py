"""Bringing an older kitchen's file up to today's tables: numbered steps, one transaction, a copy kept first.

db/build.py is the truth for a new file. A change of tables is written twice: there, and as statements in
`migrations/NNNN.sql`, where NNNN is the version that a file has after it. A test holds the two together. Views and the
guards of the logs are made anew after the steps, so a migration names tables and indexes only.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path
from urllib.parse import quote

from stillroom.db import search_index
from stillroom.db.build import VERSION, create_views, guard_logs, statements
from stillroom.db.connect import open_kitchen, transaction
from stillroom.db.faults import DAMAGED, fault_of, mend

OURS = {"kitchen", "loads", "items", "explosion"}  # tables that every version has


class NotAKitchen(Exception):
    """The database named is something else, is damaged, or was made by a newer stillroom. The message says which."""


def version_of(path: Path) -> int:
    """The version of a kitchen's file; 0 where there is no file yet, or an empty one. Changes nothing.

    Raises:
        NotAKitchen: it is something else, is damaged, or is newer than this program.
    """
    if not path.exists() or path.stat().st_size == 0:
        return 0
    connection: sqlite3.Connection | None = None
    try:
        connection = sqlite3.connect(f"file:{quote(str(path))}?mode=ro", uri=True, timeout=10)
        (version,) = connection.execute("pragma user_version").fetchone()
        tables = {name for (name,) in connection.execute("select name from sqlite_master where type = 'table'")}
    except sqlite3.DatabaseError as error:
        hint = f". If it is your kitchen's, it is damaged: {mend(path)}" if fault_of(error) is DAMAGED else ""
        raise NotAKitchen(f"{path} can't be opened as a kitchen's database: {error}{hint}") from error
    finally:
        if connection is not None:
            connection.close()
    return _checked_version(path, int(version), tables)


def _checked_version(path: Path, version: int, tables: set[str]) -> int:
    if version == 0 and not tables:
        return 0
    if version < 1 or not tables >= OURS:
        raise NotAKitchen(f"{path} is a database, but not a kitchen's; nothing was changed")
    if version > VERSION:
        raise NotAKitchen(
            f"{path} was made by a newer stillroom: it is of version {version}, this program knows {VERSION}."
            " Nothing was changed; install the newer stillroom"
        )
    return version


def bring_up(path: Path, keep: Callable[[Path, int], object]) -> int:
    """Brings an older file up to VERSION in one transaction; returns the version it had.

    Args:
        path: the kitchen's file; one that is not there, or is up to date, is left as it is.
        keep: makes a copy of it first, from (path, its version); what it raises ends the work before anything changed.

    Raises:
        NotAKitchen: see `version_of`.
        sqlite3.DatabaseError: a step failed; the file is as it was.
    """
    version = version_of(path)
    if version in (0, VERSION):
        return version
    keep(path, version)
    connection = open_kitchen(path)
    try:
        upgrade(connection)
    finally:
        connection.close()
    return version


def upgrade(connection: sqlite3.Connection) -> None:
    """The steps from the file's version to VERSION; guards, views and the search index made anew; one transaction.

    Raises:
        sqlite3.IntegrityError: a row would name another that is not there.
    """
    connection.execute("pragma foreign_keys = off")  # a table that is made again would take its children along
    try:
        with transaction(connection):
            (version,) = connection.execute("pragma user_version").fetchone()
            for view in [name for (name,) in connection.execute("select name from sqlite_master where type = 'view'")]:
                connection.execute(f'drop view "{view}"')
            for number in range(version + 1, VERSION + 1):
                for statement in statements(step(number)):
                    connection.execute(statement)
            guard_logs(connection)
            create_views(connection)
            if connection.execute("select 1 from loads").fetchone():
                search_index.rebuild(connection)  # else what an older one did not know is not found until the next load
            broken = connection.execute("pragma foreign_key_check").fetchone()
            if broken is not None:
                raise sqlite3.IntegrityError(f"a row of {broken[0]} would name one in {broken[2]} that is not there")
            connection.execute(f"pragma user_version = {VERSION}")
    finally:
        connection.execute("pragma foreign_keys = on")


def step(number: int) -> str:
    """The statements that make a file of version `number` out of the one before."""
    return files("stillroom.db").joinpath("migrations", f"{number:04}.sql").read_text("utf-8")
