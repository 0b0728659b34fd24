"""Forms that carry a file, made ready for the check of the form's token.

The token check that Datasette 0.65 brings calls its multipart reader in a way that releases of that reader from 0.0.26
on don't know, and the older ones have known holes: every form with a file from a browser ended in an error. It looks
at a request's head first, so the token of such a form is put there; and where the token is wrong it must not go on to
that reader, so the form's media type is written in capitals, which is the same type by RFC 9110 and not by that check.
"""

from __future__ import annotations

import re
from typing import Any

from stillroom.plugins.core.forms import MOST_BYTES, TooLarge

TYPE = b"multipart/form-data"
TOKEN = re.compile(rb'name="?csrftoken"?\r\n(?:[^\r\n]+\r\n)*\r\n([^\r\n]*)\r\n')
FAR = 100_000  # the token stands first in our forms


def carries_file(scope: dict[str, Any]) -> bool:
    """Whether a request is a form with a file."""
    return any(name == b"content-type" and value.lower().startswith(TYPE) for name, value in scope["headers"])


async def prepared(scope: dict[str, Any], receive: Any) -> tuple[dict[str, Any], Any]:
    """The request with its form's token in the head, and its body ready to be read again.

    Raises:
        TooLarge: the body is larger than any form of ours can be.
    """
    body = await _whole(receive)
    found = TOKEN.search(body[:FAR])
    kept = [(name, _in_capitals(name, value)) for name, value in scope["headers"] if name != b"x-csrftoken"]
    head = [*kept, (b"x-csrftoken", found[1])] if found else kept
    messages = [{"type": "http.request", "body": body, "more_body": False}]

    async def again() -> Any:
        return messages.pop() if messages else await receive()

    return {**scope, "headers": head}, again


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
    return TYPE.upper() + value[len(TYPE) :] if name == b"content-type" else value
