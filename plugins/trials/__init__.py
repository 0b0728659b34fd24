"""Dishes not yet on the menu, version by version: /trials, /trials/ID and its forms, and the menu of any day."""

from __future__ import annotations

from typing import Any

from datasette import hookimpl
from stillroom.plugins.trials import due, edit_pages, home, menu_page, on_dish, pages, promote_pages, taste_pages

TRIAL = r"(?P<trial>[a-z0-9-]+)"

__all__ = ["home", "on_dish"]  # offer their parts to other pages


@hookimpl
def register_routes() -> list[tuple[str, Any]]:
    return [
        (r"^/trials(\.json)?$", pages.trials),
        (r"^/trials/start$", edit_pages.start),
        (r"^/trials/new$", edit_pages.new),
        (rf"^/trials/{TRIAL}/edit$", edit_pages.edit),
        (rf"^/trials/{TRIAL}/compare(\.json)?$", pages.compare),
        (rf"^/trials/{TRIAL}/taste$", taste_pages.taste),
        (rf"^/trials/{TRIAL}/promote$", promote_pages.promote),
        (rf"^/trials/{TRIAL}/take-back$", promote_pages.take_back),
        (rf"^/trials/{TRIAL}(\.json)?$", pages.trial),
        (r"^/menu-on/(?P<day>[0-9-]{1,20})(\.json)?$", menu_page.menu_on),
        (r"^/menu-on(\.json)?$", menu_page.menu_on),
    ]


@hookimpl
def asgi_wrapper(datasette: Any) -> Any:
    return lambda app: due.each_day(datasette, app)
