"""/suppliers and /suppliers/ID: the record, the rows behind it, and the same rows as files."""

from __future__ import annotations

import sqlite3
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

from stillroom.db.kitchen import settings
from stillroom.db.kitchen import today as kitchen_day
from stillroom.db.named_sql import load
from stillroom.db.quantity import ReadError, read_date
from stillroom.plugins.core.charts import step_chart
from stillroom.plugins.core.export import file_response
from stillroom.plugins.core.format import LARGE, day
from stillroom.plugins.core.pages import NotFound, page, query
from stillroom.plugins.suppliers.compute import Line, Record, price_history, record

SHOWN = 50
SPAN = timedelta(days=182)
COLUMNS = (
    "date", "item", "product", "unit", "ordered", "received", "short", "rejected", "reason", "late", "door °F", "limit °F",
    "price per unit", "document", "remark",
)  # fmt: skip


@dataclass(frozen=True)
class Filter:
    """What is asked for: first and last day, and an item or all."""

    since: str
    until: str
    item: str
    wrong: str = ""

    @property
    def query(self) -> str:
        return f"from={self.since}&to={self.until}&item={self.item}"


def _filter(request: Any, today: date) -> Filter:
    """The dates and item of the address; a wrong date is said and the usual span shown."""
    since, until, wrong = (today - SPAN).isoformat(), today.isoformat(), ""
    try:
        since = read_date(request.args.get("from") or since)
        until = read_date(request.args.get("to") or until)
    except ReadError as error:
        wrong = f"{error.what}: {error.fix}."
    if since > until:
        wrong = "The first day is after the last: turned round."
        since, until = until, since
    return Filter(since, until, (request.args.get("item") or "")[:80], wrong)


def _lines(connection: sqlite3.Connection, supplier: str, chosen: Filter) -> dict[str, list[Line]]:
    """Lines by supplier."""
    found: dict[str, list[Line]] = {}
    rows = connection.execute(
        load("stillroom.plugins.suppliers")["lines"],
        {"supplier": supplier, "since": chosen.since, "until": chosen.until, "item": chosen.item},
    )
    for by, on, due, item_id, item, product, unit, ordered, received, rejected, reason, door, limit, way, price, buys, document, note in rows:
        unit_price = Fraction(price) / Fraction(buys) if price is not None and buys else None
        found.setdefault(by, []).append(Line(
            on, due, item_id, item, product, unit, Fraction(ordered) if ordered else None, Fraction(received), Fraction(rejected),
            reason, door, limit, way == "at least", unit_price, document, note,
        ))  # fmt: skip
    return found


@dataclass(frozen=True)
class Suppliers:
    """Every supplier with its record."""

    chosen: Filter
    rows: list[tuple[str, str, str, Record]]

    def as_json(self) -> dict[str, Any]:
        return {"from": self.chosen.since, "to": self.chosen.until,
                "suppliers": [{"id": i, "name": n, "kind": k, **_plain(r)} for i, n, k, r in self.rows]}  # fmt: skip


def _plain(figures: Record) -> dict[str, Any]:
    """Figures as data: shares as numbers 0 to 1, unknown as null."""
    return {k: float(v) if isinstance(v, Fraction) else v for k, v in asdict(figures).items()}


@page("suppliers/list.html", needs="suppliers")
async def suppliers(datasette: Any, request: Any) -> Suppliers:
    def ask(connection: sqlite3.Connection) -> Suppliers:
        chosen = _filter(request, kitchen_day(connection))
        lines = _lines(connection, "", chosen)
        rows = connection.execute(load("stillroom.plugins.suppliers")["suppliers"]).fetchall()
        return Suppliers(chosen, [(i, n, k, record(lines.get(i, []))) for i, n, k, _, _ in rows])

    return await query(datasette, ask)


@dataclass(frozen=True)
class Supplier:
    """One supplier: its record, the rows behind it (newest first), a price chart of one item, and what it reaches."""

    id: str
    name: str
    kind: str
    place: str
    chosen: Filter
    currency: str
    figures: Record
    lines: list[Line]
    items: list[tuple[str, str]]
    chart: Any
    chart_item: str
    reaches: list[tuple[str, str, str]]

    @property
    def shown(self) -> list[tuple[str, ...]]:
        return [_said(line) for line in self.lines[:SHOWN]]

    @property
    def table(self) -> list[list[Any]]:
        """The rows as numbers and text, for files."""
        return [_cells(line) for line in self.lines]

    def as_json(self) -> dict[str, Any]:
        return {"supplier": {"id": self.id, "name": self.name}, "from": self.chosen.since, "to": self.chosen.until, "item": self.chosen.item,
                "figures": _plain(self.figures), "rows": [dict(zip(COLUMNS, row, strict=True)) for row in self.table]}  # fmt: skip


def _cells(x: Line) -> list[Any]:
    name, size = LARGE[x.unit]
    late = None if x.is_late is None else "late" if x.is_late else "on time"
    return [x.received_on, x.item, x.product, name, _number(x.ordered, size), _number(x.received, size), _number(x.short, size),
            _number(x.rejected, size), x.reason, late, x.door_f, x.limit_f,
            None if x.unit_price is None else round(float(x.unit_price * size), 4), x.document, x.note]  # fmt: skip


def _number(quantity: Fraction | None, size: int) -> float | None:
    return None if quantity is None else round(float(quantity / size), 4)


def _said(x: Line) -> tuple[str, ...]:
    cells = _cells(x)
    text = ["–" if c is None else f"{c:g}" if isinstance(c, float) else str(c) for c in cells]
    text[12] = "no price" if x.unit_price is None else f"{float(x.unit_price * LARGE[x.unit][1]):.2f}"
    remark = "; ".join(filter(None, [f"{text[6]} {text[3]} short" if x.short else "", f"sent back: {x.reason}" if x.rejected else "",
                                     "late" if x.is_late else "", x.note]))  # fmt: skip
    return (day(x.received_on), x.item, text[3], text[4], text[5], text[10], text[12], remark, "bad" if x.is_out_of_range else "")


@page("suppliers/supplier.html", needs="suppliers")
async def supplier(datasette: Any, request: Any) -> Any:
    wanted = request.url_vars["supplier"]
    answer = await query(datasette, lambda connection: _supplier(connection, wanted, request))
    kind = request.url_vars.get("kind")
    if kind in {"csv", "xlsx"}:
        return await file_response(kind, COLUMNS, answer.table, f"{wanted}-{answer.chosen.since}-{answer.chosen.until}")
    return answer


def _supplier(connection: sqlite3.Connection, wanted: str, request: Any) -> Supplier:
    row = connection.execute("select id, name, kind, place from suppliers where id = ?", (wanted,)).fetchone()
    if row is None:
        raise NotFound("There is no supplier of that name. The page Suppliers lists all.")
    on, chosen = kitchen_day(connection), _filter(request, kitchen_day(connection))
    lines = _lines(connection, wanted, chosen).get(wanted, [])
    items = connection.execute(
        "select distinct i.id, i.name from products as p join items as i on i.id = p.item_id where p.supplier_id = ? order by i.name", (wanted,)
    ).fetchall()
    reaches = connection.execute(load("stillroom.plugins.suppliers")["reaches"], {"supplier": wanted, "day": on.isoformat()}).fetchall()
    chart, chart_item = _chart(lines, chosen.item)
    return Supplier(*row, chosen, settings(connection)["currency"], record(lines), lines[::-1], items, chart, chart_item, reaches)


def _chart(lines: list[Line], item: str) -> tuple[Any, str]:
    """Price over time of the item chosen, or of the one delivered most often."""
    counted: dict[str, int] = {}
    for line in lines:
        if line.unit_price:
            counted[line.item_id] = counted.get(line.item_id, 0) + 1
    item = item or max(counted, key=lambda i: counted[i], default="")
    first = next((x for x in lines if x.item_id == item), None)
    history = price_history(lines, item)
    if first is None or not history:
        return None, ""
    name, size = LARGE[first.unit]
    points = [(date.fromisoformat(on), float(price * size)) for on, price in history]
    alt = f"Price of {first.item} per {name}, {day(history[0][0])} to {day(history[-1][0])}: {points[0][1]:.2f} to {points[-1][1]:.2f}"
    return step_chart(points, alt, f"{points[-1][1]:.2f}"), f"{first.item}, per {name}"


