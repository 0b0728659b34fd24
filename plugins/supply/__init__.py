"""Short supply: /short, /short/ITEM, and /out, the list of what is out."""

from __future__ import annotations

from typing import Any

from datasette import hookimpl
from stillroom.plugins.core.parts import Offer, offer
from stillroom.plugins.supply import pages, shared

offer(Offer("short", "shared", "short", "supply/shared.html", shared.shared, 5))
offer(Offer("guest", "out", "guest", "supply/out_part.html", shared.on_guest, 5))


@hookimpl
def register_routes() -> list[tuple[str, Any]]:
    return [
        (r"^/short(\.json)?$", pages.search),
        (r"^/short/(?P<item>[a-z0-9-]+)(\.json)?$", pages.short),
        (r"^/out(\.json)?$", shared.out),
    ]
