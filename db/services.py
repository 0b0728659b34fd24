"""The kitchen's services: when they open and close, which are still to be served, what was sold in them."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from stillroom.db.kitchen import at_clock
from stillroom.db.named_sql import asker

ask = asker("stillroom.db")


@dataclass(frozen=True)
class Service:
    """A service ahead; order: its number on its day; opens, closes, prep_from: instants [UTC]."""

    on: date
    name: str
    order: int
    opens: datetime
    closes: datetime
    prep_from: datetime


def read_services(connection: sqlite3.Connection, said: dict[str, str], first: date, days: int) -> list[Service]:
    """Services from a day on, in order of time; none on a day off."""
    closed = {day for (day,) in ask(connection, "closed")}
    week = ask(connection, "service_week")
    found: list[Service] = []
    for on in (first + timedelta(days=n) for n in range(days)):
        rows = [] if on.isoformat() in closed else [row[1:] for row in week if row[0] == on.isoweekday()]
        for order, (name, opens, closes, prep) in enumerate(rows, 1):
            begin, end = at_clock(on, opens, said), at_clock(on, closes, said)
            end = end if end > begin else at_clock(on + timedelta(days=1), closes, said)
            start = at_clock(on, prep, said) if prep else begin - timedelta(hours=5)
            found.append(Service(on, name, order, begin, end, start))
    return found


def part(services: Iterable[Service], now: datetime) -> tuple[list[Service], list[Service]]:
    """(still to be served or under way, over) at an instant; a service is over once it has closed."""
    found = list(services)
    return [s for s in found if s.closes > now], [s for s in found if s.closes <= now]


Sold = Mapping[tuple[str, date, str], int]


def sold_in(rows: Iterable[tuple[str, str, str, int]], services: Sequence[Service]) -> Sold:
    """(dish, day, service) -> plates sold in services of a day.

    Args:
        rows: dish, day, name of the service, plates; without a name they are of the day's only service, and of none
            where it has several: nobody knows which.
        services: those that plates are told apart by, whether over or not.
    """
    by_day: dict[str, list[Service]] = {}
    for service in services:
        by_day.setdefault(service.on.isoformat(), []).append(service)
    found: dict[tuple[str, date, str], int] = {}
    for dish, on, name, plates in rows:
        here = by_day.get(on, [])
        named = [s for s in here if s.name.casefold() == name.strip().casefold()] if name.strip() else here
        if len(named) == 1:
            key = (dish, named[0].on, named[0].name)
            found[key] = found.get(key, 0) + plates
    return found
