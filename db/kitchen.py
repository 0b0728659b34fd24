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
    "ready before opening": "30 min",
    "today": "",
    "clock": "",
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


def moment(said: dict[str, str], now: datetime | None = None) -> datetime:
    """The instant it is in the kitchen [UTC]: now, or where a demonstration stands still, its day and its clock."""
    real = (now or datetime.now(UTC)).astimezone(UTC)
    if not said["today"]:
        return real
    zone = ZoneInfo(said["time zone"])
    clock = time.fromisoformat(said["clock"]) if said["clock"] else real.astimezone(zone).time()
    return at_clock(date.fromisoformat(said["today"]), clock.strftime("%H:%M"), said)


def at_clock(day: date, clock: str, said: dict[str, str]) -> datetime:
    """The instant of a clock time on a kitchen day [UTC]; before the day starts it is the next calendar day's.

    The hour that comes twice in autumn is the first of the two; the one that never was in spring is an hour on.
    """
    of_day = time.fromisoformat(clock)
    on = day if of_day >= time.fromisoformat(said["day starts"]) else day + timedelta(days=1)
    return datetime.combine(on, of_day, ZoneInfo(said["time zone"])).astimezone(UTC)
