"""A calendar feed: days on which something happens, as RFC 5545 says it. Pure.

Source: RFC 5545 (iCalendar): VEVENT with DTSTART as a DATE, DTEND the day after, UID that stays the same, DTSTAMP.
There is no money in a feed, whoever reads it: a calendar is shown on many screens.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta


@dataclass(frozen=True)
class Day:
    """One entry: what happens, on which day. key stays the same when the day or the words change."""

    key: str
    on: date
    what: str
    more: str = ""


def calendar(name: str, days: Iterable[Day], now: datetime) -> bytes:
    """The entries as an iCalendar object, oldest first.

    Args:
        name: of the calendar, as a reader shows it.
        now: UTC, when the entries were made.
    """
    from icalendar import Calendar, Event

    whole = Calendar()
    whole.add("prodid", "-//stillroom//kitchen days//EN")
    whole.add("version", "2.0")
    whole.add("method", "PUBLISH")
    whole.add("x-wr-calname", name)
    for day in sorted(days, key=lambda d: (d.on, d.key)):
        event = Event()
        event.add("uid", f"{day.key}@stillroom")
        event.add("dtstamp", now)
        event.add("dtstart", day.on)
        event.add("dtend", day.on + timedelta(days=1))
        event.add("summary", _clean(day.what))
        if day.more:
            event.add("description", _clean(day.more))
        event.add("transp", "TRANSPARENT")
        whole.add_component(event)
    return bytes(whole.to_ical())


def _clean(text: str) -> str:
    """Text without characters that RFC 5545 does not allow in it."""
    return "".join(c if c.isprintable() or c == "\n" else " " for c in text)[:500]
