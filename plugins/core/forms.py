"""Reading what a form sends, a chosen file among it."""

from __future__ import annotations

import asyncio
import secrets
from email import policy
from email.parser import BytesParser
from typing import Any
from urllib.parse import parse_qsl

MOST_BYTES = 10_000_000
POSTED = "stillroom.posted"  # where a request keeps the fields it was sent with
FILES = "stillroom.files"  # and the bytes of those that may have come as files


class TooLarge(Exception):
    """The form is larger than any form of ours can be."""


def request_id() -> str:
    """A new name for one sending of a form: a double tap carries it twice and is one entry."""
    return secrets.token_urlsafe(12)


async def posted(request: Any, most: int = MOST_BYTES) -> dict[str, str]:
    """Fields of a form, whichever way the browser sends it; a chosen file's text stands under its field's name.

    Raises:
        TooLarge: more than `most` bytes.
    """
    body = await request.post_body()
    if len(body) > most:
        raise TooLarge(f"more than {most:,} bytes")
    kind = request.headers.get("content-type", "")
    if kind.lower().startswith("multipart/form-data"):
        request.scope[FILES] = await asyncio.to_thread(bytes_of, kind, body)
        fields = {name: _text(data) for name, data in request.scope[FILES].items()}
    else:
        fields = dict(parse_qsl(body.decode("utf-8", "replace"), keep_blank_values=True))
    request.scope[POSTED] = fields
    return fields


def kept(request: Any) -> dict[str, str]:
    """Fields that `posted` has read of this request; a body can be read but once."""
    found: dict[str, str] = request.scope.get(POSTED, {})
    return found


def sent(request: Any, name: str) -> bytes:
    """The bytes of a file that `posted` has read of this request, whatever it is written in; b'' where none came."""
    found: dict[str, bytes] = request.scope.get(FILES, {})
    return found.get(name, b"")


def fields_of(kind: str, body: bytes) -> dict[str, str]:
    """Fields of a multipart body as text."""
    return {name: _text(data) for name, data in bytes_of(kind, body).items()}


def _text(data: bytes) -> str:
    return data.decode("utf-8-sig", "replace")


def bytes_of(kind: str, body: bytes) -> dict[str, bytes]:
    """Fields of a multipart body as they came."""
    head = f"content-type: {kind}\r\n\r\n".encode("latin-1", "replace")
    found: dict[str, bytes] = {}
    for part in BytesParser(policy=policy.HTTP).parsebytes(head + body).walk():
        name = part.get_param("name", header="content-disposition")
        if isinstance(name, str) and not part.is_multipart():
            payload = part.get_payload(decode=True)
            found[name] = payload if isinstance(payload, bytes) else b""
    return found
