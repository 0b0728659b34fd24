"""What a change of the kitchen's records did to what its dishes declare: kept, and told on the first page."""

from __future__ import annotations

import sqlite3
import uuid
from collections.abc import Collection, Mapping
from datetime import datetime

from stillroom.db.allergen_facts import ANY, NOT_DECLARED, NOT_REVIEWED, dish_declarations
from stillroom.db.kitchen import day_of, settings

NEW, REVIEWED = "new dish", "reviewed"
Declared = Mapping[tuple[str, str], str]
DECLARED_BY = """
    select distinct p.name from explosion as e join products as p on p.item_id = e.item_id and p.is_active = 1
    join product_allergens as a on a.product_id = p.id where e.recipe_id = ? and e.amount > 0 and a.allergen_id = ?
"""
UNREAD_BEHIND = """
    select distinct u.name from explosion as e join unread_label as u on u.item_id = e.item_id
    where e.recipe_id = ? and e.amount > 0
"""


def record_changes(
    connection: sqlite3.Connection, before: Declared, old: Collection[str], now: str, by: str = "load",
    new: Collection[str] = (),
) -> int:  # fmt: skip
    """Keeps every dish and allergen whose declaration has changed; returns how many dishes there are of them.

    Args:
        before: declarations before the change (`dish_declarations`).
        old: dishes that were there; any other changes nothing by coming, unless it is in `new`.
        now: UTC instant.
        by: 'load', or the name of whoever changed it on the web.
        new: dishes that have just come onto the menu: all that they declare is told.
    """
    after = dish_declarations(connection)
    names = dict(connection.execute("select id, name from recipes where kind = 'dish'"))
    on = day_of(settings(connection), datetime.fromisoformat(now)).isoformat()
    changed = set()
    for dish, allergen in sorted(before.keys() | after.keys()):
        was = NEW if dish in new else _said(before, dish, allergen)
        is_now = _said(after, dish, allergen)
        if was == is_now or dish not in {*old, *new} or dish not in names:
            continue
        changed.add(dish)
        because = _because(connection, dish, allergen, is_now)
        connection.execute(
            "insert into allergen_changes (request_id, recorded_at, actor, origin, dish_id, dish_name, allergen_id,"
            " was, now, because, changed_on) values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (uuid.uuid4().hex, now, by, "load" if by == "load" else "web", dish, names[dish], allergen, was, is_now,
             because, on),
        )  # fmt: skip
    return len(changed)


def _said(declared: Declared, dish: str, allergen: str) -> str:
    """What a dish says of an allergen, or of ANY: all labels read or not. What is unread is never 'not declared'."""
    silent = REVIEWED if allergen == ANY else declared.get((dish, ANY), NOT_DECLARED)
    return declared.get((dish, allergen), silent)


def _because(connection: sqlite3.Connection, dish: str, allergen: str, is_now: str) -> str:
    """The products behind a declaration, or the labels that nobody has read."""
    if is_now == REVIEWED:
        return "every label behind it has been read"
    if is_now == NOT_REVIEWED:
        unread = _names(connection, UNREAD_BEHIND, dish)
        return unread if allergen == ANY else f"no product declares it any more; not read: {unread}"
    return _names(connection, DECLARED_BY, dish, allergen) or "no product declares it any more"


def _names(connection: sqlite3.Connection, sql: str, *values: str) -> str:
    return "; ".join(name for (name,) in connection.execute(sql, values))
