"""Open formats: recipes and menus as JSON-LD, recipes out of saved pages, calendar feeds."""

from __future__ import annotations

from typing import Any

from datasette import hookimpl
from stillroom.plugins.core.parts import offer
from stillroom.plugins.formats import bring_pages, feed_pages, pages

offer(pages.HEAD)


@hookimpl
def register_routes() -> list[tuple[str, Any]]:
    return [
        (r"^/recipe/(?P<recipe>[a-z0-9-]+)\.jsonld$", pages.recipe),
        (r"^/menu-on/(?P<day>[0-9-]{1,20})\.jsonld$", pages.menu),
        (r"^/import(\.json)?$", bring_pages.bring),
        (r"^/calendar(\.json)?$", feed_pages.own),
        (r"^/calendar/make$", feed_pages.make),
        (r"^/calendar/take-back$", feed_pages.revoke),
        (r"^/calendar/(?P<token>[A-Za-z0-9_-]{1,200})\.ics$", feed_pages.read),
    ]
