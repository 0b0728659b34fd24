"""The kitchen's settings and its day."""

from __future__ import annotations

import sqlite3
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

DEFAULTS = {
    "name": "Kitchen",
    "regime": "US",
    "food code": "2022",
    "units": "US",
    "counts": "fractions",
    "currency": "USD",
    "decimal mark": ".",
    "date order": "ISO",
    "time zone": "UTC",
    "day starts": "04:00",
    "price basis": "last delivery",
    "average days": "28",
    "address": "",
    "shellfish tags": "last served",
    "breakdown tolerance": "2 %",
    "joint cost": "weight",
    "today": "",
}


def settings(connection: sqlite3.Connection) -> dict[str, str]:
    """Every setting of the kitchen, with the default where it says nothing."""
    said = dict(connection.execute("select key, value from kitchen where value <> ''").fetchall())
    return {**DEFAULTS, **said}


def today(connection: sqlite3.Connection, now: datetime | None = None) -> date:
    """The kitchen's day: it begins at `day starts`, so half past midnight still belongs to last night's service.

    A demonstration may stand still at the setting `today`.
    """
    return day_of(settings(connection), now)


def day_of(said: dict[str, str], now: datetime | None = None) -> date:
    """`today` for settings already read."""
    if said["today"]:
        return date.fromisoformat(said["today"])
    local = (now or datetime.now(UTC)).astimezone(ZoneInfo(said["time zone"]))
    begins = time.fromisoformat(said["day starts"])
    return local.date() if local.time() >= begins else local.date() - timedelta(days=1)
