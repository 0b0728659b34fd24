"""A copy of a kitchen's file that is known to be good, made while people read and write; and the way back."""

from __future__ import annotations

import glob
import hashlib
import os
import re
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from urllib.parse import quote

from stillroom.db import accounts
from stillroom.db.connect import open_kitchen, transaction
from stillroom.db.faults import DAMAGED, fault_of, mend
from stillroom.db.log import instant

Tell = Callable[[str], None]
PAGES = 2048  # copied at a time: readers and writers get their turn between, and progress is told
SWIFT = ("mmap_size = 1073741824", "cache_size = -64000")  # a check jumps all over the file
STAMP = "%Y-%m-%dT%H-%M-%SZ"
UNFINISHED = ".unfinished"


class BackupFailed(Exception):
    """No copy was made, or it is not whole; the kitchen's own file is untouched. The message says why."""


@dataclass(frozen=True)
class Copy:
    """A verified copy: where, rows in all its tables, its size and SHA-256."""

    path: Path
    made_at: str
    rows: int
    bytes: int
    sha256: str


def silent(_: str) -> None:
    """Progress that nobody watches."""


def backup(database: Path, folder: Path, keep: int = 0, tell: Tell = silent, now: datetime | None = None) -> Copy:
    """A consistent, verified copy in `folder`, its SHA-256 in a file beside it, told in the kitchen's table `backups`.

    The accounts, which have a file of their own, are copied beside it.

    Args:
        keep: how many of this kitchen's copies in the folder stay, the new one among them; 0: all.

    Raises:
        BackupFailed: no room, no such folder, a damaged file. Told in `backups` too, where that can be written.
    """
    moment = now or datetime.now(UTC)
    target = folder / f"{database.stem}-{moment.strftime(STAMP)}.db"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _sweep(database, folder, moment)
        copy_accounts(database, target)
        copy = copy_checked(database, target, tell, moment)
    except (OSError, sqlite3.Error) as error:
        hint = f"; the kitchen's file is damaged: {mend(database)}" if fault_of(error) is DAMAGED else ""
        problem = f"no backup was made in {folder}: {words_of(error)}{hint}"
        _note(database, (instant(moment), str(target), None, None, "", problem))
        raise BackupFailed(problem) from error
    except BackupFailed as error:
        problem = f"{error}; where the kitchen's own file is damaged: {mend(database)}"
        _note(database, (instant(moment), str(target), None, None, "", problem))
        raise BackupFailed(problem) from error
    _note(database, (copy.made_at, str(copy.path.absolute()), copy.rows, copy.bytes, copy.sha256, ""))
    if keep > 0:
        _thin(database, folder, keep)
    return copy


def copy_checked(database: Path, target: Path, tell: Tell = silent, now: datetime | None = None) -> Copy:
    """The copy itself: under another name until it is known to be whole, then under its own.

    Raises:
        BackupFailed: it is not what it was copied from, or is damaged.
        OSError, sqlite3.Error: it could not be read or written.
    """
    unfinished = target.with_name(target.name + UNFINISHED)
    counts = whole_copy(database, unfinished, tell)
    try:
        digest = sha256_of(unfinished)
        os.replace(unfinished, target)
        beside(target).write_text(f"{digest}  {target.name}\n", "utf-8")
        sync(beside(target))
        sync(target.parent)
    except OSError:
        unfinished.unlink(missing_ok=True)
        raise
    return Copy(target, instant(now), sum(counts.values()), target.stat().st_size, digest)


def copy_accounts(database: Path, target: Path) -> bool:
    """Copies the accounts of a kitchen to beside another file, for their owner's eyes alone; whether there are any.

    Raises:
        BackupFailed: the copy is not whole.
        OSError, sqlite3.Error: it could not be read or written.
    """
    source, copy = accounts.beside(database), accounts.beside(target)
    if not source.exists():
        return False
    unfinished = copy.with_name(copy.name + UNFINISHED)
    unfinished.unlink(missing_ok=True)
    try:
        os.close(os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600))
        problem = problem_of(unfinished, _copy(source, unfinished, silent))
        if problem:
            raise BackupFailed(f"the copy of {source} is not whole: {problem}")
        sync(unfinished)
        os.replace(unfinished, copy)
    except BaseException:
        unfinished.unlink(missing_ok=True)
        raise
    return True


def whole_copy(database: Path, target: Path, tell: Tell = silent) -> dict[str, int]:
    """Copies and verifies; rows of each table. What is not whole does not stay.

    Raises:
        BackupFailed: it is not what it was copied from, or is damaged.
        OSError, sqlite3.Error: it could not be read or written.
    """
    target.unlink(missing_ok=True)
    try:
        counts = _copy(database, target, tell)
        tell("checking the copy")
        problem = problem_of(target, counts)
        if problem:
            raise BackupFailed(f"the copy of {database} is not whole: {problem}")
        sync(target)
    except BaseException:
        target.unlink(missing_ok=True)
        raise
    return counts


def _copy(database: Path, target: Path, tell: Tell) -> dict[str, int]:
    """Copies what the file holds at one moment, whatever is written meanwhile; rows of each table at that moment."""

    told = 0

    def progress(_: int, left: int, total: int) -> None:
        nonlocal told
        tenth = 10 * (total - left) // max(total, 1)
        if tenth > told:
            told = tenth
            tell(f"copied {told}0 %")

    uri = f"file:{quote(str(database.absolute()))}?mode=ro"
    with closing(sqlite3.connect(uri, uri=True, timeout=10, isolation_level=None)) as source:
        source.execute("begin")  # one moment for the copy and for the counts; a writer neither waits nor disturbs
        counts = row_counts(source)
        with closing(sqlite3.connect(target, isolation_level=None)) as copy:
            copy.execute("pragma synchronous = off")  # the whole file is forced to the disk at the end
            source.backup(copy, pages=PAGES, progress=progress, sleep=0)
            copy.execute("pragma journal_mode = delete")  # one file, nothing beside it
        source.execute("rollback")
    return counts


def row_counts(connection: sqlite3.Connection) -> dict[str, int]:
    """Rows of every table."""
    names = connection.execute("select name from sqlite_master where type = 'table' and name not like 'sqlite_%'")
    count = 'select count(*) from "{}"'
    return {name: connection.execute(count.format(name)).fetchone()[0] for (name,) in names.fetchall()}


def problem_of(path: Path, counts: dict[str, int] | None = None) -> str:
    """Why a file is not whole: SQLite's own check, its references, and the rows it should hold; '' where it is."""
    try:
        with closing(sqlite3.connect(f"file:{quote(str(path.absolute()))}?mode=ro", uri=True)) as connection:
            for pragma in SWIFT:
                connection.execute(f"pragma {pragma}")
            (said,) = connection.execute("pragma integrity_check(1)").fetchone()
            if said != "ok":
                return str(said)
            broken = connection.execute("pragma foreign_key_check").fetchone()
            if broken is not None:
                return f"a row of {broken[0]} names one in {broken[2]} that is not there"
            found = row_counts(connection)
    except sqlite3.DatabaseError as error:
        return words_of(error)
    differing = [name for name in found if counts is not None and found[name] != counts.get(name)]
    if differing or (counts is not None and found.keys() != counts.keys()):
        return f"its tables hold other numbers of rows ({', '.join(differing) or 'a table is missing'})"
    return ""


def beside(path: Path) -> Path:
    """Where the SHA-256 of a copy stands, in the form that `sha256sum -c` reads."""
    return path.with_name(path.name + ".sha256")


def sha256_of(path: Path) -> str:
    """SHA-256 of a file, hexadecimal."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def copies(database: Path, folder: Path) -> list[Path]:
    """This kitchen's copies in a folder, the oldest first."""
    pattern = re.compile(re.escape(database.stem) + r"-\d{4}-\d\d-\d\dT\d\d-\d\d-\d\dZ\.db")
    return sorted(path for path in folder.glob("*.db") if pattern.fullmatch(path.name))


def keep_before(path: Path, version: int) -> Path:
    """The copy that is kept beside an older file before it is brought up to today's tables."""
    stamp = datetime.now(UTC).strftime(STAMP)
    return copy_checked(path, path.with_name(f"{path.stem}-of-version-{version}-{stamp}.db")).path


def _thin(database: Path, folder: Path, keep: int) -> None:
    for old in copies(database, folder)[:-keep]:
        beside(old).unlink(missing_ok=True)
        accounts.beside(old).unlink(missing_ok=True)
        old.unlink()


def _sweep(database: Path, folder: Path, now: datetime) -> None:
    """Removes what a backup left that was cut short, by a power cut, more than a day ago."""
    for left in folder.glob(f"{glob.escape(database.stem)}-*{UNFINISHED}"):
        if now.timestamp() - left.stat().st_mtime > 86400:
            left.unlink()


def _note(database: Path, row: tuple[object, ...]) -> None:
    """Tells of a backup in the kitchen's own file; where it can't, the page sees that the last one is old."""
    try:
        with closing(open_kitchen(database)) as connection, transaction(connection):
            connection.execute(
                "insert into backups (made_at, path, rows, bytes, sha256, problem) values (?, ?, ?, ?, ?, ?)", row
            )
    except sqlite3.Error:
        return


def sync(path: Path) -> None:
    """Forces a file, or a folder's list of names, to the disk."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def words_of(error: Exception) -> str:
    """An error of the system's or SQLite's without numbers."""
    return getattr(error, "strerror", None) or str(error)
