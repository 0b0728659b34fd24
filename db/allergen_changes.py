"""What a change of the kitchen's records did to what its dishes declare: kept, and told on the first page."""

from __future__ import annotations

import sqlite3
import uuid
from collections.abc import Collection, Mapping

from stillroom.db.allergen_facts import NOT_DECLARED, dish_declarations

NEW = "new dish"
Declared = Mapping[tuple[str, str], str]


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
    changed = set()
    for dish, allergen in sorted(before.keys() | after.keys()):
        was = NEW if dish in new else before.get((dish, allergen), NOT_DECLARED)
        is_now = after.get((dish, allergen), NOT_DECLARED)
        if was == is_now or dish not in {*old, *new} or dish not in names:
            continue
        changed.add(dish)
        because = _because(connection, dish, allergen)
        connection.execute(
            "insert into allergen_changes (request_id, recorded_at, actor, origin, dish_id, dish_name, allergen_id,"
            " was, now, because, changed_on) values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (uuid.uuid4().hex, now, by, "load" if by == "load" else "web", dish, names[dish], allergen, was, is_now,
             because, now[:10]),
        )  # fmt: skip
    return len(changed)


def _because(connection: sqlite3.Connection, dish: str, allergen: str) -> str:
    """The products behind a declaration, or the products nobody has read."""
    condition = "p.reviewed_on is null" if allergen == "any" else "a.allergen_id = ?"
    found = connection.execute(
        "select distinct p.name from explosion as e join products as p on p.item_id = e.item_id and p.is_active = 1"
        " left join product_allergens as a on a.product_id = p.id"
        f" where e.recipe_id = ? and e.amount > 0 and {condition}",
        (dish,) if allergen == "any" else (dish, allergen),
    )
    return "; ".join(name for (name,) in found) or "no product declares it any more"
