"""The frame of the house: permissions, headers, and the first page."""

from __future__ import annotations

import sqlite3
from collections.abc import Generator
from typing import Any

from datasette import hookimpl
from stillroom.db.connect import tune
from stillroom.plugins.core import auth, errors, frame, home, notes, people, tables
from stillroom.plugins.core import startup as checks


@hookimpl(trylast=True)
def permission_allowed(datasette: Any, actor: dict[str, Any] | None, action: str, resource: Any) -> bool:
    """Every question gets yes or no here; the last answer counts, and this is the last."""
    return auth.decide(people.role_here(datasette, actor), action, resource)


@hookimpl
def startup(datasette: Any) -> None:
    checks.at_start(datasette)


@hookimpl(hookwrapper=True)
def actor_from_request(datasette: Any, request: Any) -> Generator[None, Any, None]:
    """Whoever is signed in, instead of what any other reader of cookies says."""
    stock = yield
    stock.force_result([people.who_asks(datasette, request, stock.get_result())])


@hookimpl
def prepare_connection(conn: sqlite3.Connection, database: str) -> None:
    if database != "_internal":  # Datasette empties its own notes after a load, in an order that references forbid
        tune(conn)


@hookimpl
def get_metadata(key: str | None) -> dict[str, Any]:
    return notes.metadata(key)


@hookimpl
def asgi_wrapper(datasette: Any) -> Any:
    return frame.wrapper(datasette)


@hookimpl(hookwrapper=True)
def handle_exception(datasette: Any, request: Any, exception: Exception) -> Generator[None, Any, None]:
    stock = yield  # Datasette's own tells the exception's words and prints every local value, a PIN among them
    stock.force_result([errors.broken(datasette, request, exception)])


@hookimpl
def register_routes() -> list[tuple[str, Any]]:
    return [(r"^/$", home.today), (r"^/(today)?\.json$", home.today), (r"^/changes/read$", home.read_change)]


@hookimpl
def extra_template_vars(datasette: Any, request: Any, view_name: str | None) -> Any:
    return tables.surroundings(datasette, request, view_name)
