"""Ageing lots, promises and cut plans: /ageing, /ageing/LOT, /ageing/promise, /ageing/plan."""

from __future__ import annotations

from typing import Any

from datasette import hookimpl
from stillroom.plugins.cuts import pages, plan_pages, promises


@hookimpl
def register_routes() -> list[tuple[str, Any]]:
    return [
        (r"^/ageing(\.(?P<kind>json|csv|xlsx))?$", pages.ageing),
        (r"^/ageing/promise$", promises.promise),
        (r"^/ageing/promise/back$", promises.take_back),
        (r"^/ageing/plan(\.json)?$", plan_pages.plan),
        (r"^/ageing/(?P<lot>[^/]+?)(\.(?P<kind>json|csv|xlsx))?$", pages.lot),
    ]
