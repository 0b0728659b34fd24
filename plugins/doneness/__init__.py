"""Heat: /doneness, /doneness/RECIPE, /doneness/line, /doneness/cooling, /doneness/readings."""

from __future__ import annotations

from typing import Any

from datasette import hookimpl
from stillroom.plugins.doneness import pages, pages_cooling, pages_readings


@hookimpl
def register_routes() -> list[tuple[str, Any]]:
    return [
        (r"^/doneness(\.json)?$", pages.index),
        (r"^/doneness/line(\.json)?$", pages.line),
        (r"^/doneness/cooling(\.json)?$", pages_cooling.planner),
        (r"^/doneness/readings(\.json)?$", pages_readings.readings),
        (r"^/doneness/readings/import(\.json)?$", pages_readings.brought),
        (r"^/doneness/(?P<recipe>[a-z0-9-]+)(\.json)?$", pages.programme),
    ]
