"""The backup that a running server makes by itself each night, when the kitchen's day turns."""

from __future__ import annotations

import sqlite3
import sys
import threading
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from pathlib import Path
from urllib.parse import quote
from zoneinfo import ZoneInfo

from stillroom.db.kitchen import settings
from stillroom.db.log import instant
from stillroom.loaders.backup import BackupFailed, backup

KEPT = 14
LOOK_S = 60.0  # s between two looks at the clock: a machine may sleep, and its clock be set
AGAIN = timedelta(hours=1)
AHEAD = timedelta(minutes=5)  # a backup later than this from now was made under a clock since set back


def last_turn(now: datetime, said: dict[str, str]) -> datetime:
    """The instant at which the kitchen's day last began, from its settings `day starts` and `time zone`."""
    local = now.astimezone(ZoneInfo(said["time zone"]))
    turn = datetime.combine(local.date(), time.fromisoformat(said["day starts"]), local.tzinfo)
    if turn > local:
        turn = datetime.combine(local.date() - timedelta(days=1), turn.timetz())
    return turn.astimezone(UTC)


def is_due(now: datetime, turn: datetime, first_load: str | None, tried: list[tuple[str, bool]]) -> bool:
    """Whether the night's backup is still to be made.

    Args:
        now: instant of asking.
        turn: instant at which the kitchen's day began.
        first_load: when the kitchen was first filled; None: never, there is nothing to keep.
        tried: (instant, whether it is whole) of the backups of late.
    """
    since, until = instant(turn), instant(now + AHEAD)
    if first_load is None or since <= first_load <= until:
        return False
    if any(is_whole and since <= at <= until for at, is_whole in tried):
        return False
    return not any(instant(now - AGAIN) < at <= until for at, is_whole in tried if not is_whole)


@dataclass
class Nightly:
    """Looks at the clock once a minute while the server runs. `end` stops it."""

    database: Path
    folder: Path
    keep: int = KEPT

    def __post_init__(self) -> None:
        self._end = threading.Event()
        self._thread = threading.Thread(target=self._run, name="nightly backup", daemon=True)

    def start(self) -> None:
        self._thread.start()

    def end(self) -> None:
        """Stops looking; a backup under way is finished."""
        self._end.set()
        self._thread.join()

    def _run(self) -> None:
        while not self._end.wait(LOOK_S):
            self.look()

    def look(self, now: datetime | None = None) -> bool:
        """Makes the night's backup if it is due; whether it tried. A failure is told, and tried again in an hour."""
        moment = now or datetime.now(UTC)
        try:
            if not self._due(moment):
                return False
            backup(self.database, self.folder, self.keep, now=moment)
        except (BackupFailed, sqlite3.Error) as error:
            sys.stderr.write(f"stillroom: {error}\n")
        return True

    def _due(self, now: datetime) -> bool:
        uri = f"file:{quote(str(self.database.absolute()))}?mode=ro"
        with closing(sqlite3.connect(uri, uri=True, timeout=10)) as connection:
            said = settings(connection)
            (first,) = connection.execute("select min(loaded_at) from loads").fetchone()
            late = "select made_at, problem = '' from backups order by id desc limit 100"
            tried = connection.execute(late).fetchall()
        return is_due(now, last_turn(now, said), first, [(at, bool(is_whole)) for at, is_whole in tried])
