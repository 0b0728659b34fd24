"""What somebody reads when Datasette's own pages break: plain words, never what the machine said."""

from __future__ import annotations

import sys
import traceback
from typing import Any

from datasette.utils.asgi import Base400, Response
from datasette.views.base import DatasetteError
from stillroom.plugins.core import pages

BROKE = "stillroom could not answer; nothing was changed. What went wrong stands in the window that runs it."
NO_PAGE = "There is no such page."


async def broken(datasette: Any, request: Any, exception: Exception) -> Response:
    """A page that isn't there, a question that can't be asked, a fault of ours.

    A fault's words can carry anything: a path, a piece of SQL, what somebody typed. They go to the server's window.
    """
    status, words = _said(exception)
    if status >= 500:
        traceback.print_exception(exception, file=sys.stderr)
    if request.path.endswith(".json"):
        return pages.data({"ok": False, "error": words, "status": status}, status)
    return await pages.html(datasette, request, "error.html", {"status": status, "words": words}, status=status)


def _said(exception: Exception) -> tuple[int, str]:
    if isinstance(exception, DatasetteError):
        status = int(exception.status or 500)
        return (status, BROKE) if status >= 500 else (status, "This can't be asked like that.")
    if isinstance(exception, Base400):
        status = int(exception.status)
        return status, NO_PAGE if status == 404 else "This can't be asked like that."
    return 500, BROKE
