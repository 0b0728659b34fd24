"""What one base unit of an item costs on a day, by the basis asked for. Pure, exact; no price is None, never zero."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from fractions import Fraction
from functools import cached_property

from stillroom.db.odd_price import USUAL_OF, is_odd, usual_price

LAST, AVERAGE, FIFO, QUOTE = "last delivery", "average", "first in first out", "quote"
BASES = (LAST, AVERAGE, FIFO, QUOTE)
ZERO = Fraction(0)


@dataclass(frozen=True, slots=True)
class Lot:
    """Goods kept on one day, and what they cost at the door: charges of the note spread by value.

    money: nothing = no price is known. later: (day, money from then on), in order of day: credits that came afterwards.
    """

    on: str
    product: str
    quantity: Fraction
    money: Fraction
    later: tuple[tuple[str, Fraction], ...] = ()

    @property
    def each(self) -> Fraction:
        """Money for one base unit."""
        return self.money / self.quantity

    def at(self, day: str) -> Lot:
        """The lot as it stood on a day: a credit is known from its own day on."""
        known = [money for on, money in self.later if on <= day]
        return replace(self, money=known[-1], later=()) if known else self


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


@dataclass(frozen=True)
class Known:
    """All that is known of an item's price: lots and quotes in order of day, and the last counts (day, on hand)."""

    lots: tuple[Lot, ...] = ()
    quotes: tuple[Quote, ...] = ()
    counts: tuple[tuple[str, Fraction], ...] = ()

    @cached_property
    def is_credited(self) -> bool:
        """Whether any lot stood otherwise on another day, or was credited whole."""
        return any(lot.later or not lot.money for lot in self.lots)

    def on(self, day: str) -> tuple[Lot, ...]:
        """Lots that a price may be taken from on a day, as they then stood; what was credited whole has none."""
        came = self.lots[: bisect_right(self.lots, day, key=lambda lot: lot.on)]
        if not self.is_credited:
            return came
        return tuple(lot for lot in (lot.at(day) for lot in came) if lot.money)


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
    lots = known.on(day)
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


@dataclass(frozen=True)
class OddLot:
    """A delivery (or quote, as a lot of one base unit) whose price wants to be looked at. usual: for one base unit."""

    lot: Lot
    usual: Fraction


def odd_lot(known: Known, basis: str, day: str, days: int = 28) -> OddLot | None:
    """The newest odd one of those that an item's price on a day is taken from (`db.odd_price`); None where none is.

    Args: as of `price`.
    """
    lots, found = known.on(day), price(known, basis, day, days)
    if found is None:
        return None
    if basis == QUOTE:
        usual = usual_price([lot.each for lot in lots[-USUAL_OF:]])
        if usual is None or not is_odd(found.each, usual):
            return None
        return OddLot(Lot(found.on, found.product, Fraction(1), found.each), usual)
    since = (date.fromisoformat(day) - timedelta(days=days - 1)).isoformat() if found.basis == AVERAGE else found.on
    for n in range(len(lots) - 1, -1, -1):
        if lots[n].on < since:
            return None
        if lots[n].on > found.on:
            continue
        usual = usual_price([lot.each for lot in lots[max(0, n - USUAL_OF) : n]])
        if usual is not None and is_odd(lots[n].each, usual):
            return OddLot(lots[n], usual)
    return None
