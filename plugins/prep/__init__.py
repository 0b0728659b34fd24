"""The day: what to make, by whom, by when. /prep, /prep/sheets, /prep/day."""

from __future__ import annotations

from typing import Any

from datasette import hookimpl
from stillroom.plugins.core.parts import Offer, offer
from stillroom.plugins.prep import day_posts, on_short, pages, posts

offer(Offer("short", "prep", "prep", "prep/on_short.html", on_short.on_short, 10))


@hookimpl
def register_routes() -> list[tuple[str, Any]]:
    return [
        (r"^/prep(\.json)?$", pages.prep),
        (r"^/prep/sheets$", pages.sheets),
        (r"^/prep/day(\.json)?$", pages.day),
        (r"^/prep/tick(\.json)?$", posts.tick),
        (r"^/prep/undo$", posts.undo),
        (r"^/prep/overrule(\.json)?$", day_posts.overrule),
        (r"^/prep/absence$", day_posts.absence),
    ]
