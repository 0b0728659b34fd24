"""/orders: every supplier's next order; /orders/SUPPLIER: one, to change, send and print."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any
from urllib.parse import urlencode

from datasette.utils.asgi import Response
from stillroom.db.connect import write
from stillroom.db.exact import exact_text, nine_places
from stillroom.db.log import append
from stillroom.db.quantity import ReadError, read_number, read_quantity
from stillroom.db.units import to_base
from stillroom.plugins.core.auth import DATABASE
from stillroom.plugins.core.export import page_or_file
from stillroom.plugins.core.forms import posted, request_id
from stillroom.plugins.core.pages import NotFound, data, html, page, query
from stillroom.plugins.core.sign import writer
from stillroom.plugins.core.sure import FIELD, Ask, far, is_sure, refusal, refused
from stillroom.plugins.orders.answer import COLUMNS, OrderSaid, file_rows, order_said, unknown
from stillroom.plugins.orders.compute import STEPS
from stillroom.plugins.orders.rows import Asked, Market, Order, orders_of, read_market

MOST = 10**9


@dataclass(frozen=True)
class Orders:
    """All orders, those with lines first.

    unknown: what is not written down yet, so that nothing, or not much, tells what will be wanted.
    """

    day: str
    clock: str
    orders: list[OrderSaid]
    said: str = ""
    unknown: str = ""


@dataclass(frozen=True)
class One:
    """One supplier's order with its form."""

    day: str
    order: OrderSaid
    request_id: str
    said: str = ""
    wrong: str = ""
    typed: dict[str, str] | None = None
    saw: dict[str, str] | None = None  # the numbers that the form showed first
    asks: dict[str, Ask] = field(default_factory=dict)


@page("orders/all.html", needs="orders")
async def orders(datasette: Any, request: Any) -> Any:
    def work(connection: sqlite3.Connection) -> Orders:
        market = read_market(connection)
        said = [order_said(market, order) for order in orders_of(market)]
        return Orders(market.coming.today.isoformat(), market.clock, said, unknown=unknown(market.coming))

    found = await query(datasette, work)
    answer = replace(found, said=(request.args.get("said") or "")[:200])
    return await page_or_file(request, answer, f"orders-{found.day}", COLUMNS, lambda: file_rows(found.orders))


def find(connection: sqlite3.Connection, supplier: str) -> tuple[Market, Order]:
    """One supplier's order.

    Raises:
        NotFound: nobody of that name is bought from.
    """
    market = read_market(connection)
    order = next((o for o in orders_of(market) if o.supplier.id == supplier), None)
    if order is None:
        raise NotFound("The kitchen buys from nobody of that name. Look on the page Orders.")
    return market, order


@page("orders/one.html", needs="orders")
async def one(datasette: Any, request: Any) -> Any:
    market, order = await query(datasette, lambda c: find(c, request.url_vars["supplier"]))
    said = order_said(market, order)
    answer = One(market.coming.today.isoformat(), said, request_id(), (request.args.get("said") or "")[:200])
    return await page_or_file(
        request, answer, f"order-{said.supplier}-{said.due_on}", COLUMNS, lambda: file_rows([said])
    )


@page("orders/one.html", needs="orders", methods=("POST",))
async def change(datasette: Any, request: Any) -> Any:
    """What a person changed is kept; with `send`, the order as it then stands is sent and expected at the door."""
    fields = await posted(request, 200_000)
    supplier = request.url_vars["supplier"]
    market, order = await query(datasette, lambda c: find(c, supplier))
    who = await writer(datasette, request, fields)
    if isinstance(who, str):
        return await _again(datasette, request, (market, order), fields, who)
    if not order.ahead or fields.get("due_on") != order.ahead[0].due_on.isoformat():
        return await _again(datasette, request, (market, order), fields,
                            "The cut-off has passed: this is the next delivery. Nothing was written.")  # fmt: skip
    try:
        lines = [typed_line(market, a, fields[f"n-{a.item.id}"]) for a in order.lines if f"n-{a.item.id}" in fields]
    except ReadError as error:
        return await _again(datasette, request, (market, order), fields, refusal(error))
    asks = _asks(order, lines, fields)
    if asks:
        words = "Nothing was written: look at the numbers that are asked about."
        return await _again(datasette, request, (market, order), fields, words, asks)
    is_sent = fields.get("do") == "send"
    as_data = request.path.endswith(".json")
    if is_sent and order.sent_by:
        words = f"This order was sent already, by {order.sent_by}. Nothing was written."
        return refused(words) if as_data else _back(supplier, words)
    request_name = fields.get("request_id", "")[:60] or request_id()
    work = _Write(market, order, lines, _untouched(order, fields), request_name, who.name, is_sent)
    await write(datasette.get_database(DATABASE), work.rows)
    words = "Sent: it is expected at the door." if is_sent else "Kept."
    return data({"written": True, "said": words}) if as_data else _back(supplier, words)


def _asks(order: Order, lines: list[Asked], fields: dict[str, str]) -> dict[str, Ask]:
    """Item -> the question about a number far above what stands there, the sums say, or one pack is."""
    stood, found = {a.item.id: a for a in order.lines}, {}
    for one in lines:
        before = stood[one.item.id]
        least = one.product.pack_quantity if one.packs is not None else STEPS[one.item.unit][0]
        usual = max(before.quantity, before.was or Fraction(0), least or Fraction(1))
        small = "one pack" if one.packs is not None else "a small order"
        of = f"{small if usual == least else 'what was to be ordered'} of {one.item.name}"
        typed = fields[f"n-{one.item.id}"].strip()
        doubt = far(f"{typed} packs" if one.packs is not None else typed, one.quantity, usual, of)
        if doubt is not None and not is_sure(fields, doubt, f"{FIELD}-{one.item.id}"):
            found[one.item.id] = doubt
    return found


def _untouched(order: Order, fields: dict[str, str]) -> set[str]:
    items = {a.item.id for a in order.lines if not a.by}
    return {i for i in items if f"saw-{i}" in fields and fields.get(f"n-{i}") == fields[f"saw-{i}"]}


def typed_line(market: Market, asked: Asked, text: str) -> Asked:
    """A line with the number that a person left in the form: packs, or a quantity where it comes by weight.

    Raises:
        ReadError: it can't be read.
    """
    mark = market.coming.said["decimal mark"]
    text = text.strip() or "0"
    if asked.packs is not None:
        packs = read_number(text, mark)
        if packs < 0 or packs.denominator != 1 or packs > MOST:
            what = f"{text[:20]} packs of {asked.item.name} can't be ordered"
            fix = f"write a whole number of packs of {asked.product.pack}: 1, 2, 3, or 0 for none"
            raise ReadError("quantity-bad", what, "", fix)
        return replace(asked, packs=packs, quantity=packs * (asked.product.pack_quantity or Fraction(1)))
    said = read_quantity(text, mark, market.coming.said["units"])
    quantity = said.number if said.number == 0 else to_base(
        said.number, said.unit_text or asked.item.unit, asked.item.unit, {}, market.coming.said["units"])  # fmt: skip
    if not 0 <= quantity < MOST:
        what = f"{text[:20]} of {asked.item.name} can't be ordered"
        fix = f"write a quantity above nothing, as 1{mark}5 kg or 12, or 0 for none"
        raise ReadError("quantity-low", what, "", fix)
    return replace(asked, quantity=nine_places(quantity))


@dataclass(frozen=True)
class _Write:
    market: Market
    order: Order
    lines: list[Asked]
    untouched: set[str]  # items whose number stands as the page showed it, whatever the sums say by now
    request: str
    who: str
    is_sent: bool

    def rows(self, connection: sqlite3.Connection) -> None:
        """A row for each changed line; for a sent order one for each line, and what is now expected at the door."""
        before = {a.item.id: a for a in self.order.lines}
        for one in self.lines:
            was, is_same = before[one.item.id], one.item.id in self.untouched
            if self.is_sent or (one.quantity != was.quantity and not is_same):
                self._line(connection, one, one.quantity if is_same else was.quantity if was.was is None else was.was)
            if self.is_sent and one.quantity > 0:
                self._expected(connection, one)

    def _common(self, name: str) -> dict[str, Any]:
        return {"request_id": f"{self.request}-{name}", "actor": self.who, "origin": "web",
                "supplier_id": self.order.supplier.id, "due_on": self.order.ahead[0].due_on.isoformat()}  # fmt: skip

    def _line(self, connection: sqlite3.Connection, one: Asked, sums: Fraction) -> None:
        append(connection, "order_lines", {
            **self._common(one.item.id), "item_id": one.item.id, "product_id": one.product.id, "unit": one.item.unit,
            "packs": None if one.packs is None else exact_text(one.packs), "quantity": exact_text(one.quantity),
            "state": "sent" if self.is_sent else "changed", "sums": exact_text(nine_places(sums)),
        })  # fmt: skip

    def _expected(self, connection: sqlite3.Connection, one: Asked) -> None:
        due = self.order.ahead[0].due_on.isoformat()
        append(connection, "deliveries", {
            **self._common(f"{one.item.id}-due"), "item_id": one.item.id, "product_id": one.product.id,
            "unit": one.item.unit, "ordered_on": self.market.coming.today.isoformat(), "received_on": due,
            "ordered": exact_text(one.quantity), "received": "0",
        })  # fmt: skip


def _back(supplier: str, words: str) -> Response:
    return Response.redirect(f"/orders/{supplier}?{urlencode({'said': words})}", status=303)


async def _again(
    datasette: Any, request: Any, found: tuple[Market, Order], fields: dict[str, str], words: str,
    asks: dict[str, Ask] | None = None,
) -> Response:  # fmt: skip
    """The form again with what was typed, why nothing was written, a box for each number asked about; or as data."""
    (market, order), asks = found, asks or {}
    if request.path.endswith(".json"):
        said = " ".join([words, *(doubt.question for doubt in asks.values())])
        return refused(said, {f"{FIELD}-{item}": doubt.said for item, doubt in asks.items()})
    typed = {name[2:]: value[:40] for name, value in fields.items() if name.startswith("n-")}
    saw = {name[4:]: value[:40] for name, value in fields.items() if name.startswith("saw-")}
    name = fields.get("request_id", "") or request_id()
    shown = One(market.coming.today.isoformat(), order_said(market, order), name, "", words, typed, saw, asks)
    return await html(datasette, request, "orders/one.html", shown, status=400)
