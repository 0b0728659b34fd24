"""Orders in words: lines, totals, and the text that goes to a supplier. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from urllib.parse import quote

from stillroom.db.coming import Coming
from stillroom.db.cook_units import THIN, say, style_of
from stillroom.db.doubts import DOUBTS
from stillroom.db.exact import exact_text
from stillroom.plugins.core.format import day, money, near_day
from stillroom.plugins.orders.compute import below_minimum, packed
from stillroom.plugins.orders.rows import Asked, Market, Order


@dataclass(frozen=True)
class LineSaid:
    """One line of an order as a person reads it. amount: the number in the form: packs, or the quantity in words."""

    item: str
    name: str
    product: str
    code: str
    pack: str
    amount: str
    quantity: str
    why: str
    price: str
    by: str
    was: str
    notes: tuple[str, ...]
    is_by_weight: bool = False
    is_doubtful: bool = False


@dataclass(frozen=True)
class OrderSaid:
    """One supplier's next order."""

    supplier: str
    name: str
    contact: str
    phone: str
    email: str
    due: str
    due_on: str
    then: str
    cut_off: str
    lines: list[LineSaid]
    total: str
    lacks: str
    unpriced: int
    notes: tuple[str, ...]
    text: str
    mail: str
    sent_by: str
    currency: str


def unknown(coming: Coming) -> str:
    """What keeps orders from asking for what is needed: nothing sold yet, and no par; '' where there is either."""
    if any(service.covers for service in coming.log):
        return ""
    if coming.pars:
        return "Nothing was sold yet that could tell what will be wanted: orders are made from pars alone."
    return ("Nothing was sold yet and no par is written: nothing can tell what will be wanted, so nothing is asked for "
            "here. Fill in pars, and write down the plates sold.")  # fmt: skip


def order_said(market: Market, order: Order) -> OrderSaid:
    """An order with its text."""
    today, currency = market.coming.today, market.coming.said["currency"]
    lines = [line_said(market, one) for one in order.lines]
    bought = [one for one in order.lines if one.quantity > 0]
    known = [one.quantity * one.product.each for one in bought if one.product.each is not None]
    total, unpriced = sum(known, Fraction(0)), len(bought) - len(known)
    lacks = below_minimum(total if bought and not unpriced else None, order.supplier.minimum)
    first = order.ahead[0] if order.ahead else None
    text = text_of(market, order)
    least = money(order.supplier.minimum, currency)
    below = f"{money(lacks, currency)} below their minimum of {least}: order more, or leave it to the next delivery"
    return OrderSaid(
        order.supplier.id, order.supplier.name, order.contact, order.phone, order.email,
        near_day(first.due_on, today) if first else "", first.due_on.isoformat() if first else "",
        near_day(order.ahead[1].due_on, today) if len(order.ahead) > 1 else "", _cut_off(order, today), lines,
        money(total, currency) if known else "", below if lacks else "", unpriced,
        _notes(market, order), text, _mail(market, order, text), order.sent_by, currency,
    )  # fmt: skip


def _cut_off(order: Order, today: date) -> str:
    if not order.ahead:
        return "no delivery in the six weeks ahead"
    first = order.ahead[0]
    by = f" by {first.order_by}" if first.order_by else ""
    return f"{near_day(first.order_on, today)}{by}"


def _notes(market: Market, order: Order) -> tuple[str, ...]:
    today, found = market.coming.today, []
    wrong = [a.item.name for a in order.lines if a.item.id in market.coming.doubts]
    if wrong:
        found.append(f"What is there is in doubt: {', '.join(wrong)}. Count before you send.")
    if not order.supplier.delivers_on:
        found.append("No delivery days are written down: it is taken to come any day.")
    early = sorted({a.line.runs_out_on for a in order.lines if a.line.runs_out_on})
    if early and order.ahead:
        found.append(f"Something runs out {near_day(early[0], today)}, before this delivery comes: see the lines.")
    return tuple(found)


def line_said(market: Market, one: Asked) -> LineSaid:
    """One line in words: why so much, what a person changed, what to look at."""
    style, unit, said = style_of(market.coming.said), one.item.unit, one.line
    notes = []
    if one.item.id in market.coming.doubts:
        notes.append(f"in doubt: {DOUBTS[market.coming.doubts[one.item.id]]}")
    if said.runs_out_on:
        lacks, on = say(said.lacks, unit, style).text, near_day(said.runs_out_on, market.coming.today)
        notes.append(f"not enough {on}, before it comes: {lacks} too little")
    if said.spoils:
        notes.append(f"{say(said.spoils, unit, style).text} more is there, and out of date before it is wanted")
    if said.too_long:
        more = say(said.too_long, unit, style).text
        notes.append(f"{more} more is wanted later than it keeps: order that the next time")
    price, words = one.product.each, say(one.quantity, unit, style).text
    return LineSaid(
        one.item.id, one.item.name, one.product.name, one.product.code, one.product.pack or "by weight",
        exact_text(one.packs) if one.packs is not None else words.replace(THIN, "") if one.quantity else "0",
        words if one.quantity else "none", why_said(market, one),
        "" if not one.quantity else money(one.quantity * price, "") if price is not None else "no price", one.by,
        say(one.was, unit, style).text if one.was else "none" if one.by else "", tuple(notes),
        one.packs is None, one.item.id in market.coming.doubts,
    )  # fmt: skip


def why_said(market: Market, one: Asked) -> str:
    """How need, what is there and packs come to the sums' quantity: each step, so that it adds up."""
    style, unit, said = style_of(market.coming.said), one.item.unit, one.line

    def words(quantity: Fraction) -> str:
        return say(quantity, unit, style).text

    first, last = (near_day(on, market.coming.today) for on in (said.first, said.last))
    days = f"{first} to {last}" if said.last > said.first else first
    there = f"{words(said.there)} there by then" if said.there else "none there by then"
    need = f"par {words(said.need)} {first}" if said.is_par else f"need {words(said.need)} {days}"
    if not said.short:
        return f"{need}, {there}: enough" if said.need else f"nothing wanted {days}"
    quantity, packs = packed(said.short, one.product.pack_quantity, unit)
    rounded = f", in {'whole packs' if packs is not None else 'round weight'} {words(quantity)}"
    return f"{need}, {there}: {words(said.short)} short{rounded if quantity != said.short else ''}"


def text_of(market: Market, order: Order) -> str:
    """What goes to the supplier: no prices, the supplier's own names and codes, one line a product."""
    said, style = market.coming.said, style_of(market.coming.said)
    head = f"Order of {said['name']} for {order.ahead[0].due_on:%A} {day(order.ahead[0].due_on)}" if order.ahead else ""
    found = [head, ""]
    for one in (a for a in order.lines if a.quantity > 0):
        code = f" ({one.product.code})" if one.product.code else ""
        if one.packs is not None:
            found.append(f"{exact_text(one.packs)} x {one.product.name}{code}, {one.product.pack}")
        else:
            found.append(f"about {say(one.quantity, one.item.unit, style).text} {one.product.name}{code}")
    if said["address"]:
        found += ["", f"To: {said['address']}"]
    return "\n".join([*found, "", "Please say at once what will not come."])


def _mail(market: Market, order: Order, text: str) -> str:
    """A link that opens the mail program with the text in it; '' without an address."""
    if not order.email or not order.ahead or "@" not in order.email:
        return ""
    subject = f"Order of {market.coming.said['name']}, {day(order.ahead[0].due_on)}"
    body = text.replace("\n", "\r\n")
    return f"mailto:{quote(order.email, safe='@.+-_')}?subject={quote(subject)}&body={quote(body)}"


def file_rows(orders: Sequence[OrderSaid]) -> list[list[str]]:
    """Lines to take away as a file."""
    return [
        [o.name, o.due_on, x.name, x.product, x.code, x.pack, x.amount, x.quantity, x.price,
         o.currency]
        for o in orders for x in o.lines if x.quantity != "none"
    ]  # fmt: skip


COLUMNS = (
    "supplier", "due on", "item", "product", "code", "pack", "packs or weight", "quantity", "for the line", "currency",
)  # fmt: skip
