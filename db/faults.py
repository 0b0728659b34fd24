"""States of the machine that keep a kitchen's file from being read or written, in words; no faults of the program."""

from __future__ import annotations

import errno
import glob
import sqlite3
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Fault:
    """What stands in the way: a title, what it is, and what to do."""

    title: str
    what: str
    do: str


BUSY = Fault("Busy", "The file is being written by another.", "Try again in a moment.")
FULL = Fault("No room", "The disk is full.", "Make room, then do it again.")
READ_ONLY = Fault("Read only", "The kitchen's file may not be written to.", "Give this account the right to write it.")
DAMAGED = Fault(
    "Damaged",
    "The kitchen's file is damaged.",
    "Stop the server and put the last backup in its place: stillroom restore BACKUP.db --db KITCHEN.db.",
)
# What SQLite says, by a part of it.
_SAID = (
    ("locked", BUSY), ("full", FULL), ("readonly", READ_ONLY), ("malformed", DAMAGED), ("not a database", DAMAGED),
    ("unable to open", Fault("Not there", "The kitchen's file can't be opened.", "Look whether it is there.")),
    ("disk i/o", Fault("Disk fault", "The disk did not take it: it is full, or fails.", FULL.do)),
)  # fmt: skip
NOT_THE_MACHINE = (sqlite3.IntegrityError, sqlite3.ProgrammingError)
_NUMBERS = {
    errno.ENOSPC: FULL, errno.EDQUOT: FULL, errno.EFBIG: FULL, errno.EROFS: READ_ONLY, errno.EACCES: READ_ONLY,
    errno.EPERM: READ_ONLY,
}  # fmt: skip


def mend(database: Path) -> str:
    """What brings a damaged kitchen back, to be typed as it stands where a nightly backup lies beside it."""
    nights = sorted((database.parent / "backups").glob(f"{glob.escape(database.stem)}-????-??-??T??-??-??Z.db"))
    return f"stillroom restore {nights[-1] if nights else 'BACKUP.db'} --db {database}"


def fault_of(error: BaseException) -> Fault | None:
    """The state of the machine behind an error; None where the fault is the program's own."""
    if isinstance(error, OSError):
        return _NUMBERS.get(error.errno or 0)
    if not isinstance(error, sqlite3.DatabaseError) or isinstance(error, NOT_THE_MACHINE):
        return None
    said = str(error).lower()
    return next((fault for part, fault in _SAID if part in said), None)
