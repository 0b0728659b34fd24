"""Short supply: /short and /short/ITEM."""

from __future__ import annotations

from typing import Any

from datasette import hookimpl
from stillroom.plugins.supply import pages


@hookimpl
def register_routes() -> list[tuple[str, Any]]:
    return [(r"^/short(\.json)?$", pages.search), (r"^/short/(?P<item>[a-z0-9-]+)(\.json)?$", pages.short)]
