"""Forms, made ready for the check of the form's token.

The token check that Datasette 0.65 brings breaks on forms that are not quite right: letters that are no UTF-8, a token
with an accent; and it calls its multipart reader in a way that releases of that reader from 0.0.26 on don't know, while
the older ones have known holes. It looks at a request's head first, so a form's token is put there. Where the token is
wrong it must not go on to read the form, so the form's media type is written in capitals, which is the same type by
RFC 9110 and not by that check.
"""

from __future__ import annotations

import re
from typing import Any

from stillroom.plugins.core.forms import MOST_BYTES, TooLarge

FILE, FIELDS = b"multipart/form-data", b"application/x-www-form-urlencoded"
SIGNED = rb"([A-Za-z0-9_.-]{1,400})"
TOKEN = {
    FILE: re.compile(rb'name="?csrftoken"?\r\n(?:[^\r\n]+\r\n)*\r\n' + SIGNED + rb"\r\n"),
    FIELDS: re.compile(rb"(?:^|&)csrftoken=" + SIGNED + rb"(?:&|$)"),
}
COOKIE = re.compile(rb"(?:^|;\s*)ds_csrftoken=" + SIGNED + rb"(?:;|$)")
FAR = 100_000  # the token stands first in our forms


def kind_of(scope: dict[str, Any]) -> bytes | None:
    """Which kind of form a request is; None: no form."""
    if scope["method"] in {"GET", "HEAD", "OPTIONS"}:
        return None
    said = next((value.lower() for name, value in scope["headers"] if name == b"content-type"), b"")
    return next((kind for kind in (FILE, FIELDS) if said.startswith(kind)), None)


async def prepared(scope: dict[str, Any], receive: Any, kind: bytes) -> tuple[dict[str, Any], Any]:
    """The request with its form's token in the head, and its body ready to be read again.

    Raises:
        TooLarge: the body is larger than any form of ours can be.
    """
    body = await _whole(receive)
    found = TOKEN[kind].search(body[:FAR] if kind == FILE else body)
    said = [(name, _in_capitals(name, value)) for name, value in scope["headers"]]
    kept = [(name, value) for name, value in said if name != b"x-csrftoken" or not found]
    head = [*kept, (b"x-csrftoken", found[1])] if found else kept
    messages = [{"type": "http.request", "body": body, "more_body": False}]

    async def again() -> Any:
        return messages.pop() if messages else await receive()

    return {**scope, "headers": head}, again


def is_signed(scope: dict[str, Any]) -> bool:
    """Whether a request carries the token of its browser's own page; one without any cookies needs none."""
    headers = dict(scope["headers"])
    if not headers.get(b"cookie"):
        return True
    found = COOKIE.search(headers[b"cookie"])
    return found is not None and headers.get(b"x-csrftoken") == found[1]


async def _whole(receive: Any) -> bytes:
    body, more = bytearray(), True
    while more:
        message = await receive()
        body += message.get("body", b"")
        more = message.get("more_body", False)
        if len(body) > MOST_BYTES:
            raise TooLarge(f"more than {MOST_BYTES:,} bytes")
    return bytes(body)


def _in_capitals(name: bytes, value: bytes) -> bytes:
    """The media type, not what follows it: a boundary's letters count."""
    if name != b"content-type":
        return value
    kind, semicolon, rest = value.partition(b";")
    return kind.upper() + semicolon + rest
