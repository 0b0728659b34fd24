"""Reading what a form sends, a chosen file among it."""

from __future__ import annotations

import asyncio
import secrets
from codecs import BOM_UTF16_BE, BOM_UTF16_LE
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


def _text(data: bytes) -> str:
    """A field as text: what a browser types is UTF-8, and a file may be UTF-16 by its mark, or of an older Windows."""
    if data.startswith((BOM_UTF16_LE, BOM_UTF16_BE)):
        return data.decode("utf-16", "replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", "replace")


def no_text(text: str) -> str:
    """Why a chosen file is no text that can be read as a table, and what to send; '' where it is."""
    if text.startswith("PK\x03\x04"):
        return "That is a workbook or a packed file: save its sheet as CSV, and choose that."
    if "\x00" in text:
        return "That is no text: a picture, or another program's own file. Choose the one that was saved as CSV."
    return ""


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
