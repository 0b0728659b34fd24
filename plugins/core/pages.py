"""How every page of our own is made: permission, one question to the file, one answer, as HTML or as data."""

from __future__ import annotations

import sqlite3
from collections.abc import Awaitable, Callable, Sequence
from contextvars import ContextVar
from dataclasses import asdict, is_dataclass
from functools import wraps
from typing import Any, TypeVar
from urllib.parse import urlencode

from datasette.utils.asgi import Response
from stillroom.db.faults import Fault, fault_of
from stillroom.db.kitchen import settings
from stillroom.db.roles import NOBODY
from stillroom.plugins.core import unwritten
from stillroom.plugins.core.auth import DATABASE, decide, is_household, role_of
from stillroom.plugins.core.format import OWN_WAY, Way
from stillroom.plugins.core.forms import TooLarge, kept, posted
from stillroom.plugins.core.parts import Part, gather, offered
from stillroom.plugins.core.rail import rail
from stillroom.plugins.core.sign import choices

T = TypeVar("T")
IS_DATA: ContextVar[bool] = ContextVar("is_data", default=False)  # words of data have a point in every kitchen
Handler = Callable[[Any, Any], Awaitable[Any]]
Again = Callable[[Any, Any, dict[str, str], str], Awaitable[Any]]
SAID_AS_DATA = (".json", ".csv", ".xlsx", ".db")
OF_ACCOUNTS = frozenset({"/account", "/people", "/sign-out"})  # their forms hold secrets: nothing of them is kept
RETRY_S = "3"
FRESH = {"cache-control": "no-store"}  # an allergen answer of an hour ago must not come out of a cache


class NotFound(Exception):
    """There is no such thing; the words say what was looked for and where to look instead."""


async def query(datasette: Any, work: Callable[[sqlite3.Connection], T]) -> T:
    """What `work` returns, run on one of the reading threads in one hop."""
    is_data = IS_DATA.get()

    def asked(connection: sqlite3.Connection) -> tuple[Way, T]:
        said = settings(connection)
        way = Way("." if is_data else said["decimal mark"], said["units"])
        before = OWN_WAY.set(way)
        try:
            return way, work(connection)
        finally:
            OWN_WAY.reset(before)

    found: tuple[Way, T] = await datasette.get_database(DATABASE).execute_fn(asked)
    OWN_WAY.set(found[0])  # what is drawn from the answer is written in the same way
    return found[1]


def page(
    template: str, needs: str, methods: Sequence[str] = ("GET", "HEAD"), parts: str = "", again: Again | None = None
) -> Callable[[Handler], Handler]:
    """Makes a handler that returns an answer into a page.

    Args:
        template: its name, 'feature/page.html'.
        needs: the action that `auth.decide` is asked about.
        methods: what a request may be; any other is told so.
        parts: the page's name for features that add to it (`core.parts`); its subject is the address's first word.
        again: (datasette, request, fields as sent, words) -> the page's own answer, form filled, the words on it,
            for a form that could not be written. Without it, a page that keeps the fields and sends them again.

    The handler returns a dataclass (or a ready Response). An address that ends in .json gets the same answer as data:
    its `as_json()` where it has one, else its fields.
    """

    refilled = None if again is None else _refilling(template, again)

    def decorate(handler: Handler) -> Handler:
        @wraps(handler)
        async def handled(datasette: Any, request: Any) -> Any:
            if not decide(role_of(request.actor), needs):
                return await refuse(datasette, request)
            if request.method not in methods:
                return await plain(datasette, request, 405, "Not that way", "Open the page and use its form.")
            IS_DATA.set(request.path.endswith(".json"))
            answer = await _answered(handler, datasette, request, refilled)
            if isinstance(answer, Response):
                return answer
            found = await _parts(datasette, request, parts)
            if request.path.endswith(".json"):
                return data(as_data(answer) | {part.name: as_data(part.answer) for part in found})
            return await html(datasette, request, template, answer, found)

        return handled

    return decorate


async def _answered(handler: Handler, datasette: Any, request: Any, again: Again | None) -> Any:
    """What a handler returns; where it can't answer, the page that says why."""
    try:
        return await handler(datasette, request)
    except NotFound as error:
        return await plain(datasette, request, 404, "Not here", str(error))
    except TooLarge:
        return await plain(datasette, request, 413, "Too large", "Nothing was written. Send a smaller file.")
    except sqlite3.DatabaseError as error:
        fault = fault_of(error)
        if fault is None:
            raise
        return await _unwritten(datasette, request, fault, again)


def _refilling(template: str, again: Again) -> Again:
    """The page of a form that could not be written, drawn by the feature itself."""

    async def drawn(datasette: Any, request: Any, fields: dict[str, str], words: str) -> Response:
        answer = await again(datasette, request, fields, words)
        return answer if isinstance(answer, Response) else await html(datasette, request, template, answer, status=503)

    return drawn


async def _unwritten(datasette: Any, request: Any, fault: Fault, again: Again | None) -> Response:
    """503: what stands in the way, and the form still filled where there was one."""
    words = unwritten.words_of(fault)
    if request.method != "POST" or request.path.endswith(".json"):
        answer = await plain(datasette, request, 503, fault.title, words)
    elif again is not None:
        answer = await again(datasette, request, kept(request), words)
    else:
        form = unwritten.form_of(fault, request.full_path, kept(request))
        answer = await html(datasette, request, "core/unwritten.html", form, status=503)
    answer.headers["retry-after"] = RETRY_S
    return answer


def data(answer: Any, status: int = 200) -> Response:
    """An answer as JSON that no browser keeps; exact numbers and dates as text."""
    return Response.json(answer, status=status, headers=FRESH, default=str)


def as_data(answer: Any) -> Any:
    """An answer as plain data."""
    if hasattr(answer, "as_json"):
        return answer.as_json()
    return asdict(answer) if is_dataclass(answer) and not isinstance(answer, type) else answer


async def _parts(datasette: Any, request: Any, name: str) -> list[Part]:
    """What other features add to the page of this name, for whoever asks."""
    role = role_of(request.actor)
    if not name or not offered(name, role):
        return []
    subject = next(iter(request.url_vars.values()), "")
    return await query(datasette, lambda connection: gather(connection, name, subject or "", role))


async def html(
    datasette: Any, request: Any, template: str, answer: Any, parts: Sequence[Part] = (), status: int = 200
) -> Response:
    """An answer in its template within the house's frame, with what other features add to it."""
    context = {"answer": answer, "parts": parts, "signers": choices(datasette, request), **framed(request)}
    text = await datasette.render_template(template, context, request=request)
    return Response.html(text, status=status, headers=FRESH)


def framed(request: Any) -> dict[str, Any]:
    """What the frame around every page needs to know: the doors, the search box, who is signed in."""
    role = role_of(request.actor)
    return {
        "rail": rail(role, request.path), "role": role, "is_household": is_household(request.actor),
        "is_station": role == "station", "may_search": decide(role, "search"),
        "signed_in": None if is_household(request.actor) else (request.actor or {}).get("name"),
    }  # fmt: skip


async def refuse(datasette: Any, request: Any) -> Response:
    """The answer to somebody who may not: whoever isn't signed in is asked to; data only says so."""
    if role_of(request.actor) != NOBODY:
        return await plain(datasette, request, 403, "Not yours to see", "Ask the chef or the manager.")
    if request.path.endswith(SAID_AS_DATA):
        return data({"error": "Sign in first."}, 401)
    if request.method == "POST" and request.path not in OF_ACCOUNTS:
        return await _signed_out(datasette, request)
    return Response.redirect(f"/sign-in?{urlencode({'next': request.full_path})}", status=303)


async def _signed_out(datasette: Any, request: Any) -> Response:
    """401: a sign-in that ended while a form was open loses nothing of it."""
    try:
        fields = await posted(request)
    except TooLarge:
        return await plain(datasette, request, 413, "Too large", "Nothing was written. Sign in, send a smaller file.")
    form = unwritten.form_of(unwritten.SIGNED_OUT, request.full_path, fields)
    return await html(datasette, request, "core/unwritten.html", form, status=401)


async def plain(datasette: Any, request: Any, status: int, title: str, words: str) -> Response:
    """A page of few words: what is wrong and what to do."""
    if request.path.endswith(".json"):
        return data({"error": words}, status)
    return await html(datasette, request, "core/plain.html", {"title": title, "words": words}, status=status)
