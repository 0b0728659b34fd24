"""Putting promotions into force: the tables, what the dishes declare by them, and the stamp of the records."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from typing import Any

from stillroom.db.allergen_changes import record_changes
from stillroom.db.allergen_facts import dish_declarations
from stillroom.db.kitchen import today
from stillroom.db.log import append, instant
from stillroom.db.promotions import Unread, apply_due
from stillroom.db.search_index import rebuild

ON_THE_MENU = "select id from recipes where kind = 'dish' and status = 'active'"


def promote(connection: sqlite3.Connection, row: Mapping[str, Any]) -> list[str]:
    """Writes a promotion down and puts it into force where its day has come; ids of the dishes that changed.

    Raises:
        Unread: the version can't be read; nothing is written.
    """
    append(connection, "promotions", row)
    changed, stuck = bring_into_force(connection, str(row["actor"]))
    for error in stuck:
        if (error.promotion.dish_id, error.promotion.version) == (row["dish_id"], row["version"]):
            raise error
    return changed


def bring_into_force(connection: sqlite3.Connection, by: str = "promotion") -> tuple[list[str], list[Unread]]:
    """Makes the dishes what their promotions in force say; every change of what they declare is kept and told.

    Returns:
        The dishes that changed, and the versions that can't be read: they keep no other dish off the menu.
    """
    stuck: list[Unread] = []
    before = dish_declarations(connection)
    served = {dish for (dish,) in connection.execute(ON_THE_MENU)}
    now = instant()
    changed = apply_due(connection, today(connection), now, stuck)
    if changed:
        told = {dish for (dish,) in connection.execute(ON_THE_MENU)} - served
        record_changes(connection, before, served, now, by=by, new=told & set(changed))
        rebuild(connection)
        stamp(connection, changed, now)
    return changed, stuck


def stamp(connection: sqlite3.Connection, changed: list[str], now: str) -> None:
    """The records are of now: whatever was kept of an answer is made anew."""
    connection.execute(
        "insert into loads (loaded_at, source, rows, warnings) values (?, ?, ?,"
        " coalesce((select warnings from loads order by id desc limit 1), 0))",
        (now, f"promoted: {', '.join(changed)}", len(changed)),
    )
