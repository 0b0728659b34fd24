"""What is on hand: the last count, what came or was made since, less what left since. Sums pure, reading at the end.

Used by everything that must know a stock: short supply, the prep list, orders.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from stillroom.db.named_sql import load

ZERO = Fraction(0)
RANK = {"made": 0, "came": 0, "used": 1, "discarded": 1, "count": 2}  # a count is taken at the end of its day


@dataclass(frozen=True)
class Event:
    """Something written down about one thing.

    what: 'count' (what is there), 'made' (a batch), 'came' (a delivery less what was sent back), 'used', 'discarded'.
    quantity [base unit of the thing]; use_by is the last day of use; lot is the batch meant, where that was said.
    """

    day: str
    what: str
    quantity: Fraction
    use_by: str | None = None
    lot: int | None = None
    is_frozen: bool = False


@dataclass(frozen=True)
class Lot:
    """Part of what is on hand [base unit of the thing]; use_by None = no last day was written down."""

    quantity: Fraction
    use_by: str | None = None
    lot: int | None = None
    is_frozen: bool = False

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
    for event in sorted(events, key=lambda e: (e.day, RANK[e.what])):
        if event.what in {"made", "came"}:
            lots.append(Lot(event.quantity, event.use_by, event.lot, event.is_frozen))
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


def read_stock(connection: sqlite3.Connection, things: Iterable[str], day: str) -> dict[str, Stock]:
    """What is on hand of items and recipes, by id."""
    ids = json.dumps(list(things))
    events: dict[str, list[Event]] = {thing: [] for thing in json.loads(ids)}
    for thing, what, on, quantity, less, use_by, lot, frozen in _ask(connection, "events", ids=ids, day=day):
        events[thing].append(Event(on, what, Fraction(quantity) - Fraction(less), use_by, lot, bool(frozen)))
    since = json.dumps({thing: min(e.day for e in written) for thing, written in events.items() if written})
    draws: dict[str, list[Event]] = {}
    for thing, on, batch, made, quantity, share in _ask(connection, "draws", since=since, day=day):
        taken = purchased(Fraction(quantity), Fraction(share) if share else None) * Fraction(batch) / Fraction(made)
        draws.setdefault(thing, []).append(Event(on, "used", taken))
    return {thing: stock(_with_draws(written, draws.get(thing, [])), day) for thing, written in events.items()}


def _with_draws(written: list[Event], draws: list[Event]) -> list[Event]:
    """Uses written down, or what batches and plates call for where that is more: one use is not taken off twice."""
    counted = max((e.day for e in written if e.what == "count"), default="")
    used = [e for e in written if e.what == "used"]

    def since(events: list[Event]) -> Fraction:
        return sum((e.quantity for e in events if e.day > counted), ZERO)

    return [e for e in written if e.what != "used"] + (draws if since(draws) > since(used) else used)


def _ask(connection: sqlite3.Connection, name: str, **said: str) -> list[tuple[Any, ...]]:
    return connection.execute(load("stillroom.db")[name], said).fetchall()
