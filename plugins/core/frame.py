"""Around every answer: headers that keep a browser from running or framing what is not ours, and no debug pages."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Any

App = Callable[[dict[str, Any], Any, Any], Awaitable[None]]

STRICT = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; font-src 'self'; "
    "connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
# Datasette's own pages carry inline scripts and style attributes.
STOCK = STRICT.replace("style-src 'self'", "style-src 'self' 'unsafe-inline'").replace(
    "script-src 'self'", "script-src 'self' 'unsafe-inline'"
)
HEADERS = [(b"x-content-type-options", b"nosniff"), (b"x-frame-options", b"DENY"), (b"referrer-policy", b"same-origin")]
STOCK_ROOTS = ("/kitchen", "/-/")
OPEN_DEBUG = ("/-/static/", "/-/static-plugins/")


def is_stock(path: str) -> bool:
    """Whether Datasette itself draws the page."""
    return any(path == root.rstrip("/") or path.startswith(f"{root.rstrip('/')}/") for root in STOCK_ROOTS) or path.startswith("/kitchen.")


def is_hidden(path: str) -> bool:
    """Datasette's pages about itself show settings, file paths and plugins: nobody needs them here."""
    return path.startswith("/-/") and not path.startswith(OPEN_DEBUG)


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

        if is_hidden(path):
            await with_headers({"type": "http.response.start", "status": 404, "headers": [(b"content-type", b"text/plain")]})
            await send({"type": "http.response.body", "body": b"There is no such page."})
            return
        await app(scope, receive, with_headers)

    return wrapped
