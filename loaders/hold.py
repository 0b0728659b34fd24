"""Who is at a kitchen's file: servers and loads side by side, a restore only alone.

Two proofs that nobody else is there. Stillroom's own commands lock an empty file beside the database, and the system
takes that lock away with a process, however it ends. Any other program that has the file open is found by SQLite:
a file leaves write-ahead mode only while nobody else has it open.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

try:
    import fcntl
except ImportError:  # not a POSIX system: SQLite's own proof is what is left
    fcntl = None  # type: ignore[assignment]


class Held(Exception):
    """Somebody else is at the file; the message says what to do."""


@contextmanager
def held(database: Path, alone: bool = False) -> Iterator[None]:
    """Holds the file for as long as the block runs, with others or alone.

    Raises:
        Held: another holds it in a way that does not go together.
    """
    try:
        handle = os.open(lock_of(database), os.O_RDWR | os.O_CREAT, 0o644)
    except OSError:
        yield  # a folder that can't be written to: there is nothing to hold against
        return
    try:
        if fcntl is not None:
            _lock(handle, database, alone)
        yield
    finally:
        os.close(handle)


def lock_of(database: Path) -> Path:
    """The empty file that is locked; it stays, for removing it would let two commands lock two files of one name."""
    return database.with_name(database.name + ".held")


def _lock(handle: int, database: Path, alone: bool) -> None:
    try:
        fcntl.flock(handle, (fcntl.LOCK_EX if alone else fcntl.LOCK_SH) | fcntl.LOCK_NB)
    except BlockingIOError as error:
        if alone:
            raise Held(f"{database} is being served or loaded; end that first, nothing was changed") from error
        raise Held(f"{database} is being restored; try again in a moment") from error


def refuse_if_open(database: Path) -> None:
    """Stops where another program has the file open; a damaged file that can't be asked is passed over.

    Raises:
        Held: it has.
    """
    try:
        with closing(sqlite3.connect(database, timeout=0, isolation_level=None)) as connection:
            (mode,) = connection.execute("pragma journal_mode = delete").fetchone()
            connection.execute("begin exclusive")
            connection.execute("rollback")
    except sqlite3.OperationalError as error:
        if "locked" in str(error):
            raise Held(f"another program has {database} open; end it first, nothing was changed") from error
    except sqlite3.DatabaseError:
        return
    else:
        if mode == "wal":
            raise Held(f"another program has {database} open; end it first, nothing was changed")
