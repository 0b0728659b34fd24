"""States of the machine in words; faults of the program stay what they are."""

from __future__ import annotations

import errno
import sqlite3

import pytest
from stillroom.db.faults import fault_of


@pytest.mark.parametrize(
    ("error", "title"),
    [
        (sqlite3.OperationalError("database is locked"), "Busy"),
        (sqlite3.OperationalError("database or disk is full"), "No room"),
        (sqlite3.OperationalError("disk I/O error"), "Disk fault"),
        (sqlite3.OperationalError("attempt to write a readonly database"), "Read only"),
        (sqlite3.OperationalError("unable to open database file"), "Not there"),
        (sqlite3.DatabaseError("database disk image is malformed"), "Damaged"),
        (sqlite3.DatabaseError("file is not a database"), "Damaged"),
        (OSError(errno.ENOSPC, "No space left on device"), "No room"),
        (PermissionError(errno.EACCES, "Permission denied"), "Read only"),
    ],
)
def test_what_stands_in_the_way_is_said_in_words(error: Exception, title: str) -> None:
    """Each with what it is and what to do."""
    found = fault_of(error)
    assert found is not None and found.title == title
    assert found.what.endswith(".") and found.do.endswith(".")


@pytest.mark.parametrize("error", [
    sqlite3.OperationalError("no such table: items"), sqlite3.IntegrityError("FOREIGN KEY constraint failed: full"),
    sqlite3.ProgrammingError("locked"), FileNotFoundError(errno.ENOENT, "No such file"), ValueError("locked"),
])  # fmt: skip
def test_faults_of_the_program_are_not_hidden(error: Exception) -> None:
    """They stay an error of the program with its trace."""
    assert fault_of(error) is None
