"""Opening the kitchen's file with the settings every reader and writer shares, and the only way to write."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeVar

T = TypeVar("T")

BUSY_MS = 10_000
PRAGMAS = (
    "synchronous=FULL",
    "foreign_keys=ON",
    f"busy_timeout={BUSY_MS}",
    "trusted_schema=OFF",
    "mmap_size=268435456",
)


def open_kitchen(path: Path) -> sqlite3.Connection:
    """A connection in autocommit mode on a file that readers may use while it is written (WAL)."""
    connection = sqlite3.connect(path, timeout=BUSY_MS / 1000, isolation_level=None)
    connection.execute("pragma journal_mode=WAL")
    tune(connection)
    return connection


def tune(connection: sqlite3.Connection) -> None:
    """Settings for any connection, Datasette's own included: foreign keys are off there by default."""
    for pragma in PRAGMAS:
        connection.execute(f"pragma {pragma}")


@contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[sqlite3.Connection]:
    """All or nothing: takes the write lock at once, commits at the end, rolls back on any error."""
    connection.execute("begin immediate")
    try:
        yield connection
    except BaseException:
        connection.rollback()
        raise
    connection.commit()


async def write(database: Any, work: Callable[[sqlite3.Connection], T]) -> T:
    """What `work` returns, run as one transaction on Datasette's write thread of `database`.

    Datasette 0.65 leaves the transaction of a function that raises open: the lock stays, and the next writer commits
    the half-done work. Every write from the web goes through here.

    Raises:
        sqlite3.OperationalError: another writer held the file longer than BUSY_MS.
    """

    def run(connection: sqlite3.Connection) -> T:
        with transaction(connection):
            return work(connection)

    result: T = await database.execute_write_fn(run)
    return result
