"""From the kitchen's file to the records that a trace walks, and the facts of a receipt line."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

from stillroom.plugins.core.format import US, plain
from stillroom.plugins.logbook.book import ask
from stillroom.plugins.logbook.trace import Batch, Goods, Records, Sale, lots_of

# Salt and what is frozen are in use for long: as far back as records are kept, 24 months (21 CFR 1.1455).
BEHIND = timedelta(days=2 * 366)


def read_records(connection: sqlite3.Connection, first: date, today: date) -> Records:
    """Everything on record from two years before `first` until today: what is frozen is used whenever it is thawed."""
    span = {"since": (first - BEHIND).isoformat(), "until": today.isoformat()}
    goods = tuple(Goods(*row) for row in ask(connection, "trace_goods", **span))
    batches = tuple(
        Batch(key, recipe, lot, on, last_on, tuple(code.strip() for code in lots.split(";") if code.strip()))
        for key, recipe, lot, on, last_on, lots in ask(connection, "trace_batches", **span)
    )
    sales = tuple(Sale(*row) for row in ask(connection, "trace_sales", **span))
    lines: dict[str, set[str]] = {}
    for recipe, thing in ask(connection, "trace_lines", first=first.isoformat()):
        lines.setdefault(recipe, set()).add(thing)
    names: dict[str, str] = dict(ask(connection, "trace_names"))
    life = {thing: days for thing, days in ask(connection, "trace_life") if days}
    found = Records(goods, batches, sales, {k: frozenset(v) for k, v in lines.items()}, names, life, today.isoformat())
    return replace(found, lots_of=lots_of(goods, batches))


def days_of_lot(connection: sqlite3.Connection, lot: str) -> tuple[str, str] | None:
    """First and last day on which a lot code was written down; None: it is nowhere."""
    first, last = ask(connection, "trace_days", lot=lot)[0]
    return None if first is None else (first, last)


@dataclass(frozen=True)
class Receipt:
    """The eight facts of 21 CFR 1.1345(a) of one line of goods, with what the kitchen wrote beside them."""

    id: int
    lot_code: str
    quantity: str
    unit: str
    description: str
    from_where: str
    received_where: str
    received_on: str
    lot_source: str
    document: str
    sent_back: str = ""  # how much of `quantity`, in its unit

    @property
    def missing(self) -> list[str]:
        """Facts that nobody wrote down."""
        return [word for key, word in FACTS.items() if not getattr(self, key)]


FACTS = {
    "lot_code": "lot code", "quantity": "quantity and unit", "description": "product",
    "from_where": "where it came from",
    "received_where": "where it was received", "received_on": "day received", "lot_source": "who gave the lot code",
    "document": "kind and number of document",
}  # fmt: skip
COLUMNS = (
    "traceability lot code", "quantity", "unit", "product description", "immediate previous source", "received at",
    "date received", "lot code source", "reference document", "not written down",
    "of it sent back",
)  # fmt: skip


def receipts(
    connection: sqlite3.Connection, said: Mapping[str, str], first: str, last: str, ids: Sequence[int] = ()
) -> list[Receipt]:
    """Receipt lines between two days, or those of some ids, in order of day."""
    wanted = ",".join(str(number) for number in ids)
    here = said["address"] or said["name"]
    return [
        _own_units(_receipt(row, here), said["units"])
        for row in ask(connection, "receipts", first=first, last=last, ids=f",{wanted}," if ids else "")
    ]


def _receipt(row: tuple[Any, ...], here: str) -> Receipt:
    key, lot, many, unit, product, printed, item, supplier, place, shipped, where, on, source, kind, number, back = row
    came = ", ".join(part for part in (supplier, shipped or place) if part)
    return Receipt(
        key, lot, many, unit, printed or product or item, came, where or here, on,
        source or (supplier if lot else ""),
        " ".join(part for part in (kind or ("document" if number else ""), number) if part),
        back,
    )  # fmt: skip


def _own_units(one: Receipt, system: str) -> Receipt:
    """A line in pounds and quarts in a kitchen that reads them, to four decimals; what is counted, as it is."""
    if system != "US" or one.unit not in {"g", "ml"}:
        return one
    unit, size = US[one.unit][0]
    many, back = (said and _four_places(Fraction(said) / size) for said in (one.quantity, one.sent_back))
    return replace(one, quantity=many, sent_back=back, unit=unit)


def _four_places(number: Fraction) -> str:
    return plain(float(number), 4)


def receipt_row(one: Receipt) -> list[Any]:
    """A receipt line as a file has it."""
    return [
        one.lot_code, one.quantity, one.unit, one.description, one.from_where, one.received_where, one.received_on,
        one.lot_source, one.document, "; ".join(one.missing), one.sent_back,
    ]  # fmt: skip
