"""From the kitchen's file to orders: who sells what, what it costs, what is expected, what people changed."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from typing import Any
from zoneinfo import ZoneInfo

from stillroom.db.coming import Coming, read_coming
from stillroom.db.kitchen import moment
from stillroom.db.named_sql import asker
from stillroom.plugins.orders.compute import Drop, Line, Supplier, There, Wanted, drops, line, packed

ZERO = Fraction(0)
LOOK_AHEAD = 16  # days: the delivery after the next of a weekly supplier, and what keeps until then
OVERDUE = 2  # days after which nobody waits for an order any more


ask = asker("stillroom.plugins.orders")


@dataclass(frozen=True)
class Product:
    """What a supplier sells as an item; each: money for one base unit, None where no price is known."""

    id: str
    supplier: str
    item: str
    name: str
    code: str
    pack: str
    pack_quantity: Fraction | None
    last_on: str
    each: Fraction | None


@dataclass(frozen=True)
class Item:
    """Something that is bought."""

    id: str
    name: str
    category: str
    unit: str
    life_days: int | None


@dataclass(frozen=True)
class Asked:
    """One line of an order: what the sums say, and what a person put in its place.

    by: who changed it; was: what the sums said, at the time of sending where it was sent.
    """

    item: Item
    product: Product
    line: Line
    quantity: Fraction
    packs: Fraction | None
    by: str = ""
    was: Fraction | None = None


@dataclass(frozen=True)
class Order:
    """A supplier's next order."""

    supplier: Supplier
    contact: str
    phone: str
    email: str
    ahead: tuple[Drop, ...]
    lines: tuple[Asked, ...]
    sent_by: str = ""


@dataclass(frozen=True)
class Told:
    """The last word of a person on a line. sums: what the sums said then; None: nobody wrote it down."""

    product: str | None
    packs: Fraction | None
    quantity: Fraction
    state: str
    actor: str
    sums: Fraction | None
    changed_by: str


@dataclass(frozen=True)
class Market:
    """Everything that orders are made from."""

    coming: Coming
    clock: str
    suppliers: Sequence[tuple[Supplier, str, str, str]]
    off: Mapping[str | None, set[date]]
    items: Mapping[str, Item]
    products: Mapping[str, list[Product]]
    there: Mapping[str, list[There]]
    changed: Mapping[tuple[str, str, str], Told]


def read_market(connection: sqlite3.Connection) -> Market:
    """Everything, read once."""
    rows = ask(connection, "items")
    items = {r[0]: Item(*r) for r in rows}
    coming = read_coming(connection, LOOK_AHEAD, items)
    today = coming.today.isoformat()
    at = moment(coming.said).astimezone(ZoneInfo(coming.said["time zone"]))
    suppliers = [
        (Supplier(i, name, days, lead, by, Fraction(least) if least else None), contact, phone, email)
        for i, name, contact, phone, email, by, lead, days, least in ask(connection, "suppliers")
    ]
    off: dict[str | None, set[date]] = {}
    for on, supplier in ask(connection, "off", day=today):
        off.setdefault(supplier, set()).add(date.fromisoformat(on))
    changed = {(s, due, item): _told(rest) for s, due, item, *rest in ask(connection, "lines", day=today)}
    products, there = read_products(connection, today), _there(connection, coming, items)
    return Market(coming, f"{at:%H:%M}", suppliers, off, items, products, there, changed)


def _told(row: Sequence[Any]) -> Told:
    product, packs, quantity, state, actor, sums, changed_by = row
    return Told(product, Fraction(packs) if packs else None, Fraction(quantity), state, actor,
                Fraction(sums) if sums else None, changed_by)  # fmt: skip


def read_products(connection: sqlite3.Connection, today: str) -> dict[str, list[Product]]:
    """Item -> its products, the one that came last first, then the cheapest."""
    came = {p: (on, _each(price, q)) for p, on, price, q in ask(connection, "last_came", day=today)}
    asked = {p: _each(price, q) for p, _, price, q in ask(connection, "quotes", day=today)}
    found: dict[str, list[Product]] = {}
    for i, supplier, item, name, code, pack, quantity in ask(connection, "products"):
        on, each = came.get(i, ("", None))
        found.setdefault(item, []).append(
            Product(i, supplier, item, name, code, pack, Fraction(quantity) if quantity else None, on,
                    each if each is not None else asked.get(i))
        )  # fmt: skip
    for products in found.values():
        products.sort(key=lambda p: (p.each is None, p.each or ZERO, p.id))
        products.sort(key=lambda p: p.last_on, reverse=True)
    return found


def _each(price: str | None, quantity: str | None) -> Fraction | None:
    return Fraction(price) / Fraction(quantity) if price and quantity and Fraction(quantity) else None


def _there(connection: sqlite3.Connection, coming: Coming, items: Mapping[str, Item]) -> dict[str, list[There]]:
    """What is on hand and expected; a delivery that is overdue by two days is not waited for."""
    found: dict[str, list[There]] = {}
    for item in items:
        of = coming.stocks.get(item)
        for lot in of.lots if of else ():
            last = date.fromisoformat(lot.use_by) if lot.use_by else None
            found.setdefault(item, []).append(There(lot.quantity, coming.today, last))
    since = (coming.today - timedelta(days=OVERDUE)).isoformat()
    for _, supplier, item, _, ordered, _, due, _ in ask(connection, "expected", since=since):
        on = max(date.fromisoformat(due), coming.today)
        life = items[item].life_days if item in items else None
        last = on + timedelta(days=life - 1) if life else None
        found.setdefault(item, []).append(There(Fraction(ordered), on, last, (supplier, date.fromisoformat(due))))
    return found


def orders_of(market: Market) -> list[Order]:
    """Every supplier's next order, those with the nearest cut-off first."""
    found = []
    chosen: dict[str, list[Product]] = {}
    for item, products in market.products.items():
        if item in market.items:
            chosen.setdefault(products[0].supplier, []).append(products[0])
    for supplier, contact, phone, email in market.suppliers:
        off = market.off.get(supplier.id, set()) | market.off.get(None, set())
        ahead = tuple(drops(supplier, market.coming.today, market.clock, off))
        lines = _lines(market, supplier, ahead, chosen.get(supplier.id, [])) if ahead else ()
        due = ahead[0].due_on.isoformat() if ahead else ""
        mine = [said for key, said in market.changed.items() if key[:2] == (supplier.id, due)]
        sent = {said.actor for said in mine if said.state == "sent"}
        found.append(Order(supplier, contact, phone, email, ahead, lines, ", ".join(sorted(sent))))
    return sorted(found, key=_nearest)


def _nearest(order: Order) -> tuple[bool, date, str, str]:
    first = order.ahead[0] if order.ahead else None
    on, by = (first.order_on, first.order_by) if first else (date.max, "")
    return not order.lines, on, by, order.supplier.name


def _lines(market: Market, supplier: Supplier, ahead: Sequence[Drop], products: Sequence[Product]) -> tuple[Asked, ...]:
    found = []
    due = ahead[0].due_on.isoformat()
    mine = {p.item: p for p in products}
    for (who, on, item), told in market.changed.items():  # a person's own, whatever the product
        if (who, on) == (supplier.id, due) and item in market.items:
            named = next((p for p in market.products.get(item, ()) if p.id == told.product), None)
            mine[item] = named or mine.get(item) or next(iter(market.products.get(item, ())))
    for product in mine.values():
        one = asked(market, supplier, ahead, product)
        if one.quantity > 0 or one.by or one.line.runs_out_on:
            found.append(one)
    return tuple(sorted(found, key=lambda a: (a.item.category, a.item.name)))


def asked(market: Market, supplier: Supplier, ahead: Sequence[Drop], product: Product) -> Asked:
    """One item's line."""
    coming, item = market.coming, market.items[product.item]
    wanted = [Wanted(n.on, n.quantity) for n in coming.plan.needs.get(item.id, ())]
    mine = (supplier.id, ahead[0].due_on)
    there = [one for one in market.there.get(item.id, ()) if one.order != mine]  # what it brings itself is no reason
    sums = line(wanted, there, lambda on: coming.par(item.id, on), ahead, coming.today, item.life_days)
    quantity, packs = packed(sums.short, product.pack_quantity, item.unit)
    told = market.changed.get((supplier.id, ahead[0].due_on.isoformat(), item.id))
    if told is None:
        return Asked(item, product, sums, quantity, packs)
    was = told.sums if told.state == "sent" else quantity
    by = told.changed_by if told.state == "changed" or (was is not None and was != told.quantity) else ""
    return Asked(item, product, sums, told.quantity, told.packs, by, was if by else None)
