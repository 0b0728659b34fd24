"""The commands that keep a kitchen's file: backup, restore and dump. Outcome to stdout, everything else to stderr."""

from __future__ import annotations

import argparse
import sys
import time

from stillroom.db.migrate import NotAKitchen, bring_up, version_of
from stillroom.loaders import backup as copier
from stillroom.loaders import restore as restorer
from stillroom.loaders.backup import BackupFailed, Tell
from stillroom.loaders.hold import Held
from stillroom.loaders.restore import NotRestored


def backup(arguments: argparse.Namespace, tell: Tell) -> int:
    """Makes a checked copy; 1 where none could be made."""
    begun, folder = time.monotonic(), arguments.to or arguments.db.parent / "backups"
    try:
        if version_of(arguments.db) == 0:
            return _refuse(f"there is no database {arguments.db}")
        copy = copier.backup(arguments.db, folder, arguments.keep, tell)
    except NotAKitchen as error:
        return _refuse(str(error))
    except BackupFailed as error:
        return _refuse(str(error), 1)
    taken = time.monotonic() - begun
    print(f"{copy.path}: {copy.rows:,} rows, {copy.bytes / 1e6:,.1f} MB, checked, in {taken:.1f} s")
    print(f"SHA-256 {copy.sha256}, also in {copier.beside(copy.path).name}")
    return 0


def restore(arguments: argparse.Namespace, tell: Tell) -> int:
    """Puts a copy in place; 1 where it is not to be trusted, 2 where the database can't be replaced now."""
    try:
        done = restorer.restore(arguments.file, arguments.db, tell)
    except (NotAKitchen, Held) as error:
        return _refuse(str(error))
    except NotRestored as error:
        return _refuse(f"{error}; nothing was changed", 1)
    print(f"{arguments.db}: restored from {arguments.file}, {done.rows:,} rows, checked")
    if not done.has_hash:
        print("No SHA-256 stands beside that file: it is whole, but nothing shows that it is what was once written")
    if done.has_accounts:
        print("The accounts were brought back with it: nobody had one here")
    if done.kept is not None:
        print(f"The file that stood there is kept as {done.kept}; what was written since the copy is in that one only")
    return 0


def dump(arguments: argparse.Namespace, tell: Tell) -> int:
    """Writes a kitchen out as files; 1 where they would not make it again."""
    from stillroom.loaders import dump as writer

    try:
        if version_of(arguments.db) == 0:
            return _refuse(f"there is no database {arguments.db}")
        bring_up(arguments.db, copier.keep_before)
        written = writer.dump(arguments.db, arguments.folder, tell)
    except NotAKitchen as error:
        return _refuse(str(error))
    except writer.NotDumped as error:
        return _refuse(f"{error}\n  Nothing was written.", 1)
    print(f"{arguments.folder}: {written.files} files, {written.log_rows:,} rows of logs; built again, it is the same")
    print(f"Accounts are not written out. Build it with: stillroom build {arguments.folder} --db NEW.db")
    return 0


def _refuse(words: str, code: int = 2) -> int:
    print(f"stillroom: {words}", file=sys.stderr)
    return code
