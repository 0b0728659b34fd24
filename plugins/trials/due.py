"""A promotion comes into force on its day: looked at with the first request of a new day of the kitchen."""

from __future__ import annotations

import sqlite3
import sys
import time
from collections.abc import Awaitable, Callable
from datetime import date
from typing import Any

from stillroom.db.connect import write
from stillroom.db.kitchen import today
from stillroom.plugins.core.auth import DATABASE
from stillroom.plugins.core.pages import query
from stillroom.plugins.trials.promoting import bring_into_force

App = Callable[[dict[str, Any], Any, Any], Awaitable[None]]
LOOK_S = 60.0


def each_day(datasette: Any, app: App) -> App:
    """The application; before the first request of each day of the kitchen, promotions that are due come into force."""
    done: dict[str, Any] = {"day": None, "looked": float("-inf")}

    async def wrapped(scope: dict[str, Any], receive: Any, send: Any) -> None:
        if scope["type"] == "http" and time.monotonic() - done["looked"] > LOOK_S:
            done["looked"] = time.monotonic()
            await _look(datasette, done)
        await app(scope, receive, send)

    return wrapped


async def _look(datasette: Any, done: dict[str, Any]) -> None:
    """Brings into force what is due; a file that is busy or lacks an item is tried again in a minute."""
    if DATABASE not in datasette.databases:
        return
    try:
        day: date = await query(datasette, today)
        if day == done["day"]:
            return
        _, wrong = await write(datasette.get_database(DATABASE), bring_into_force)
        done["day"] = None if wrong else day
    except sqlite3.Error as error:
        _tell(error)
    else:
        for unread in wrong:
            _tell(unread)


def _tell(error: Exception) -> None:
    sys.stderr.write(f"stillroom: a promoted version did not come into force: {error}\n")
