"""Who comes in, and the list of people: hooks and addresses."""

from __future__ import annotations

from typing import Any

from datasette import hookimpl
from stillroom.plugins.core.pages import refuse
from stillroom.plugins.people import pages


@hookimpl(tryfirst=True)
def forbidden(datasette: Any, request: Any) -> Any:
    """One of Datasette's own pages that isn't theirs; whoever isn't signed in is asked to."""
    return refuse(datasette, request)


@hookimpl
def register_routes() -> list[tuple[str, Any]]:
    return [
        (r"^/sign-in$", pages.sign_in),
        (r"^/sign-out$", pages.sign_out),
        (r"^/account$", pages.account),
        (r"^/people(?:\.json)?$", pages.people),
    ]
