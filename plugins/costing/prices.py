"""What one base unit of an item costs on a day, by the basis asked for. Pure, exact; no price is None, never zero."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

LAST, AVERAGE, FIFO, QUOTE = "last delivery", "average", "first in first out", "quote"
BASES = (LAST, AVERAGE, FIFO, QUOTE)
ZERO = Fraction(0)


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of a delivery note as written.

    quantity: kept, rejected part excluded [unit of the item]. rejected: sent back [unit]. money: goods: for the kept
    part; credit, charge, deposit: its amount without sign; None = no price written. A price of nothing is None too: it
    is asked about, never reckoned with.
    """

    on: str
    kind: str
    supplier: str
    document: str
    item: str
    product: str
    quantity: Fraction
    rejected: Fraction
    money: Fraction | None


@dataclass(frozen=True, slots=True)
class Lot:
    """Goods kept on one day, and what they cost at the door: credits taken off, charges of the note spread by value."""

    on: str
    product: str
    quantity: Fraction
    money: Fraction

    @property
    def each(self) -> Fraction:
        """Money for one base unit."""
        return self.money / self.quantity


@dataclass(frozen=True, slots=True)
class Quote:
    """What a supplier asks for one base unit of a product since a day."""

    on: str
    product: str
    each: Fraction


@dataclass(frozen=True, slots=True)
class Price:
    """Money for one base unit of an item, and where it comes from. product '' = several."""

    each: Fraction
    basis: str
    product: str
    on: str
    lots: int = 1


@dataclass(frozen=True, slots=True)
class Known:
    """All that is known of an item's price: lots and quotes in order of day, and the last counts (day, on hand)."""

    lots: tuple[Lot, ...] = ()
    quotes: tuple[Quote, ...] = ()
    counts: tuple[tuple[str, Fraction], ...] = ()


def landed(entries: Iterable[Entry]) -> dict[str, tuple[Lot, ...]]:
    """Item -> its lots at their cost at the door, in order of day.

    A credit comes off the goods of its item on the same note, else off the item's last line of that supplier before it;
    what was sent back is credited first and lowers no price. A charge is spread over the goods of its note by value.
    Deposits are kept out: they come back.
    """
    rows = sorted(entries, key=lambda e: e.on)
    goods = [e for e in rows if e.kind == "goods" and e.money and e.quantity > 0]
    money = [e.money or ZERO for e in goods]
    for entry in rows:
        if entry.kind == "credit" and entry.money:
            _credit(entry, goods, money)
    _charges(rows, goods, money)
    found: dict[str, list[Lot]] = {}
    for e, paid in zip(goods, money, strict=True):
        if paid > 0:
            found.setdefault(e.item, []).append(Lot(e.on, e.product, e.quantity, paid))
    return {item: tuple(lots) for item, lots in found.items()}


def _credit(credit: Entry, goods: Sequence[Entry], money: list[Fraction]) -> None:
    """Takes one credit off the lines it belongs to, by value; never below nothing."""
    own = [n for n, e in enumerate(goods) if e.item == credit.item and e.supplier == credit.supplier]
    same = [n for n in own if credit.document and goods[n].document == credit.document]
    lines = same or [n for n in own if goods[n].on <= credit.on][-1:]
    value = sum((money[n] for n in lines), ZERO)
    if not value:
        return
    sent_back = sum((money[n] / goods[n].quantity * goods[n].rejected for n in lines), ZERO)
    off = min(max(ZERO, (credit.money or ZERO) - sent_back), value)
    for n in lines:
        money[n] -= off * money[n] / value


def _charges(rows: Sequence[Entry], goods: Sequence[Entry], money: list[Fraction]) -> None:
    """Spreads each note's charges over its goods by value."""
    charged: dict[tuple[str, str, str], Fraction] = {}
    for e in rows:
        if e.kind == "charge" and e.money:
            note = (e.supplier, e.on, e.document)
            charged[note] = charged.get(note, ZERO) + e.money
    for note, charge in charged.items():
        lines = [n for n, e in enumerate(goods) if (e.supplier, e.on, e.document) == note]
        value = sum((money[n] for n in lines), ZERO)
        for n in lines if value else ():
            money[n] += charge * money[n] / value


def price(known: Known, basis: str, day: str, days: int = 28) -> Price | None:
    """What one base unit of an item costs on a day; None where the basis says nothing.

    Args:
        known: lots, quotes and counts of the item.
        basis: one of BASES.
        day: ISO date; what came later is not known yet.
        days: how far an average looks back [d], the day itself included.

    An average without a delivery in its days, and first in first out without a count, take the last delivery and say
    so.
    """
    lots = known.lots[: bisect_right(known.lots, day, key=lambda lot: lot.on)]
    if basis == QUOTE:
        return _quote(known.quotes, lots, day)
    if not lots:
        return None
    last = Price(lots[-1].each, LAST, lots[-1].product, lots[-1].on)
    if basis == AVERAGE:
        return _average(lots, day, days) or last
    return (_oldest(lots, known.counts, day) or last) if basis == FIFO else last


def _average(lots: Sequence[Lot], day: str, days: int) -> Price | None:
    since = (date.fromisoformat(day) - timedelta(days=days)).isoformat()
    span = [lot for lot in lots if lot.on > since]
    if not span:
        return None
    each = sum((x.money for x in span), ZERO) / sum((x.quantity for x in span), ZERO)
    products = {x.product for x in span}
    return Price(each, AVERAGE, span[-1].product if len(products) == 1 else "", span[-1].on, len(span))


def _oldest(lots: Sequence[Lot], counts: Sequence[tuple[str, Fraction]], day: str) -> Price | None:
    """The oldest lot still there at the last count: what the next plate takes."""
    before = [c for c in counts if c[0] <= day]
    if not before:
        return None
    counted_on, left = before[-1]
    came = [lot for lot in lots if lot.on <= counted_on]
    found = next((lot for lot in lots if lot.on > counted_on), lots[-1])
    for lot in reversed(came):
        if left <= 0:
            break
        found, left = lot, left - lot.quantity
    return Price(found.each, FIFO, found.product, found.on)


def _quote(quotes: Sequence[Quote], lots: Sequence[Lot], day: str) -> Price | None:
    """The newest quote of each product; of the product last delivered, else the lowest."""
    newest = {q.product: q for q in quotes if q.on <= day and q.each > 0}
    if not newest:
        return None
    last = lots[-1].product if lots else ""
    chosen = newest.get(last) or min(newest.values(), key=lambda q: (q.each, q.product))
    return Price(chosen.each, QUOTE, chosen.product, chosen.on)


def span(known: Known, day: str) -> tuple[Fraction, Fraction] | None:
    """Lowest and highest price known by any other way on a day; None where there is none."""
    found = [p.each for basis in BASES if (p := price(known, basis, day)) is not None]
    found += [q.each for q in known.quotes if q.on <= day and q.each > 0]
    return (min(found), max(found)) if found else None


def is_odd(lots: Sequence[Lot]) -> bool:
    """Whether the last price is a hundred times the one before, or a hundredth: a slip until somebody says not."""
    if len(lots) < 2:
        return False
    last, before = lots[-1].each, lots[-2].each
    return last >= 100 * before or before >= 100 * last
