"""Heat: /doneness and its pages; a part on the pages of recipes and dishes."""

from __future__ import annotations

from typing import Any

from datasette import hookimpl
from stillroom.plugins.doneness import pages, pages_cooling, pages_import, pages_readings, parts


@hookimpl
def startup() -> None:
    parts.offer_parts()


@hookimpl
def register_routes() -> list[tuple[str, Any]]:
    return [
        (r"^/doneness(\.json)?$", pages.index),
        (r"^/doneness/line(\.json)?$", pages.line),
        (r"^/doneness/cooling(\.json)?$", pages_cooling.planner),
        (r"^/doneness/readings(\.json)?$", pages_readings.readings),
        (r"^/doneness/readings/import(\.json)?$", pages_import.brought),
        (r"^/doneness/(?P<recipe>[a-z0-9-]+)(\.json)?$", pages.programme),
    ]
