"""Around every answer: headers that keep a browser from running or framing what is not ours, and no debug pages."""

from __future__ import annotations

import ipaddress
import re
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass
from typing import Any

from stillroom.plugins.core import people, uploads
from stillroom.plugins.core.forms import MOST_BYTES, TooLarge

App = Callable[[dict[str, Any], Any, Any], Awaitable[None]]

STRICT = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; font-src 'self'; "
    "connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
HEADERS = [
    (b"x-content-type-options", b"nosniff"), (b"x-frame-options", b"DENY"), (b"referrer-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"), (b"cross-origin-opener-policy", b"same-origin"),
]  # fmt: skip
OPEN_DEBUG = ("/-/static/", "/-/static-plugins/")
HERE = frozenset({"127.0.0.1", "localhost", "[::1]"})
_PORT = re.compile(r":[0-9]+$")
_VALUE = r"[\w!#%&'~`><@,:/$*+.^|)(?}{=\[\]-]*"
_PAIR = re.compile(rf"[\w!#$%&'*+.^`|~-]+=(?:{_VALUE}|\"{_VALUE}\")", re.A)
CSRF = b"ds_csrftoken="
NO_PAGE = "There is no such page."
NOT_THIS_MACHINE = "This kitchen answers on its own machine only: open it at http://127.0.0.1"
NOT_THIS_NAME = "This kitchen does not answer under that name. Whoever runs it says its names with --name."
NO_LENGTH = "Say how long this is: a form without its length is not read."
OLD_FORM = "This form is too old, or the browser keeps no cookies. Open the page again, then send the form once more."
NO_COOKIE = "Open the page here first, then send its form; the browser must keep this kitchen's cookies."
TOO_LARGE = "This is larger than any form here can be. Nothing was written. Send a smaller file."
FOREIGN_FORM = "This form was sent from another site. Open the page here and send it again."


def is_hidden(path: str) -> bool:
    """Datasette's pages about itself show settings, file paths and plugins: nobody needs them here."""
    return path.startswith("/-/") and not path.startswith(OPEN_DEBUG)


@dataclass(frozen=True)
class Door:
    """Under which names the kitchen is opened, beside those of its own machine.

    Attributes:
        names: as `serve --name` gave them.
        is_open: it listens to other machines, so their browsers may also use its bare address: no other site can
            point that at it.
    """

    names: frozenset[str] = frozenset()
    is_open: bool = False
    has_people: bool = False

    def knows(self, host: str) -> bool:
        """Whether a Host header names this kitchen."""
        name = _PORT.sub("", host)
        return name in HERE or name in self.names or (self.is_open and _is_address(name))


CLOSED = Door()


def _is_address(name: str) -> bool:
    try:
        ipaddress.ip_address(name.removeprefix("[").removesuffix("]"))
    except ValueError:
        return False
    return ":" not in name or name.startswith("[")


def refusal(
    path: str, method: str, headers: Mapping[bytes, bytes], door: Door = CLOSED
) -> tuple[int, str] | None:  # fmt: skip
    """Status and words for a request that goes no further; None for all others.

    A page of another site can make a browser send a form here without cookies, which the form's token does not cover,
    and can point a name of its own at this machine to read the answers; both carry that site's name.
    """
    if is_hidden(path) or path.startswith("//") or "\\" in path:  # the last two could be sent on to another site
        return 404, NO_PAGE
    host = headers.get(b"host", b"").decode("latin-1").lower()
    if not door.knows(host):
        return 421, NOT_THIS_NAME if door.names or door.is_open else NOT_THIS_MACHINE
    return None if method in {"GET", "HEAD"} else _refused_form(host, headers, door)


def _refused_form(host: str, headers: Mapping[bytes, bytes], door: Door) -> tuple[int, str] | None:
    origin = headers.get(b"origin")
    if origin is not None and origin.decode("latin-1").partition("://")[2].lower() != host:
        return 403, FOREIGN_FORM
    if headers.get(b"sec-fetch-site", b"same-origin") not in {b"same-origin", b"none"}:
        return 403, FOREIGN_FORM
    if door.has_people and CSRF not in headers.get(b"cookie", b""):
        return 403, NO_COOKIE
    length = headers.get(b"content-length", b"")
    if not length.isdigit():
        return (411, NO_LENGTH) if b"transfer-encoding" in headers else None
    return (413, TOO_LARGE) if len(length) > 12 or int(length) > MOST_BYTES else None


def tidy(headers: list[tuple[bytes, bytes]]) -> list[tuple[bytes, bytes]]:
    """Headers with only those cookies that every reader understands: a strange one of a neighbour loses the others."""
    kept = []
    for name, value in headers:
        if name == b"cookie":
            found = (pair.strip() for pair in value.decode("latin-1").split(";"))
            value = "; ".join(pair for pair in found if _PAIR.fullmatch(pair)).encode("latin-1")
        kept.append((name, value))
    return kept


def sent_headers(is_secure: bool, headers: list[tuple[bytes, bytes]]) -> list[tuple[bytes, bytes]]:
    """An answer's headers with the house's own; the cookie of the forms' token out of reach of scripts."""
    marks = b"; HttpOnly; Secure" if is_secure else b"; HttpOnly"
    kept = [
        (name, value + marks if name.lower() == b"set-cookie" and value.startswith(CSRF) else value)
        for name, value in headers if name.lower() != b"referrer-policy"
    ]  # fmt: skip
    return [*kept, (b"content-security-policy", STRICT.encode()), *HEADERS]


def wrapper(datasette: Any) -> Callable[[App], App]:
    """What Datasette puts around its application."""
    said = datasette.plugin_config("stillroom") or {}
    names, is_open = frozenset(said.get("names", ())), bool(said.get("is_open"))

    def door() -> Door:
        return Door(names, is_open, people.house(datasette).has_people())

    return lambda app: wrap(app, door)


def wrap(app: App, door: Callable[[], Door]) -> App:
    """The application with headers on every answer."""

    async def wrapped(scope: dict[str, Any], receive: Any, send: Any) -> None:
        if scope["type"] != "http":
            await app(scope, receive, send)
            return
        scope = {**scope, "headers": tidy(scope["headers"])}
        is_secure = scope.get("scheme") == "https"

        async def with_headers(message: dict[str, Any]) -> None:
            if message["type"] == "http.response.start":
                message = {**message, "headers": sent_headers(is_secure, message.get("headers", []))}
            await send(message)

        refused = refusal(scope["path"], scope["method"], dict(scope["headers"]), door())
        if refused is None and (kind := uploads.kind_of(scope)) is not None:
            try:
                scope, receive = await uploads.prepared(scope, receive, kind)
                refused = None if uploads.is_signed(scope) else (403, OLD_FORM)
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
