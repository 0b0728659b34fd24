"""Putting a copy in the place of a kitchen's file: checked first, the file that stood there kept."""

from __future__ import annotations

import os
import shutil
import sqlite3
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from stillroom.db import accounts
from stillroom.db.migrate import NotAKitchen, version_of
from stillroom.loaders.backup import (
    STAMP,
    UNFINISHED,
    BackupFailed,
    Tell,
    beside,
    copy_accounts,
    problem_of,
    sha256_of,
    silent,
    sync,
    whole_copy,
    words_of,
)
from stillroom.loaders.hold import held, refuse_if_open


@dataclass(frozen=True)
class Restored:
    """What a restore came to.

    Attributes:
        rows: in all tables now.
        kept: where the old file is; None: there was none.
        has_hash: a hash stood beside the copy, and agreed.
        has_accounts: there were no accounts, and those of the copy were brought back.
    """

    rows: int
    kept: Path | None
    has_hash: bool
    has_accounts: bool


class NotRestored(Exception):
    """The copy is not to be trusted, or there is no room; the kitchen's file is untouched. The message says why."""


def restore(copy: Path, database: Path, tell: Tell = silent, now: datetime | None = None) -> Restored:
    """Replaces a kitchen's file by a copy of it. Accounts that are there stay: an old copy would let people in again.

    Raises:
        NotRestored: the copy is damaged, is not what its SHA-256 says, or could not be read or written.
        NotAKitchen: it is another program's, or newer than this program.
        Held: a server or another program has the file open.
    """
    if not copy.is_file():
        raise NotRestored(f"there is no file {copy}")
    if database.exists() and copy.samefile(database):
        raise NotRestored(f"{copy} is the kitchen's file itself")
    has_hash = _check(copy, tell)
    database = database.resolve()  # behind a link, so that the link stays one
    database.parent.mkdir(parents=True, exist_ok=True)
    with held(database, alone=True):
        if database.exists():
            refuse_if_open(database)
        fresh = database.with_name(database.name + UNFINISHED)
        try:
            counts = whole_copy(copy, fresh, tell)
            kept = _set_aside(database, now or datetime.now(UTC))
            os.replace(fresh, database)
            has_accounts = not accounts.beside(database).exists() and copy_accounts(copy, database)
            sync(database.parent)
        except (OSError, sqlite3.Error, BackupFailed) as error:
            fresh.unlink(missing_ok=True)
            raise NotRestored(f"{copy} could not be put in place: {words_of(error)}") from error
    return Restored(sum(counts.values()), kept, has_hash, has_accounts)


def _check(copy: Path, tell: Tell) -> bool:
    """Whether a hash stands beside the copy, and it is the copy's; the copy itself is whole and a kitchen's."""
    tell("checking the copy")
    try:
        has_hash = beside(copy).exists()
        if has_hash and beside(copy).read_text("utf-8", "replace").split(" ")[0].strip() != sha256_of(copy):
            raise NotRestored(f"{copy} is not what it once was: its SHA-256 is not the one in {beside(copy).name}")
    except OSError as error:
        raise NotRestored(f"{copy} can't be read: {words_of(error)}") from error
    if _version(copy) == 0:
        raise NotRestored(f"{copy} is empty")
    problem = problem_of(copy)
    if problem:
        raise NotRestored(f"{copy} is damaged: {problem}")
    return has_hash


def _version(copy: Path) -> int:
    """The version of a copy; of a damaged one the words are not those of a kitchen's file that a copy would mend."""
    try:
        return version_of(copy)
    except NotAKitchen as error:
        if isinstance(error.__cause__, sqlite3.DatabaseError):
            raise NotRestored(f"{copy} is no copy that can be used: {error.__cause__}. Take another one") from error
        raise


def _set_aside(database: Path, now: datetime) -> Path | None:
    """Gives the old file a second name, byte for byte, with what lies beside it where it could not be closed."""
    if not database.exists():
        return None
    kept = database.with_name(f"{database.stem}-before-restore-{now.strftime(STAMP)}.db")
    for ending in ("-wal", "-shm"):  # only a damaged file still has them here
        left = database.with_name(database.name + ending)
        if left.exists():
            os.replace(left, kept.with_name(kept.name + ending))
    try:
        os.link(database, kept)
    except OSError:  # a disk that knows no second names
        shutil.copy2(database, kept)
        sync(kept)
    sync(database.parent)
    return kept
