"""What is on hand: the last count, what came or was made since, less what left since. Sums pure, reading at the end.

Portions and by-products of a breakdown are made on its day, each once (`cut_up`). Used by everything that must know a
stock: short supply, the prep list, orders.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from typing import Any

from stillroom.db.cut_up import CutUp, read_cut_up, read_taken
from stillroom.db.earlier_lines import read_earlier, takings
from stillroom.db.kitchen import settings
from stillroom.db.log import instant
from stillroom.db.named_sql import load
from stillroom.db.services import read_services

ZERO = Fraction(0)
RANK = {"made": 0, "came": 0, "used": 1, "discarded": 1, "count": 2}  # of one day; what is after its count comes then


@dataclass(frozen=True)
class Event:
    """Something written down about one thing.

    what: 'count' (what is there), 'made' (a batch), 'came' (a delivery less what was sent back), 'used', 'discarded'.
    quantity [base unit of the thing]; use_by is the last day of use; lot is the batch meant, where that was said; cut
    is the code of the breakdown that it came out of; is_after: on the day of a count, later than it.
    """

    day: str
    what: str
    quantity: Fraction
    use_by: str | None = None
    lot: int | None = None
    is_frozen: bool = False
    cut: str = ""
    is_after: bool = False


@dataclass(frozen=True)
class Lot:
    """Part of what is on hand [base unit of the thing]; use_by None = no last day was written down."""

    quantity: Fraction
    use_by: str | None = None
    lot: int | None = None
    is_frozen: bool = False
    cut: str = ""

    def is_in_date(self, day: str) -> bool:
        """Whether it may still be used on a day: its last day of use counts."""
        return self.use_by is None or self.use_by >= day


@dataclass(frozen=True)
class Stock:
    """What is on hand of one thing and may still be used; on_hand is None where nobody counted or made it.

    missing: what left since the last count beyond what was there [base unit]; above 0 the records are wrong somewhere.
    """

    lots: tuple[Lot, ...] = ()
    counted_on: str | None = None
    is_known: bool = False
    missing: Fraction = ZERO

    @property
    def on_hand(self) -> Fraction | None:
        """Sum of the lots [base unit of the thing]."""
        return _sum(self.lots) if self.is_known else None


def stock(events: Iterable[Event], day: str) -> Stock:
    """What is on hand at `day`: the last count, what came or was made since, less what left since; nothing out of date.

    A delivery alone makes nothing known: who never counted doesn't know what was there before it.
    """
    lots: list[Lot] = []
    counted_on, is_known, missing = None, False, ZERO
    for event in sorted(events, key=lambda e: (e.day, e.is_after, RANK[e.what])):
        if event.what in {"made", "came"}:
            lots.append(Lot(event.quantity, event.use_by, event.lot, event.is_frozen, event.cut))
        elif event.what == "count":
            lots, counted_on, missing = _counted(lots, event.quantity), event.day, ZERO
        else:
            before, lots = lots, _taken(lots, event)
            missing += max(ZERO, event.quantity - _sum(before) + _sum(lots))
        is_known = is_known or event.what in {"made", "count"}
    return Stock(tuple(x for x in lots if x.is_in_date(day) and x.quantity > 0), counted_on, is_known, missing)


def _sum(lots: Iterable[Lot]) -> Fraction:
    return sum((x.quantity for x in lots), ZERO)


def _counted(lots: list[Lot], quantity: Fraction) -> list[Lot]:
    """The lots after a count: the newest are still there; what no lot explains has no known last day of use."""
    over = _sum(lots) - quantity
    return [*lots, Lot(-over)] if over < 0 else _less(lots, over)


def _taken(lots: list[Lot], event: Event) -> list[Lot]:
    """The lots after something left: from the batch that was named, else the oldest first, and used only if in date."""
    if event.lot is not None:
        named = [x for x in lots if x.lot == event.lot]
        return [x for x in lots if x.lot != event.lot] + _less(named, event.quantity)
    spent = [x for x in lots if event.what == "used" and not x.is_in_date(event.day)]
    return spent + _less([x for x in lots if x not in spent], event.quantity)


def _less(lots: list[Lot], quantity: Fraction) -> list[Lot]:
    """The lots less a quantity, first lot first; never below nothing."""
    left = []
    for lot in lots:
        taken = min(lot.quantity, quantity)
        quantity -= taken
        left.append(replace(lot, quantity=lot.quantity - taken))
    return [x for x in left if x.quantity > 0]


def purchased(quantity: Fraction, edible_yield: Fraction | None) -> Fraction:
    """AP quantity of an EP quantity [same unit]: AP = EP / yield."""
    return quantity if edible_yield is None else quantity / edible_yield


@dataclass(frozen=True)
class Counts:
    """The last count of each thing: its day, and the instant [UTC] where one was said; without, the day's end."""

    of: Mapping[str, tuple[str, str | None]]

    def is_after(self, thing: str, day: str, at: str | None) -> bool:
        """Whether what happened at an instant of a day is later than a count of that day."""
        counted, when = self.of.get(thing, ("", None))
        return counted == day and when is not None and at is not None and at > when

    def is_in(self, thing: str, day: str, at: str | None) -> bool:
        """Whether it is in what was counted already."""
        counted, _ = self.of.get(thing, ("", None))
        return day < counted or (day == counted and not self.is_after(thing, day, at))


def counted(rows: Iterable[tuple[Fraction, str | None, str | None, int]]) -> tuple[Fraction, str | None]:
    """What one day's counts of a thing come to, and when the last of them was.

    The later count of a station stands for the earlier; stations are added up, and a count that names none is of all.

    Args:
        rows: quantity, station, instant [UTC], id; None: no station, and the end of the day.
    """
    found: dict[str | None, Fraction] = {}
    in_order = sorted(rows, key=lambda r: (r[2] or "9", r[3]))
    for quantity, station, _, _ in in_order:
        if station is None or None in found:
            found = {}
        found[station] = quantity
    return sum(found.values(), ZERO), in_order[-1][2]


def read_stock(connection: sqlite3.Connection, things: Iterable[str], day: str) -> dict[str, Stock]:
    """What is on hand of items and recipes, by id."""
    ids = json.dumps(list(things))
    events: dict[str, list[Event]] = {thing: [] for thing in json.loads(ids)}
    rows = _ask(connection, "events", ids=ids, day=day)
    cut_up = read_cut_up(connection, min((on for _, _, on, *_ in rows), default=day), day)
    counts = _counts(rows, events)
    for thing, what, on, quantity, less, use_by, lot, frozen, _, at in rows:
        number = cut_up.same.made.get(lot) if what == "made" else None
        number = Fraction(quantity) - Fraction(less) if number is None else number
        is_after = counts.is_after(thing, on, at)
        if what == "count" or (what == "came" and counts.is_in(thing, on, at)):
            continue
        events[thing].append(Event(on, what, number, use_by, lot, bool(frozen), is_after=is_after))
    for thing, event in _cut(cut_up, events, counts, day):
        events[thing].append(event)
    draws = _draws(connection, events, cut_up, counts, day)
    return {thing: stock(_with_draws(written, draws.get(thing, [])), day) for thing, written in events.items()}


def _counts(rows: Iterable[tuple[Any, ...]], events: dict[str, list[Event]]) -> Counts:
    """The last counts of things, which are put among their events."""
    said: dict[str, tuple[str, list[tuple[Fraction, str | None, str | None, int]]]] = {}
    for thing, what, on, quantity, _, _, ident, _, station, at in rows:
        if what == "count":
            said.setdefault(thing, (on, []))[1].append((Fraction(quantity), station, at, ident))
    found = {}
    for thing, (on, of) in said.items():
        quantity, when = counted(of)
        events[thing].append(Event(on, "count", quantity))
        found[thing] = (on, when)
    return Counts(found)


def _cut(cut_up: CutUp, events: Mapping[str, Sequence[Event]], counts: Counts, day: str) -> list[tuple[str, Event]]:
    """What breakdowns gave beyond batches, as far as it may be on hand.

    A by-product that is bought too is like goods that came: without a count nobody knows what was there before it.
    """
    found = []
    for part in cut_up.parts:
        quantity, since = cut_up.same.more[part.id], counts.of.get(part.thing, (day, None))[0]
        is_there = part.thing in events and quantity > 0 and (part.last_on or "9") >= since
        if is_there and not (part.is_item and counts.is_in(part.thing, part.day, part.at)):
            what = "came" if part.is_bought else "made"
            found.append((part.thing, Event(part.day, what, quantity, part.last_on, cut=part.code,
                                            is_after=counts.is_after(part.thing, part.day, part.at))))  # fmt: skip
    return found


def _draws(
    connection: sqlite3.Connection, events: Mapping[str, Sequence[Event]], cut_up: CutUp, counts: Counts, day: str
) -> dict[str, list[Event]]:
    """What batches, plates and breakdowns took of each thing; a batch that a breakdown weighed took what that says.

    Each by the recipe of its day. Plates leave when the doors open to them: of a count in the middle of a service
    nobody knows which were gone.
    """
    first = {thing: min(e.day for e in written) for thing, written in events.items() if written}
    since, oldest = json.dumps(first), min(first.values(), default=day)
    found: dict[str, list[Event]] = {}
    opens = _openings(connection, {on for on, when in counts.of.values() if when is not None})
    earlier = read_earlier(connection, oldest)

    def take(thing: str, on: str, taken: Fraction, at: str | None, service: str | None) -> None:
        when = at if service is None else opens.get((on, service.strip().casefold()), opens.get((on, "")))
        found.setdefault(thing, []).append(Event(on, "used", taken, is_after=counts.is_after(thing, on, when)))

    rows = _ask(connection, "draws", since=since, day=day)
    for thing, on, batch, made, quantity, share, ident, at, service, recipe in rows:
        if earlier.is_of_now(recipe, on):
            own = cut_up.same.own.get(ident, Fraction(batch))
            each = purchased(Fraction(quantity), Fraction(share) if share else None) / Fraction(made)
            take(thing, on, each * own, at, service)
    for taking in takings(connection, earlier, oldest, day) if earlier.states else ():
        line, own = taking.line, cut_up.same.own.get(taking.ident or 0, taking.quantity)
        if first.get(line.thing, "9") <= taking.on:
            take(line.thing, taking.on, purchased(line.each, line.share) * own, taking.at, taking.service)
    for thing, on, taken, at in read_taken(connection, since, cut_up, day) if cut_up.parts else []:
        take(thing, on, taken, at, None)
    return found


def _openings(connection: sqlite3.Connection, days: Iterable[str]) -> dict[tuple[str, str], str]:
    """(day, service) -> the instant [UTC] it opens; under '' that of the day's first."""
    said, found = settings(connection), {}
    for on in days:
        for service in reversed(read_services(connection, said, date.fromisoformat(on), 1)):
            found[on, service.name.strip().casefold()] = found[on, ""] = instant(service.opens)
    return found


def _with_draws(written: list[Event], draws: list[Event]) -> list[Event]:
    """Uses written down, or what batches and plates call for where that is more: one use is not taken off twice."""
    last = max((e.day for e in written if e.what == "count"), default="")
    used = [e for e in written if e.what == "used"]

    def since(events: list[Event]) -> Fraction:
        return sum((e.quantity for e in events if e.day > last or e.is_after), ZERO)

    return [e for e in written if e.what != "used"] + (draws if since(draws) > since(used) else used)


def _ask(connection: sqlite3.Connection, name: str, **said: str) -> list[tuple[Any, ...]]:
    return connection.execute(load("stillroom.db")[name], said).fetchall()
