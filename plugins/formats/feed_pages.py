"""/calendar: one's own feeds, made and taken back; /calendar/TOKEN.ics: the feed itself."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from datasette.utils.asgi import Response
from stillroom.db import feeds
from stillroom.db.feeds import Feed
from stillroom.db.kitchen import settings
from stillroom.db.number import whole
from stillroom.plugins.core.auth import is_household
from stillroom.plugins.core.forms import posted
from stillroom.plugins.core.pages import FRESH, html, page, query
from stillroom.plugins.core.people import house, is_secure
from stillroom.plugins.formats.feed import calendar
from stillroom.plugins.formats.rows import days_of

NO_FEED = "There is no such calendar. Its owner may have taken the address back."


@dataclass(frozen=True)
class CalendarPage:
    """A person's feeds. address: of one just made, shown this once."""

    rows: list[tuple[int, str, str]]
    address: str = ""
    words: str = ""

    def as_json(self) -> dict[str, Any]:
        return {"feeds": [{"id": i, "made": made, "last_read": read or None} for i, made, read in self.rows]}


def _person(request: Any) -> int | None:
    """The account whose feeds they are; None for the household."""
    return None if is_household(request.actor) else int(request.actor["id"])


def _row(feed: Feed) -> tuple[int, str, str]:
    made, read = (datetime.fromtimestamp(t, UTC).date().isoformat() if t else "" for t in (feed.made_at, feed.read_at))
    return feed.id, made, read


async def _page(datasette: Any, request: Any, address: str = "", words: str = "") -> CalendarPage:
    person, people = _person(request), house(datasette)
    if not people.path.exists():
        return CalendarPage([], address, words)
    found = await people.work(lambda connection: feeds.feeds(connection, person))
    return CalendarPage([_row(feed) for feed in found], address, words)


@page("formats/calendar.html", needs="calendar")
async def own(datasette: Any, request: Any) -> CalendarPage:
    return await _page(datasette, request)


@page("formats/calendar.html", needs="calendar", methods=("POST",))
async def make(datasette: Any, request: Any) -> Any:
    await posted(request)
    person = _person(request)
    try:
        token = await house(datasette).work(lambda connection: feeds.make(connection, person))
    except feeds.TooMany:
        words = f"You have {feeds.MOST} calendars: take one back first."
        return await html(datasette, request, "formats/calendar.html", await _page(datasette, request, "", words))
    scheme = "https" if is_secure(request) else "http"
    address = f"{scheme}://{request.host}/calendar/{token}.ics"
    return await _page(datasette, request, address)


@page("formats/calendar.html", needs="calendar", methods=("POST",))
async def revoke(datasette: Any, request: Any) -> Any:
    text, person = (await posted(request)).get("feed", ""), _person(request)
    number = whole(text) or 0
    done = await house(datasette).work(lambda connection: feeds.revoke(connection, person, number))
    words = "Taken back: its address answers nobody any more." if done else "There is no such calendar of yours."
    return await _page(datasette, request, "", words)


async def read(datasette: Any, request: Any) -> Response:
    """The feed behind an address. A wrong one, a taken back one and one of somebody who left are alike: not there."""
    people, token = house(datasette), request.url_vars.get("token", "")
    if request.method not in {"GET", "HEAD"} or not people.path.exists():
        return _none()
    who = await people.work(lambda connection: feeds.reader(connection, token))
    if who is None:
        return _none()
    now = datetime.now(UTC).replace(microsecond=0)

    def work(connection: sqlite3.Connection) -> bytes:
        return calendar(settings(connection)["name"], days_of(connection, who[1]), now)

    text = (await query(datasette, work)).decode("utf-8")
    return Response(text, headers=FRESH, content_type="text/calendar; charset=utf-8")


def _none() -> Response:
    return Response(NO_FEED, status=404, headers=FRESH, content_type="text/plain; charset=utf-8")
