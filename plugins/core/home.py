"""The first page: what needs attention today."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from datasette.utils.asgi import Response

from stillroom.db.connect import write
from stillroom.db.kitchen import settings, today as kitchen_day
from stillroom.plugins.core.auth import DATABASE, decide, role_of
from stillroom.plugins.core.pages import page, query

CHANGES = """
select c.id, c.dish_id, c.dish_name, c.allergen_id, a.name, c.was, c.now, c.because, c.changed_on
from allergen_changes as c left join allergens as a on a.id = c.allergen_id
where c.id not in (select change_id from standing_change_reads) order by c.id desc limit 50
"""
UNREAD = """
select i.id, i.name, count(distinct p.id), count(distinct e.recipe_id)
from products as p join items as i on i.id = p.item_id
join explosion as e on e.item_id = i.id and e.amount > 0 join recipes as r on r.id = e.recipe_id and r.kind = 'dish'
where p.is_active = 1 and p.reviewed_on is null and r.status = 'active'
  and coalesce(r.from_on, '0') <= :day and coalesce(r.to_on, '9') >= :day
group by i.id order by count(distinct e.recipe_id) desc, i.name
"""
SHORT = """
select coalesce(s.item_id, s.recipe_id), coalesce(i.name, r.name), s.state, s.expected_on, s.item_id is not null
from standing_shortages as s left join items as i on i.id = s.item_id left join recipes as r on r.id = s.recipe_id
where s.id in (select max(id) from standing_shortages group by item_id, recipe_id) and s.state <> 'back' order by 2
"""


@dataclass(frozen=True)
class Today:
    """What the kitchen should look at first."""

    kitchen: str
    day: str
    changes: list[dict[str, Any]]
    unread: list[dict[str, Any]]
    short: list[dict[str, Any]]
    dishes: int
    warnings: int
    may_read: bool


def _rows(connection: sqlite3.Connection, sql: str, names: str, **values: Any) -> list[dict[str, Any]]:
    return [dict(zip(names.split(), row, strict=True)) for row in connection.execute(sql, values)]


@page("core/today.html", needs="home")
async def today(datasette: Any, request: Any) -> Today:
    may_read = decide(role_of(request.actor), "read-change")

    def ask(connection: sqlite3.Connection) -> Today:
        day = kitchen_day(connection).isoformat()
        (dishes,) = connection.execute("select count(*) from recipes where kind = 'dish'").fetchone()
        (warnings,) = connection.execute("select count(*) from warnings").fetchone()
        return Today(
            settings(connection)["name"], day, _rows(connection, CHANGES, "id dish_id dish allergen_id allergen was now because on"),
            _rows(connection, UNREAD, "id name products dishes", day=day), _rows(connection, SHORT, "id name state expected is_item"),
            dishes, warnings, may_read,
        )  # fmt: skip

    return await query(datasette, ask)


@page("core/plain.html", needs="read-change")
async def read_change(datasette: Any, request: Any) -> Response:
    """A chef has read an allergen change: one row, once, however often the button is tapped."""
    if request.method != "POST":
        return Response.redirect("/")
    form = await request.post_vars()
    change = form.get("change", "")
    if change.isdigit() and len(change) < 12:
        row = (f"read-{change}", datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"), role_of(request.actor), int(change))

        def insert(connection: sqlite3.Connection) -> None:
            connection.execute(
                "insert or ignore into change_reads (request_id, recorded_at, actor, origin, change_id) values (?, ?, ?, 'web', ?)", row
            )

        await write(datasette.get_database(DATABASE), insert)
    return Response.redirect("/")
