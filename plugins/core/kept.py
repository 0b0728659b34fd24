"""When the kitchen's file was last copied, for the first page: in words, with a warning where it is too long ago."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from stillroom.db.kitchen import settings
from stillroom.db.log import instant
from stillroom.plugins.core.format import near_day
from stillroom.plugins.core.parts import Offer

STALE = timedelta(hours=36)  # a night was missed, and half a day went by
AHEAD = timedelta(minutes=5)


@dataclass(frozen=True)
class LastBackup:
    """The last whole backup and the last failure since.

    Attributes:
        made_at: UTC instant of the last whole one; None: there is none.
        path: where it is.
        when: the same moment as people say it, by the kitchen's clock.
        warning: what is wrong, in words; '' where nothing is.
        problem: why the last try failed; '' where it did not.
    """

    made_at: str | None
    path: str
    when: str
    warning: str
    problem: str


def last_backup(connection: sqlite3.Connection, _subject: str = "", _role: str = "") -> LastBackup | None:
    """What the first page says of backups; None for a kitchen that was never filled."""
    (first,) = connection.execute("select min(loaded_at) from loads").fetchone()
    if first is None:
        return None
    tried = connection.execute("select made_at, path, problem from backups order by id desc limit 1000").fetchall()
    return said_of(tried, first, datetime.now(UTC), ZoneInfo(settings(connection)["time zone"]))


def said_of(tried: list[tuple[str, str, str]], first_load: str, now: datetime, zone: ZoneInfo) -> LastBackup:
    """The answer for backups tried, the newest first: (instant, path, problem)."""
    whole = next(((at, path) for at, path, problem in tried if not problem), None)
    problem = tried[0][2] if tried else ""
    since = whole[0] if whole else first_load
    warning = ""
    if problem:
        warning = "the last backup failed"
    elif since > instant(now + AHEAD):
        warning = "the clock of this machine was set back"
    elif since < instant(now - STALE):
        warning = f"no backup for {_long(now - datetime.fromisoformat(since))}"
    when = "" if whole is None else _when(whole[0], now, zone)
    return LastBackup(whole[0] if whole else None, whole[1] if whole else "", when, warning, problem)


def _when(at: str, now: datetime, zone: ZoneInfo) -> str:
    local = datetime.fromisoformat(at).astimezone(zone)
    return f"{near_day(local.date(), now.astimezone(zone).date())}, {local:%H:%M}"


def _long(span: timedelta) -> str:
    hours = int(span.total_seconds() // 3600)
    return f"{hours} hours" if hours < 96 else f"{hours // 24} days"


PART = Offer("home", "backup", "backups", "core/backup.html", last_backup, 95)
