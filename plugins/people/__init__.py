"""Who comes in, and the list of people: hooks and addresses."""

from __future__ import annotations

from collections.abc import Generator
from typing import Any

from datasette import hookimpl
from stillroom.plugins.core import pages as core_pages
from stillroom.plugins.core import people
from stillroom.plugins.people import pages


@hookimpl(hookwrapper=True)
def actor_from_request(datasette: Any, request: Any) -> Generator[None, Any, None]:
    """Whoever is signed in, instead of what any other reader of cookies says."""
    stock = yield
    stock.force_result([people.who_asks(datasette, request, next(filter(None, stock.get_result()), None))])


@hookimpl(tryfirst=True)
def forbidden(datasette: Any, request: Any) -> Any:
    """One of Datasette's own pages that isn't theirs; whoever isn't signed in is asked to."""
    return core_pages.refuse(datasette, request)


@hookimpl
def register_routes() -> list[tuple[str, Any]]:
    return [
        (r"^/sign-in$", pages.sign_in),
        (r"^/sign-out$", pages.sign_out),
        (r"^/account$", pages.account),
        (r"^/people(?:\.json)?$", pages.people),
    ]
