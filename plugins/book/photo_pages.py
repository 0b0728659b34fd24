"""/photo/ID.jpg: a recipe's picture, as it was made small at load."""

from __future__ import annotations

import sqlite3
from typing import Any

from datasette.utils.asgi import Response
from stillroom.plugins.book.pages import OFFICE_ACTION, own_facts
from stillroom.plugins.book.rows import ask
from stillroom.plugins.core.auth import decide, role_of
from stillroom.plugins.core.pages import NotFound, page, query

KEPT = "private, max-age=31536000, immutable"  # its address is another one as soon as the picture is


@page("core/plain.html", needs="recipe")
async def photo(datasette: Any, request: Any) -> Response:
    """The picture of a recipe that whoever asks may see."""
    wanted, drafts = request.url_vars["recipe"], decide(role_of(request.actor), OFFICE_ACTION)

    def work(connection: sqlite3.Connection) -> bytes:
        own_facts(connection, wanted, drafts)
        for (picture,) in ask(connection, "picture", recipe=wanted):
            return bytes(picture)
        raise NotFound("This recipe has no picture.")

    headers = {"cache-control": KEPT}
    return Response(await query(datasette, work), headers=headers, content_type="image/jpeg")
