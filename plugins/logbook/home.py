"""What of the logbook stands on the first page, and /log/dates: what cools, what ends, which tags are kept."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from stillroom.db.stock import read_stock
from stillroom.plugins.core.format import amount, near_day
from stillroom.plugins.core.pages import page, query
from stillroom.plugins.core.parts import Offer, offer
from stillroom.plugins.logbook.book import ask, now_of, pans, today_of
from stillroom.plugins.logbook.forms import FORMS
from stillroom.plugins.logbook.watch import Cooling, Due, Kept, cooling, due, forgotten, tags

DOORS = ("probe", "cooling", "hold", "delivery", "count", "batch", "short")
QUICK = 3
SHOWN = 8
TAGS_SINCE = timedelta(days=400)


@dataclass(frozen=True)
class Doors:
    """Doors to the forms, and the things that were probed last: one tap opens the form, the next writes it down."""

    forms: Sequence[tuple[str, str]]
    probes: Sequence[tuple[str, str]]

    def as_json(self) -> list[str]:
        return [f"/log/{slug}" for slug, _ in self.forms]


def doors(connection: sqlite3.Connection, subject: str, role: str) -> Doors:
    rows = ask(connection, "probed_last", most=QUICK)
    return Doors([(slug, FORMS[slug].title) for slug in DOORS], list(rows))


@dataclass(frozen=True)
class Watched:
    """What runs out of time. due: with its day in words and how much."""

    cooling: Sequence[Cooling]
    due: Sequence[Due]
    today: date
    units: str
    tags: Sequence[Kept] = ()
    forgotten: Sequence[Kept] = ()
    clock: str = ""
    is_whole: bool = False

    def day(self, one: Due) -> str:
        return near_day(one.last_on, self.today)

    def amount(self, one: Due) -> str:
        return amount(one.quantity, one.unit, self.units)

    def as_json(self) -> dict[str, Any]:
        return {
            "cooling": [vars(one) for one in self.cooling],
            "due": [vars(one) | {"quantity": str(float(one.quantity))} for one in self.due],
            "tags": [vars(one) for one in self.tags], "tags without a day": [one.lot_code for one in self.forgotten],
        }  # fmt: skip


def watched(connection: sqlite3.Connection, subject: str, role: str) -> Watched | None:
    found = read_watched(connection, now_of(connection))
    return found if found.cooling or found.due or found.forgotten else None


def read_watched(connection: sqlite3.Connection, now: datetime) -> Watched:
    """Pans, last days and tags as they stand now."""
    said, today = today_of(connection, now)
    kept = tags(ask(connection, "tags", since=(today - TAGS_SINCE).isoformat()), said["shellfish tags"], today)
    return Watched(
        cooling(pans(connection, now), now, said["time zone"]), _due(connection, today), today, said["units"], kept,
        forgotten(kept, today), said["shellfish tags"],
    )  # fmt: skip


_FOUND: dict[tuple[Any, ...], list[Due]] = {}
KEPT_ANSWERS = 8


def _due(connection: sqlite3.Connection, today: date) -> list[Due]:
    """`read_due`, reckoned again only when a log that it depends on has grown, or a load has come."""
    (path,) = connection.execute("select file from pragma_database_list where name = 'main'").fetchone()
    key = (path, today, *ask(connection, "stamp")[0])
    if key not in _FOUND or not path:
        if len(_FOUND) >= KEPT_ANSWERS:
            _FOUND.clear()
        _FOUND[key] = read_due(connection, today)
    return _FOUND[key]


def read_due(connection: sqlite3.Connection, today: date) -> list[Due]:
    """What is still on hand and ends today or tomorrow, and what was left yesterday on its last day."""
    yesterday, tomorrow = (today + timedelta(days=d) for d in (-1, 1))
    rows = ask(connection, "ending", first=yesterday.isoformat(), last=tomorrow.isoformat())
    names = {recipe: (name, unit) for recipe, name, unit, _, _ in rows}
    codes = {batch: lot for _, _, _, batch, lot in rows}
    past = {recipe: stock.lots for recipe, stock in read_stock(connection, names, yesterday.isoformat()).items()}
    left = due(past, names, codes, yesterday, today)
    now = {recipe: stock.lots for recipe, stock in read_stock(connection, names, today.isoformat()).items()}
    return left + due(now, names, codes, tomorrow, today)


@page("logbook/dates.html", needs="log")
async def dates(datasette: Any, request: Any) -> Watched:
    from dataclasses import replace

    return await query(datasette, lambda c: replace(read_watched(c, now_of(c)), is_whole=True))


offer(Offer("home", "write", "log", "logbook/doors.html", doors, 1))
offer(Offer("home", "watch", "log", "logbook/watch.html", watched, 2))
