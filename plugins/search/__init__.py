"""One box on every page: /search."""

from __future__ import annotations

from typing import Any

from datasette import hookimpl
from stillroom.plugins.search import pages


@hookimpl
def register_routes() -> list[tuple[str, Any]]:
    return [(r"^/search(\.json)?$", pages.search)]
