"""Pieces that age: by when the next must be hung, and which lot is cut next. Exact, pure.

A cut of an aged piece is begun as many days before its use as the piece hangs. With that lead it is netted like all
else (`db.netting`), a piece being its batch: what hangs already counts from the day each lot is ready, less what is
promised of it. The days before a piece hung today could be ready take of the lots first: what they lack no hanging
mends.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from fractions import Fraction

from stillroom.db.netting import Calendar, Held, Need, Run, Thing, net

ZERO = Fraction(0)
WEEK = 7  # days from the first on which a piece hung today could be ready: what the list looks at


@dataclass(frozen=True)
class Hanging:
    """A lot that hangs: the day it is ready, and what it gives then, less what is promised [base unit of its cut]."""

    code: str
    ready_on: date
    gives: Fraction


@dataclass(frozen=True)
class Aged:
    """A cut that comes from a piece which ages.

    Attributes:
        cut: its recipe; item_id, item: the piece.
        days: how long one hangs [d].
        piece: what one gives [base unit of the cut].
        lots: what hangs for it.
        held: what is cut already [base unit of the cut].
        needs: what is expected to be wanted, from today on [base unit of the cut].
    """

    cut: str
    item_id: str
    item: str
    days: int
    piece: Fraction
    lots: tuple[Hanging, ...] = ()
    held: tuple[Held, ...] = ()
    needs: tuple[Need, ...] = ()


@dataclass(frozen=True)
class Hang:
    """Pieces to hang.

    Attributes:
        run: how many (batches), the last day to hang them (begin_on), the day they are for (ready_on).
        ends_on: the last day that what hangs covers, where these are the next pieces; None for those after them.
        lacking: first day and sum of what is short before anything hung today is ready [base unit of the cut].
    """

    run: Run
    ends_on: date | None = None
    lacking: tuple[date, Fraction] | None = None


def per_plate(things: Sequence[Thing], cuts: Iterable[str]) -> dict[str, dict[str, Fraction]]:
    """Recipe -> cut -> how much of it one base unit of the recipe takes, over its sub-recipes too.

    Args:
        things: recipes by level, whatever uses a thing before it.
        cuts: those that are looked for.
    """
    wanted = set(cuts)
    found: dict[str, dict[str, Fraction]] = {}
    for thing in reversed(things):
        if thing.id in wanted:
            found[thing.id] = {thing.id: Fraction(1)}
            continue
        for line in thing.uses:
            for cut, each in found.get(line.thing, {}).items():
                sums = found.setdefault(thing.id, {})
                sums[cut] = sums.get(cut, ZERO) + line.quantity * each / thing.batch
    return found


def use(held: Iterable[Held], needs: Iterable[Need]) -> tuple[list[Held], dict[date, Fraction]]:
    """What is left of what is held after some needs, and the days on which it did not reach, with what they lack."""
    wanted: dict[date, Fraction] = {}
    for need in needs:
        wanted[need.on] = wanted.get(need.on, ZERO) + need.quantity
    lots, short = list(held), {}
    for on in sorted(wanted):
        left = wanted[on]
        lots.sort(key=lambda lot: (lot.use_by or date.max, lot.ready_on or date.min))
        for place, lot in enumerate(lots):
            if (lot.ready_on or on) <= on <= (lot.use_by or on):
                taken = min(lot.quantity, left)
                left -= taken
                lots[place] = replace(lot, quantity=lot.quantity - taken)
        if left > 0:
            short[on] = left
    return [lot for lot in lots if lot.quantity > 0], short


def to_hang(aged: Aged, today: date, works: Callable[[date], bool] = lambda _: True) -> list[Hang]:
    """Pieces that must be hung in the days ahead, the next first; none where what hangs covers the week they are for.

    Args:
        aged: the cut.
        today: the kitchen's day.
        works: whether somebody works on a day.
    """
    first = today + timedelta(days=aged.days)
    held = [*aged.held, *(Held(lot.gives, None, lot.ready_on) for lot in aged.lots)]
    left, lacking = use(held, (n for n in aged.needs if n.on < first))
    week = [n for n in aged.needs if first <= n.on < first + timedelta(days=WEEK)]
    calendar = Calendar(today, first + timedelta(days=WEEK - 1), {}, works)
    piece = Thing(aged.cut, aged.piece, lead_days=aged.days)
    runs = net([piece], week, {aged.cut: left}, lambda _thing, _on: ZERO, calendar).runs
    before = (min(lacking), sum(lacking.values(), ZERO)) if lacking else None
    found: list[Hang] = []
    for run in runs:
        covered = [n.on for n in aged.needs if n.on < run.ready_on and n.on not in lacking]
        found.append(Hang(run, max(covered, default=None), before) if not found else Hang(run))
    return found


def _by_ready(lot: Hanging) -> tuple[date, str]:
    return lot.ready_on, lot.code


def to_cut(aged: Aged, today: date, needs: Sequence[Need]) -> list[tuple[Hanging, Run]]:
    """Lots that are ready and wanted, the first ready first, each with the day on which it is wanted.

    Args:
        aged: the cut.
        today: the kitchen's day.
        needs: of the days that what is cut today keeps.
    """
    waiting = sorted((lot for lot in aged.lots if lot.ready_on <= today and lot.gives > 0), key=_by_ready)
    held, found = list(aged.held), []
    for lot in waiting:
        _, short = use(held, needs)
        if not short:
            break
        on = min(short)
        mine = [n for n in needs if n.on == on]
        needed = sum((n.quantity for n in mine), ZERO)
        run = Run(aged.cut, lot.gives, ZERO, today, on, min(n.order for n in mine), needed=needed,
                  on_hand=needed - short[on], by=tuple(dict.fromkeys(n.by for n in mine if n.by)))  # fmt: skip
        found.append((lot, run))
        held.append(Held(lot.gives))
    return found


def lots_for(aged: Aged, today: date, quantity: Fraction) -> list[Hanging]:
    """Lots that a quantity [base unit of the cut] comes out of today, the first ready first, as far as they reach."""
    found: list[Hanging] = []
    for lot in sorted((lot for lot in aged.lots if lot.ready_on <= today and lot.gives > 0), key=_by_ready):
        if sum((x.gives for x in found), ZERO) < quantity:
            found.append(lot)
    return found


def next_ready(aged: Aged, today: date) -> Hanging | None:
    """The lot that is ready next, after today."""
    return min((lot for lot in aged.lots if lot.ready_on > today), key=_by_ready, default=None)


def needs_of(
    plates: Iterable[tuple[str, date, int]], takes_of: Mapping[str, Mapping[str, Fraction]], cut: str
) -> tuple[Need, ...]:
    """What plates (dish, day, number) want of a cut [its base unit]; takes_of: as `per_plate` found it."""
    return tuple(
        Need(cut, on, 1, number * takes_of[dish][cut], dish)
        for dish, on, number in plates
        if number and cut in takes_of.get(dish, {})
    )
