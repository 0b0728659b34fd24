"""/suppliers and /suppliers/ID: the record, the rows behind it, and the same rows as files."""

from __future__ import annotations

import sqlite3
from dataclasses import asdict, dataclass
from datetime import date
from fractions import Fraction
from typing import Any

from stillroom.db.kitchen import settings
from stillroom.db.kitchen import today as kitchen_day
from stillroom.db.limits import Rule
from stillroom.plugins.core.charts import step_chart
from stillroom.plugins.core.export import page_or_file
from stillroom.plugins.core.format import large
from stillroom.plugins.core.pages import NotFound, page, query
from stillroom.plugins.suppliers.compute import (
    ItemRecord,
    Line,
    Record,
    by_item,
    most_priced,
    price_history,
    record,
    rules_of,
)
from stillroom.plugins.suppliers.rows import Filter, ask, read_filter, read_lines, read_reaches
from stillroom.plugins.suppliers.said import COLUMNS, Apart, item_json, item_said, line_said, plain, signed

SHOWN = 50


@dataclass(frozen=True)
class Suppliers:
    """Every supplier with its record."""

    chosen: Filter
    rows: list[tuple[str, str, str, Record]]

    @property
    def changes(self) -> dict[str, str]:
        """What the prices of each did over the span."""
        return {i: signed(r.price_change) for i, _, _, r in self.rows}

    def as_json(self) -> dict[str, Any]:
        rows = [{"id": i, "name": n, "kind": k, **plain(asdict(r))} for i, n, k, r in self.rows]
        return {"from": self.chosen.since, "to": self.chosen.until, "suppliers": rows}


@page("suppliers/list.html", needs="suppliers")
async def suppliers(datasette: Any, request: Any) -> Suppliers:
    def work(connection: sqlite3.Connection) -> Suppliers:
        chosen = read_filter(request.args, kitchen_day(connection))
        lines = read_lines(connection, "", chosen)
        return Suppliers(chosen, [(i, n, k, record(lines.get(i, []))) for i, n, k in ask(connection, "suppliers")])

    return await query(datasette, work)


@dataclass(frozen=True)
class Supplier:
    """One supplier: its record, the rows behind it (newest first), prices of one item, and what it reaches."""

    id: str
    name: str
    kind: str
    place: str
    chosen: Filter
    currency: str
    figures: Record
    items: list[ItemRecord]
    rules: list[Rule]
    lines: list[Line]
    apart: list[Apart]
    choices: list[tuple[str, str]]
    chart: Any
    chart_item: str
    reaches: list[tuple[str, str, list[str]]]
    units: str

    @property
    def degrees(self) -> str:
        """The scale of what was measured at the door."""
        return "°C" if self.units == "metric" else "°F"

    @property
    def change(self) -> str:
        """What prices did over the span."""
        return signed(self.figures.price_change)

    @property
    def shown(self) -> list[dict[str, str]]:
        """The first rows as the page says them."""
        return [line_said(line, self.chosen.today, self.units) for line in self.lines[:SHOWN]]

    @property
    def item_rows(self) -> list[dict[str, str]]:
        """The items as the page says them."""
        return [item_said(x) for x in self.items]

    @property
    def table(self) -> list[list[Any]]:
        """All rows as numbers and text, goods before what is kept apart."""
        return [[says(line) for says in COLUMNS.values()] for line in self.lines] + [a.cells for a in self.apart]

    def as_json(self) -> dict[str, Any]:
        return {
            "supplier": {"id": self.id, "name": self.name, "kind": self.kind, "place": self.place},
            "from": self.chosen.since,
            "to": self.chosen.until,
            "item": self.chosen.item or None,
            "currency": self.currency,
            "figures": plain(asdict(self.figures)),
            "items": [item_json(x) for x in self.items],
            "rows": [dict(zip(COLUMNS, row, strict=True)) for row in self.table],
            "dishes": [{"id": i, "name": n, "items": items} for i, n, items in self.reaches],
        }


@page("suppliers/supplier.html", needs="suppliers")
async def supplier(datasette: Any, request: Any) -> Any:
    wanted = request.url_vars["supplier"]
    answer: Supplier = await query(datasette, lambda connection: _supplier(connection, wanted, request.args))
    name = f"{wanted}-{answer.chosen.since}-{answer.chosen.until}"
    return await page_or_file(request, answer, name, list(COLUMNS), lambda: answer.table)


def _supplier(connection: sqlite3.Connection, wanted: str, args: Any) -> Supplier:
    row = connection.execute("select id, name, kind, place from suppliers where id = ?", (wanted,)).fetchone()
    if row is None:
        raise NotFound("There is no supplier of that name. The page Suppliers lists all.")
    today = kitchen_day(connection)
    chosen, said = read_filter(args, today), settings(connection)
    lines = read_lines(connection, wanted, chosen).get(wanted, [])
    return Supplier(
        id=row[0],
        name=row[1],
        kind=row[2],
        place=row[3],
        chosen=chosen,
        currency=said["currency"],
        units=said["units"],
        figures=record(lines),
        items=by_item(lines),
        rules=rules_of(lines),
        lines=lines[::-1],
        apart=[_apart(*found) for found in ask(connection, "apart", **chosen.on(wanted))],
        choices=ask(connection, "items", supplier=wanted),
        chart=_chart(lines, chosen.item or most_priced(lines)),
        chart_item=_chart_item(lines, chosen.item or most_priced(lines)),
        reaches=read_reaches(connection, wanted, chosen.item, today.isoformat()),
    )


def _apart(*row: Any) -> Apart:
    on, kind, item, unit, quantity, price, document, note = row
    return Apart(on, kind, item, unit, Fraction(quantity), None if price is None else Fraction(price), document, note)


def _chart_item(lines: list[Line], item: str) -> str:
    """What the chart shows: 'butter, salted, per kg'; '' where there is nothing to show."""
    first = next((x for x in lines if x.item_id == item and x.unit_price is not None), None)
    return f"{first.item}, per {large(first.unit)[0]}" if first else ""


def _chart(lines: list[Line], item: str) -> Any:
    """Price over time of one item; None without a known price."""
    history = price_history(lines, item)
    if not history:
        return None
    size = large(next(x.unit for x in lines if x.item_id == item))[1]
    points = [(date.fromisoformat(on), float(price * size)) for on, price in history]
    span = f"{history[0][0]} to {history[-1][0]}"
    alt = f"Price of {_chart_item(lines, item)}, {span}: {points[0][1]:.2f} to {points[-1][1]:.2f}"
    return step_chart(points, alt, f"{points[-1][1]:.2f}")
