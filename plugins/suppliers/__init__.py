"""Supplier histories: /suppliers and /suppliers/ID."""

from __future__ import annotations

from typing import Any

from datasette import hookimpl
from stillroom.plugins.suppliers import pages


@hookimpl
def register_routes() -> list[tuple[str, Any]]:
    return [
        (r"^/suppliers(\.json)?$", pages.suppliers),
        (r"^/suppliers/(?P<supplier>[a-z0-9-]+)(\.(?P<kind>json|csv|xlsx))?$", pages.supplier),
    ]
