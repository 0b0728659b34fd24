"""Datasette's own pages (tables, rows, prepared questions) in the house's frame: what their templates need besides."""

from __future__ import annotations

from collections.abc import Awaitable
from typing import Any

from datasette.utils import path_with_added_args
from stillroom.db.kitchen import today
from stillroom.plugins.core.auth import DATABASE
from stillroom.plugins.core.pages import framed, query

DRAWN = frozenset({"database", "table", "row"})  # a prepared question is asked through Datasette's view of tables


def surroundings(datasette: Any, request: Any, view_name: str | None) -> dict[str, Any] | Awaitable[dict[str, Any]]:
    """Nothing for pages of our own, which bring theirs; for Datasette's the frame, the day, the notes of all tables."""
    return _around(datasette, request) if view_name in DRAWN else {}


async def _around(datasette: Any, request: Any) -> dict[str, Any]:
    day = await query(datasette, today)
    notes = datasette.metadata("databases")[DATABASE]["tables"]
    return {**framed(request), "day": day, "notes": notes, "path_with_added_args": path_with_added_args}
