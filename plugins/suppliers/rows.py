"""From the kitchen's file and the address to what the computation of a supplier's record takes."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from typing import Any
from urllib.parse import urlencode

from stillroom.db.limits import Rule
from stillroom.db.named_sql import asker
from stillroom.db.quantity import ReadError, read_date
from stillroom.plugins.suppliers.compute import Line

SPAN = timedelta(days=182)


@dataclass(frozen=True)
class Filter:
    """What is asked for: first and last day, an item or all (''); and the kitchen's day."""

    since: str
    until: str
    item: str
    today: date
    wrong: str = ""

    @property
    def query(self) -> str:
        """The same choice as part of an address."""
        return urlencode({"from": self.since, "to": self.until, "item": self.item})

    def on(self, supplier: str = "") -> dict[str, str]:
        """The same choice as what a question takes."""
        return {"supplier": supplier, "since": self.since, "until": self.until, "item": self.item}


def read_filter(args: Any, today: date) -> Filter:
    """The dates and item of an address, half a year by default; a wrong date is said and the usual one taken."""
    wrong = []
    days = []
    for name, usual in (("from", today - SPAN), ("to", today)):
        try:
            days.append(read_date(args[name]) if args.get(name) else usual.isoformat())
        except ReadError as error:
            wrong.append(f"{error.what}: {error.do}.")
            days.append(usual.isoformat())
    if days[0] > days[1]:
        wrong.append("The first day was after the last: turned round.")
    return Filter(min(days), max(days), (args.get("item") or "")[:80], today, " ".join(wrong))


ask = asker("stillroom.plugins.suppliers")


def read_lines(connection: sqlite3.Connection, supplier: str, chosen: Filter) -> dict[str, list[Line]]:
    """Lines of goods by supplier, in order of day; supplier '' = all."""
    found: dict[str, list[Line]] = {}
    for by, *row in ask(connection, "lines", **chosen.on(supplier)):
        found.setdefault(by, []).append(_line(row))
    return found


def _line(row: list[Any]) -> Line:
    on, due, item_id, item, product_id, product, unit, ordered, received, rejected, reason, door, price, buys, *rest = (
        row
    )
    document, note, *rule = rest
    priced = Fraction(price) / Fraction(buys) if price is not None and buys else None
    return Line(
        on,
        due,
        item_id,
        item,
        product_id,
        product,
        unit,
        Fraction(ordered) if ordered is not None else None,
        Fraction(received),
        Fraction(rejected),
        reason,
        door,
        Rule(*rule) if rule[0] is not None else None,
        priced,
        document,
        note,
    )


def read_reaches(
    connection: sqlite3.Connection, supplier: str, item: str, day: str
) -> list[tuple[str, str, list[str]]]:
    """(dish, its name, names of the supplier's items in it) of each dish on the menu."""
    found: dict[tuple[str, str], list[str]] = {}
    for dish, name, by in ask(connection, "reaches", supplier=supplier, item=item, day=day):
        found.setdefault((dish, name), []).append(by)
    return [(dish, name, items) for (dish, name), items in found.items()]
