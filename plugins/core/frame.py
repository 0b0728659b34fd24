"""Around every answer: headers that keep a browser from running or framing what is not ours, and no debug pages."""

from __future__ import annotations

import re
from collections.abc import Awaitable, Callable, Mapping
from typing import Any

from stillroom.plugins.core import uploads
from stillroom.plugins.core.forms import TooLarge

App = Callable[[dict[str, Any], Any, Any], Awaitable[None]]

STRICT = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; font-src 'self'; "
    "connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
# Datasette's own pages carry inline scripts and style attributes.
STOCK = STRICT.replace("style-src 'self'", "style-src 'self' 'unsafe-inline'").replace(
    "script-src 'self'", "script-src 'self' 'unsafe-inline'"
)
HEADERS = [
    (b"x-content-type-options", b"nosniff"), (b"x-frame-options", b"DENY"), (b"referrer-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"), (b"cross-origin-opener-policy", b"same-origin"),
]  # fmt: skip
STOCK_ROOTS = ("/kitchen", "/-")
OPEN_DEBUG = ("/-/static/", "/-/static-plugins/")
HERE = frozenset({"127.0.0.1", "localhost", "[::1]"})
_PORT = re.compile(r":[0-9]+$")
NO_PAGE = "There is no such page."
NOT_THIS_MACHINE = "This kitchen answers on its own machine only: open it at http://127.0.0.1"
TOO_LARGE = "This is larger than any form here can be. Nothing was written. Send a smaller file."
FOREIGN_FORM = "This form was sent from another site. Open the page here and send it again."


def is_stock(path: str) -> bool:
    """Whether Datasette itself draws the page."""
    return any(path == root or path.startswith((f"{root}/", f"{root}.")) for root in STOCK_ROOTS)


def is_hidden(path: str) -> bool:
    """Datasette's pages about itself show settings, file paths and plugins: nobody needs them here."""
    return path.startswith("/-/") and not path.startswith(OPEN_DEBUG)


def refusal(path: str, method: str, headers: Mapping[bytes, bytes]) -> tuple[int, str] | None:
    """Status and words for a request that goes no further; None for all others.

    A page of another site can make a browser send a form here without cookies, which the form's token does not cover,
    and can point a name of its own at this machine to read the answers; both carry that site's name.
    """
    if is_hidden(path):
        return 404, NO_PAGE
    host = headers.get(b"host", b"").decode("latin-1").lower()
    if _PORT.sub("", host) not in HERE:
        return 421, NOT_THIS_MACHINE
    origin = headers.get(b"origin")
    if method not in {"GET", "HEAD"} and origin is not None and origin.decode("latin-1").partition("://")[2] != host:
        return 403, FOREIGN_FORM
    return None


def wrap(app: App) -> App:
    """The application with headers on every answer."""

    async def wrapped(scope: dict[str, Any], receive: Any, send: Any) -> None:
        if scope["type"] != "http":
            await app(scope, receive, send)
            return
        path = scope["path"]
        policy = STOCK if is_stock(path) else STRICT
        extra = [(b"content-security-policy", policy.encode()), *HEADERS]

        async def with_headers(message: dict[str, Any]) -> None:
            if message["type"] == "http.response.start":
                kept = [h for h in message.get("headers", []) if h[0].lower() != b"referrer-policy"]
                message = {**message, "headers": [*kept, *extra]}
            await send(message)

        refused = refusal(path, scope["method"], dict(scope["headers"]))
        if refused is None and uploads.carries_file(scope):
            try:
                scope, receive = await uploads.prepared(scope, receive)
            except TooLarge:
                refused = 413, TOO_LARGE
        if refused is None:
            await app(scope, receive, with_headers)
            return
        status, words = refused
        plain = [(b"content-type", b"text/plain; charset=utf-8")]
        await with_headers({"type": "http.response.start", "status": status, "headers": plain})
        await send({"type": "http.response.body", "body": words.encode()})

    return wrapped
