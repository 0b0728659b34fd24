"""The frame of the house: permissions, headers, and the first page."""

from __future__ import annotations

import sqlite3
from typing import Any

from datasette import hookimpl

from stillroom.db.connect import tune
from stillroom.plugins.core import auth, frame, home
from stillroom.plugins.core import format as formats


@hookimpl(trylast=True)
def permission_allowed(actor: dict[str, Any] | None, action: str, resource: Any) -> bool:
    """Every question gets yes or no here; the last answer counts, and this is the last."""
    return auth.decide(auth.role_of(actor), action, resource)


@hookimpl
def startup() -> None:
    """A Datasette without the permission hook would show everything to everybody."""
    from datasette.plugins import pm  # at the top it would register this module before its hooks are defined

    if getattr(getattr(pm.hook, "permission_allowed", None), "spec", None) is None:
        raise RuntimeError("stillroom needs Datasette 0.65: this version would ignore its permission rules")


@hookimpl
def prepare_connection(conn: sqlite3.Connection) -> None:
    tune(conn)


@hookimpl
def asgi_wrapper() -> Any:
    return frame.wrap


@hookimpl
def register_routes() -> list[tuple[str, Any]]:
    return [(r"^/$", home.today), (r"^/today\.json$", home.today), (r"^/changes/read$", home.read_change)]


@hookimpl
def prepare_jinja2_environment(env: Any) -> None:
    env.filters["spoken_day"] = formats.day
    env.filters["share"] = formats.percent
    env.filters["fahrenheit"] = formats.fahrenheit
