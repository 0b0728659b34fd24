"""How much to order, of what, by when. Pure, exact.

An order is for the next delivery that can still be had, and covers the days until the one after it. What is ordered is
what those days want beyond what will still be there, or what the item's par asks for on the day of the delivery,
whichever is more, in whole packs. Deliveries come before the day's work begins (common practice, no source).

With a steady daily use this is the training rule: par = daily use x (lead days + days between deliveries) + safety,
order = par - on hand - on order, rounded up to whole packs. The review interval belongs in it: without it the par runs
dry.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from fractions import Fraction
from math import ceil

ZERO = Fraction(0)
AHEAD = 42  # days in which the next deliveries are looked for
STEPS = {"g": (Fraction(500), Fraction(100)), "ml": (Fraction(500), Fraction(100)), "each": (Fraction(1), Fraction(1))}


@dataclass(frozen=True)
class Supplier:
    """A supplier's terms. delivers_on: ISO weekdays, '135'; '' where nobody wrote them down."""

    id: str
    name: str
    delivers_on: str = ""
    lead_days: int = 1
    order_by: str = ""
    minimum: Fraction | None = None


@dataclass(frozen=True)
class Drop:
    """A delivery that can be ordered: its day, and the last moment to order it (day, clock; '' = any time that day)."""

    due_on: date
    order_on: date
    order_by: str


def drops(supplier: Supplier, today: date, clock: str, off: Iterable[date] = (), number: int = 2) -> list[Drop]:
    """The next deliveries whose cut-off is still ahead, in order.

    Args:
        supplier: its terms; without delivery days it is taken to come any day.
        today: the kitchen's day.
        clock: the time of day, HH:MM.
        off: days on which it does not deliver.
        number: how many.
    """
    closed, found = set(off), []
    for days in range(AHEAD):
        on = today + timedelta(days=days)
        if on in closed or (supplier.delivers_on and str(on.isoweekday()) not in supplier.delivers_on):
            continue
        order_on = on - timedelta(days=supplier.lead_days)
        is_past = order_on < today or (order_on == today and bool(supplier.order_by) and clock > supplier.order_by)
        if not is_past:
            found.append(Drop(on, order_on, supplier.order_by))
        if len(found) == number:
            break
    return found


def packed(quantity: Fraction, pack: Fraction | None, unit: str) -> tuple[Fraction, Fraction | None]:
    """(quantity to order, packs) for a quantity wanted; by weight, in steps that a person says, for a catch weight."""
    if quantity <= 0:
        return ZERO, None if pack is None else ZERO
    if pack is None or pack <= 0:
        large, small = STEPS[unit]
        step = large if quantity > large else small
        return ceil(quantity / step) * step, None
    packs = Fraction(ceil(quantity / pack))
    return packs * pack, packs


@dataclass(frozen=True)
class Wanted:
    """An item's need on a day [base unit]."""

    on: date
    quantity: Fraction


@dataclass(frozen=True)
class There:
    """A quantity that is there or will come: from a day on, its last day, the order it comes with (supplier, day)."""

    quantity: Fraction
    from_on: date
    use_by: date | None = None
    order: tuple[str, date] | None = None


@dataclass(frozen=True)
class Line:
    """What an item's days ahead come to: `short` is `need` less `there`, never below 0.

    Attributes:
        short: to be ordered, before packs [base unit].
        need: what the days from the delivery to the next one want, as long as it keeps; or the par, where that asks for
            more (is_par) [base unit].
        there: what of that is there by then, on hand or expected [base unit].
        first, last: the days that `need` is of.
        is_par: the par of the first day is the need.
        spoils: what is there on the day of the delivery and will be out of date before it is wanted [base unit].
        runs_out_on: the first day before the delivery on which there is not enough; None for none.
        lacks: what is not there on the days before the delivery [base unit].
        too_long: what was wanted beyond what its shelf life allows.
    """

    short: Fraction
    need: Fraction
    there: Fraction
    first: date
    last: date
    is_par: bool = False
    spoils: Fraction = ZERO
    runs_out_on: date | None = None
    lacks: Fraction = ZERO
    too_long: Fraction = ZERO


def line(
    wanted: Sequence[Wanted], there: Sequence[There], par: Callable[[date], Fraction], ahead: Sequence[Drop],
    today: date, life_days: int | None,
) -> Line:  # fmt: skip
    """What to order of one item for the first delivery of `ahead`; the second ends the days that it must last.

    Args:
        wanted: needs by day.
        there: on hand and expected.
        par: what should be there on a day.
        ahead: the next deliveries, one or two.
        today: the kitchen's day.
        life_days: days that the item keeps once it has come; None: keeps.
    """
    first = ahead[0].due_on
    until = ahead[1].due_on if len(ahead) > 1 else first + timedelta(days=7)
    day_of: dict[date, Fraction] = {}
    for one in wanted:
        day_of[one.on] = day_of.get(one.on, ZERO) + one.quantity
    left, runs_out, lacks, on = list(there), None, ZERO, today
    while on < first:
        short, left = _use(left, day_of.get(on, ZERO), on)
        runs_out, lacks = on if short > 0 and runs_out is None else runs_out, lacks + short
        on += timedelta(days=1)
    stays = sum((x.quantity for x in left if x.from_on <= first and (x.use_by is None or x.use_by >= first)), ZERO)
    keeps = until if life_days is None else min(until, first + timedelta(days=life_days))
    need = missing = gone = ZERO
    while on < until:
        wants = day_of.get(on, ZERO)
        short, left = _use(left, wants, on)
        need, missing, gone = (need + wants, missing + short, gone) if on < keeps else (need, missing, gone + short)
        on += timedelta(days=1)
    asked, last = par(first), max(first, keeps - timedelta(days=1))
    if asked - stays > missing:
        return Line(asked - stays, asked, stays, first, first, True, ZERO, runs_out, lacks, gone)
    by_then = need - missing if missing else max(stays, need)
    spoils = max(ZERO, stays - by_then)
    return Line(missing, need, by_then, first, last, False, spoils if missing else ZERO, runs_out, lacks, gone)


def _use(left: Sequence[There], quantity: Fraction, on: date) -> tuple[Fraction, list[There]]:
    """(what was not there, what stays) after a day's use, the one that ends first used first."""
    kept = [x for x in left if x.use_by is None or x.use_by >= on]
    stays = []
    for x in sorted(kept, key=lambda x: (x.use_by is None, x.use_by or on, x.from_on)):
        taken = min(x.quantity, quantity) if x.from_on <= on else ZERO
        quantity -= taken
        if x.quantity > taken:
            stays.append(replace(x, quantity=x.quantity - taken))
    return quantity, stays


def below_minimum(total: Fraction | None, minimum: Fraction | None) -> Fraction:
    """What an order lacks to a supplier's minimum [money]; 0 for nothing, or where a price is not known."""
    return ZERO if total is None or minimum is None else max(ZERO, minimum - total)
