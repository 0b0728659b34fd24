"""Opening the kitchen's file with the settings every reader and writer shares, and the only way to write."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from time import monotonic
from typing import Any, TypeVar

T = TypeVar("T")

BUSY_MS = 10_000
QUEUED_S = 0.5  # s in the queue that count
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
        connection.commit()  # may fail as well: a full disk is found out here
    except BaseException:
        connection.rollback()
        raise


@contextmanager
def _patience(connection: sqlite3.Connection, waited_s: float) -> Iterator[None]:
    """Waits for the lock only for what is left of the connection's own patience."""
    if waited_s < QUEUED_S:
        yield
        return
    (whole,) = connection.execute("pragma busy_timeout").fetchone()
    connection.execute(f"pragma busy_timeout = {max(1, whole - int(1000 * waited_s))}")
    try:
        yield
    finally:
        connection.execute(f"pragma busy_timeout = {whole}")


async def write(database: Any, work: Callable[[sqlite3.Connection], T]) -> T:
    """What `work` returns, run as one transaction on Datasette's write thread of `database`.

    Datasette 0.65 leaves the transaction of a function that raises open: the lock stays, and the next writer commits
    the half-done work. Every write from the web goes through here. All writes queue behind one thread, so the time in
    the queue counts: whoever has waited BUSY_MS behind others is told so at once, and does not wait that long again.

    Raises:
        sqlite3.OperationalError: another writer held the file longer than BUSY_MS, or the disk is full.
    """
    asked = monotonic()

    def run(connection: sqlite3.Connection) -> T:
        with _patience(connection, monotonic() - asked), transaction(connection):
            return work(connection)

    result: T = await database.execute_write_fn(run)
    return result
