"""Orders: what to buy, from whom, before the cut-off. /orders, /orders/SUPPLIER."""

from __future__ import annotations

from typing import Any

from datasette import hookimpl
from stillroom.plugins.orders import pages

SUPPLIER = r"^/orders/(?P<supplier>[a-z0-9-]+)"


@hookimpl
def register_routes() -> list[tuple[str, Any]]:
    return [
        (r"^/orders(\.(?P<kind>json|csv|xlsx))?$", pages.orders),
        (SUPPLIER + r"/change(\.json)?$", pages.change),
        (SUPPLIER + r"(\.(?P<kind>json|csv))?$", pages.one),
    ]
