"""The first page: what needs attention today."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from datasette.utils.asgi import Response
from stillroom.db.connect import write
from stillroom.db.kitchen import settings
from stillroom.db.kitchen import today as kitchen_day
from stillroom.db.log import instant
from stillroom.db.named_sql import load
from stillroom.db.number import whole
from stillroom.plugins.core import kept
from stillroom.plugins.core.auth import DATABASE, decide, role_of
from stillroom.plugins.core.compute import Late, late_by_supplier
from stillroom.plugins.core.forms import posted
from stillroom.plugins.core.pages import page, plain, query
from stillroom.plugins.core.parts import offer
from stillroom.plugins.core.sign import writer

LATE_SPAN = timedelta(days=7)

offer(kept.PART)


@dataclass(frozen=True)
class Today:
    """What the kitchen should look at first. late is None for those who don't see suppliers."""

    kitchen: str
    day: str
    changes: list[dict[str, Any]]
    unread: list[dict[str, Any]]
    short: list[dict[str, Any]]
    late: list[Late] | None
    dishes: int
    warnings: int
    may: dict[str, bool]


def _rows(connection: sqlite3.Connection, name: str, names: str, **values: Any) -> list[dict[str, Any]]:
    found = connection.execute(load("stillroom.plugins.core")[name], values)
    return [dict(zip(names.split(), row, strict=True)) for row in found]


@page("core/today.html", needs="home", parts="home")
async def today(datasette: Any, request: Any) -> Today:
    role = role_of(request.actor)
    may = {action: decide(role, action) for action in ("read-change", "short", "suppliers", "reviews")}
    may["tables"] = decide(role, "view-database", DATABASE)
    return await query(datasette, lambda connection: _today(connection, may))


def _today(connection: sqlite3.Connection, may: dict[str, bool]) -> Today:
    on = kitchen_day(connection)
    day, since = on.isoformat(), (on - LATE_SPAN).isoformat()
    (dishes,) = connection.execute("select count(*) from recipes where kind = 'dish'").fetchone()
    (warnings,) = connection.execute("select count(*) from warnings").fetchone()
    came_late = connection.execute(load("stillroom.plugins.core")["late"], {"since": since, "day": day})
    late = late_by_supplier(came_late) if may["suppliers"] else None
    return Today(
        settings(connection)["name"], day,
        _rows(connection, "changes", "id dish_id dish allergen_id allergen was now because on"),
        _rows(connection, "unread", "id name labels dishes has_no_product", day=day),
        _rows(connection, "short", "id name state expected is_item"),
        late, dishes, warnings, may,
    )  # fmt: skip


@page("core/plain.html", needs="read-change", methods=("POST",))
async def read_change(datasette: Any, request: Any) -> Response:
    """A chef has read an allergen change: one row, once, however often the button is tapped."""
    form = await posted(request)
    change = whole(form.get("change", ""))
    if change is not None:
        signed = await writer(datasette, request, form)
        if isinstance(signed, str):
            return await plain(datasette, request, 403, "Not written", signed)
        row = {"request": f"read-{change}", "now": instant(), "actor": signed.name, "change": change}
        await write(datasette.get_database(DATABASE), lambda connection: _mark_read(connection, row))
    return Response.redirect("/", status=303)


def _mark_read(connection: sqlite3.Connection, row: dict[str, Any]) -> None:
    connection.execute(
        "insert or ignore into change_reads (request_id, recorded_at, actor, origin, change_id)"
        " select :request, :now, :actor, 'web', id from allergen_changes where id = :change", row,
    )  # fmt: skip
