"""What must be made and when: needs less what is on hand and in process, level by level down the recipes. Exact, pure.

The order is that of low-level codes: by the time a thing is netted, everything that uses it has been, and its whole
need is known. Along a thing's days: lots past their date mark drop out, the oldest is used first, and where the rest
does not reach, a run is planned: whole batches (or steps of the least batch, or whole pans), begun so many days
before that it is ready, on a day somebody works. A run covers one day's needs; what rounding leaves over goes on to
the next days.

A par is what should stand there when the day's first service opens. It never makes more than will be used before the
date mark runs out; where it asks for more, the run says so, and `Plan.cut` where nothing is made for it at all. What
only a par asks for waits while less than half of the smallest run would be of use, and is never late: the day's needs
are covered. Where no need of a thing can be known, because nothing that is wanted is made with it (or nothing was sold
yet), its par is the need, and nothing of it is cut.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from fractions import Fraction
from math import ceil

ZERO = Fraction(0)
DAY_MINUTES = 1440
PREP = 0  # a need of the day's work itself; services of the day are 1, 2, ...


@dataclass(frozen=True)
class Use:
    """One line: what a batch takes of a thing [base unit of the thing; AP for a bought item]."""

    thing: str
    quantity: Fraction


@dataclass(frozen=True)
class Thing:
    """A recipe as netting sees it.

    Attributes:
        batch: yield of one batch [its base unit].
        uses: lines for one batch.
        is_made: False for a dish: it is put together to order, its lines are needed at the service itself.
        least: smallest run worth making [batches]; below 1 it is also the step, else batches are whole.
        pan: what one pan, tin or mould holds [base unit]; runs are whole pans where it is given.
        life_days: days of the date mark, the day it is ready being day 1; None: keeps.
        lead_days: days before its use on which it is begun, at least; 0: the same day.
        minutes: what a run takes from first to last, hands and waiting; with the calendar's `window` it may add days.
        hands: minutes of it that are somebody's hands.
    """

    id: str
    batch: Fraction
    uses: tuple[Use, ...] = ()
    is_made: bool = True
    least: Fraction | None = None
    pan: Fraction | None = None
    life_days: int | None = None
    lead_days: int = 0
    minutes: int = 0
    hands: int = 0


@dataclass(frozen=True)
class Need:
    """A quantity wanted at one point of a day [base unit]. order: PREP or the service's number; by: what wants it.

    tail: minutes that what wants it still takes that day once this is there.
    """

    thing: str
    on: date
    order: int
    quantity: Fraction
    by: str = ""
    tail: int = 0


@dataclass(frozen=True)
class Held:
    """Part of what is there or coming: its last day, the day it is ready, whether it must be thawed first."""

    quantity: Fraction
    use_by: date | None = None
    ready_on: date | None = None
    is_frozen: bool = False


@dataclass(frozen=True)
class Run:
    """A thing to make, or to take out of the freezer.

    Attributes:
        quantity: what comes of it [base unit]; batches: how many batches that is.
        begin_on: day of the work; ready_on: day and `order` of its first use.
        is_late: the day to begin it lies behind; begin_on is today.
        use_by: its last day; None: keeps.
        needed: what the day's needs call for [base unit]; on_hand: what was there for them; par: 0 where there is none.
        over: what will not be used before its date [base unit]; the smallest run was more than wanted.
        par_cut: what the par asked beyond that and was not made [base unit].
        by: what wants it, most first. is_thaw: comes out of the freezer.
        chain: minutes that its day needs from its beginning on, what waits for it included.
    """

    thing: str
    quantity: Fraction
    batches: Fraction
    begin_on: date
    ready_on: date
    order: int
    is_late: bool = False
    use_by: date | None = None
    needed: Fraction = ZERO
    on_hand: Fraction = ZERO
    par: Fraction = ZERO
    over: Fraction = ZERO
    par_cut: Fraction = ZERO
    by: tuple[str, ...] = ()
    is_thaw: bool = False
    chain: int = 0


@dataclass(frozen=True)
class Calendar:
    """The days that netting looks at.

    Attributes:
        today: first day; last: last day.
        first_service: day -> order of its first service, for the days that have one.
        works: whether somebody works on a day.
        thaw_days: days in the refrigerator for a frozen quantity of a thing.
        window: day -> minutes between the first cook's coming in and the moment all must be ready; endless elsewhere.
    """

    today: date
    last: date
    first_service: Mapping[date, int]
    works: Callable[[date], bool] = lambda _: True
    thaw_days: Callable[[str, Fraction], int] = lambda _thing, _quantity: 1
    window: Mapping[date, int] = field(default_factory=dict)

    def lead(self, thing: Thing, on: date, tail: int) -> int:
        """Days before a day on which a thing is begun; `tail`: minutes that the day still needs behind it."""
        left = self.window.get(on)
        if left is None or thing.minutes + tail <= left:
            return thing.lead_days
        return max(thing.lead_days, -(-(thing.minutes + tail - left) // DAY_MINUTES))


@dataclass
class Plan:
    """What came of it: runs to make, and what is needed of everything, bought items included."""

    runs: list[Run] = field(default_factory=list)
    needs: dict[str, list[Need]] = field(default_factory=dict)
    cut: list[Run] = field(default_factory=list)  # of today: runs of nothing; all that the par asks would go off


def reached(things: Sequence[Thing], wanted: Iterable[Need]) -> set[str]:
    """What is wanted and all that it is made with, at any level: things whose need is known, be it none.

    Args:
        things: recipes by level: whatever uses a thing stands before it.
        wanted: needs from outside.
    """
    found = {need.thing for need in wanted}
    for thing in things:
        if thing.id in found:
            found |= {use.thing for use in thing.uses}
    return found


def lot_size(short: Fraction, thing: Thing) -> Fraction:
    """The smallest run that gives at least `short` [base unit]; 0 for nothing short."""
    if short <= 0:
        return ZERO
    least = thing.least if thing.least is not None else Fraction(1)
    if thing.pan:
        return ceil(max(short, (least if thing.least is not None else ZERO) * thing.batch) / thing.pan) * thing.pan
    step = min(least, Fraction(1)) * thing.batch
    return Fraction(ceil(max(short, least * thing.batch) / step)) * step


def net(
    things: Sequence[Thing],
    wanted: Iterable[Need],
    held: Mapping[str, Sequence[Held]],
    pars: Callable[[str, date], Fraction],
    calendar: Calendar,
) -> Plan:
    """Runs for every thing, and every need.

    Args:
        things: recipes by level: whatever uses a thing stands before it.
        wanted: needs from outside: plates of dishes, usually.
        held: what is on hand and in process.
        pars: what should stand there when a day's first service opens [base unit]; 0 for none.
        calendar: the days.
    """
    plan, wanted = Plan(), list(wanted)
    known = reached(things, wanted)
    for need in wanted:
        plan.needs.setdefault(need.thing, []).append(need)
    for thing in things:
        mine = sorted(plan.needs.get(thing.id, ()), key=lambda n: (n.on, n.order))
        if not thing.is_made:
            _pass_on(plan, thing, [(n.quantity / thing.batch, n.on, n.order, 0) for n in mine])
            continue
        days = _Days(thing, mine, held.get(thing.id, ()), pars, calendar, thing.id in known)
        runs = days.runs()
        plan.runs.extend(runs)
        plan.cut.extend(days.cut)
        _pass_on(plan, thing, [(r.batches, r.begin_on, PREP, r.chain) for r in runs if not r.is_thaw])
    return plan


def _pass_on(plan: Plan, thing: Thing, made: Iterable[tuple[Fraction, date, int, int]]) -> None:
    """The needs of what is made (batches, day, order, minutes it still takes), on what it is made of."""
    for batches, on, order, tail in made:
        for use in thing.uses:
            quantity = use.quantity * batches
            if quantity > 0:
                plan.needs.setdefault(use.thing, []).append(Need(use.thing, on, order, quantity, thing.id, tail))


class _Days:
    """One thing along its days."""

    def __init__(
        self, thing: Thing, needs: Sequence[Need], held: Sequence[Held], pars: Callable[[str, date], Fraction],
        calendar: Calendar, is_known: bool,
    ) -> None:  # fmt: skip
        self.thing, self.needs, self.calendar, self.is_known = thing, needs, calendar, is_known
        self.cut: list[Run] = []
        self.lots = [h for h in held if h.quantity > 0 and not h.is_frozen]
        self.frozen = sum((h.quantity for h in held if h.is_frozen), ZERO)
        self.pars = pars
        self.by_day: dict[date, list[Need]] = {}
        for need in needs:
            self.by_day.setdefault(need.on, []).append(need)
        days = (calendar.last - calendar.today).days + 1
        self.daily = sum((n.quantity for n in needs), ZERO) / days  # what later days are taken to use

    def runs(self) -> list[Run]:
        found: list[Run] = []
        on = self.calendar.today
        while on <= self.calendar.last:
            run = self._day(on)
            found += run
            on += timedelta(days=1)
        return _together(found)

    def _day(self, on: date) -> list[Run]:
        """Runs that must be ready on a day, their lots put with the others, the day's needs taken out."""
        self.lots = [lot for lot in self.lots if lot.use_by is None or lot.use_by >= on]
        needs = self.by_day.get(on, [])
        service = self.calendar.first_service.get(on)
        par = self.pars(self.thing.id, on) if service is not None else ZERO
        needed = sum((n.quantity for n in needs), ZERO)
        there = sum((lot.quantity for lot in self.lots if lot.ready_on is None or lot.ready_on <= on), ZERO)
        # what the day's own work takes is gone when the par is looked at
        taken = sum((n.quantity for n in needs if n.order == PREP), ZERO)
        short, sure = max(needed, par + taken if par else ZERO) - there, max(ZERO, needed - there)
        runs: list[Run] = []
        if short > 0 and self.frozen > 0:
            short, sure, runs = self._thaw(on, short, sure, needs)
        if short > 0:
            order = min((n.order for n in needs), default=service or PREP)
            base = Run(self.thing.id, ZERO, ZERO, on, on, order, needed=needed, on_hand=there, par=par,
                       by=_most(needs), chain=max((n.tail for n in needs), default=0))  # fmt: skip
            runs += self._make(base, short, sure)
        self._take(needed, on)
        return runs

    def _thaw(
        self, on: date, short: Fraction, sure: Fraction, needs: Sequence[Need]
    ) -> tuple[Fraction, Fraction, list[Run]]:
        """Takes what is short out of the freezer first: what is still short, how much of that is sure, the run."""
        taken = min(short, self.frozen)
        begin, is_late = self._begin(on, self.calendar.thaw_days(self.thing.id, taken))
        self.frozen -= taken
        self.lots.append(Held(taken, None))
        order = min((n.order for n in needs), default=PREP)
        run = Run(self.thing.id, taken, taken / self.thing.batch, begin, on, order, is_late, needed=short,
                  by=_most(needs), is_thaw=True)  # fmt: skip
        return short - taken, max(ZERO, sure - taken), [run]

    def _make(self, base: Run, short: Fraction, sure: Fraction) -> list[Run]:
        """The run for what is short on a day; `sure` of it is needed that day whatever the par says."""
        thing, on = self.thing, base.ready_on
        begin, is_late, use_by = self._dates(on, base.chain)
        if is_late and sure == 0:  # only the par asks: it is ready when it is ready
            days = self.calendar.lead(thing, on, base.chain)
            is_late, base = False, replace(base, ready_on=begin + timedelta(days=days))
        chain = thing.minutes + base.chain if begin == on else thing.hands
        in_time = max(sure, self._used_in_time(on, use_by) - base.on_hand) if self.is_known else short
        wanted = short if use_by is None else min(short, in_time)
        quantity = lot_size(wanted, thing)
        if quantity == 0 and on == self.calendar.today:
            self.cut.append(replace(base, use_by=use_by, par_cut=short))
        if quantity == 0 or (sure == 0 and _is_topping_up(quantity, wanted)):
            return []
        smaller = lot_size(sure, thing)
        if use_by is not None and quantity > in_time and 0 < smaller < quantity:
            quantity = smaller if smaller >= in_time or quantity - in_time > in_time - smaller else quantity
        self.lots.append(Held(quantity, use_by, None if sure else base.ready_on))
        over = ZERO if use_by is None or not self.is_known else max(ZERO, quantity - in_time)
        return [replace(base, quantity=quantity, batches=quantity / thing.batch, begin_on=begin, is_late=is_late,
                        use_by=use_by, over=over, par_cut=short - wanted, chain=chain)]  # fmt: skip

    def _dates(self, on: date, tail: int) -> tuple[date, bool, date | None]:
        """Begin, whether that day lies behind, and the last day of what is then ready on a day.

        Where days off would push the beginning so far forward that it is past its date, somebody comes in.
        """
        days, life = self.calendar.lead(self.thing, on, tail), self.thing.life_days
        begin, is_late = self._begin(on, days)
        if life is None:
            return begin, is_late, None
        alone = max(self.thing.lead_days, self.thing.minutes // DAY_MINUTES)  # its mark begins when it is made
        use_by = begin + timedelta(days=alone + max(life, 1) - 1)
        if use_by < on and not is_late:
            begin, use_by = on - timedelta(days=days), on + timedelta(days=max(life, 1) - 1)
        return begin, is_late, use_by

    def _used_in_time(self, on: date, use_by: date | None) -> Fraction:
        """What will be used from a day to a last day; days beyond the calendar are taken to use the mean."""
        if use_by is None:
            return ZERO
        known = sum((n.quantity for n in self.needs if on <= n.on <= use_by), ZERO)
        return known + self.daily * max(0, (use_by - self.calendar.last).days)

    def _begin(self, on: date, days: int) -> tuple[date, bool]:
        """The day to begin what must be ready on a day, and whether it lies behind."""
        begin = on - timedelta(days=days)
        while begin >= self.calendar.today and not self.calendar.works(begin):
            begin -= timedelta(days=1)
        return (self.calendar.today, True) if begin < self.calendar.today else (begin, False)

    def _take(self, quantity: Fraction, on: date) -> None:
        """Uses the oldest that is ready."""
        self.lots.sort(key=lambda lot: (lot.use_by is None, lot.use_by or on))
        left = []
        for lot in self.lots:
            is_ready = lot.ready_on is None or lot.ready_on <= on
            taken = min(lot.quantity, quantity) if is_ready else ZERO
            quantity -= taken
            if lot.quantity > taken:
                left.append(replace(lot, quantity=lot.quantity - taken))
        self.lots = left


def _is_topping_up(quantity: Fraction, wanted: Fraction) -> bool:
    """Whether less than half of the smallest run would be of use: what only a par asks for then waits."""
    return wanted * 2 < quantity


def _most(needs: Sequence[Need]) -> tuple[str, ...]:
    """What wants it, the one that wants most first."""
    sums: dict[str, Fraction] = {}
    for need in needs:
        if need.by:
            sums[need.by] = sums.get(need.by, ZERO) + need.quantity
    return tuple(sorted(sums, key=lambda by: (-sums[by], by)))


def _together(runs: Sequence[Run]) -> list[Run]:
    """Runs of one kind begun on one day, as one: nobody makes a thing twice on a Tuesday for Wednesday and Thursday."""
    found: dict[tuple[date, bool], Run] = {}
    for run in runs:
        first = found.get((run.begin_on, run.is_thaw))
        found[run.begin_on, run.is_thaw] = run if first is None else replace(
            min(first, run, key=lambda r: (r.ready_on, r.order)), quantity=first.quantity + run.quantity,
            batches=first.batches + run.batches, needed=first.needed + run.needed, over=first.over + run.over,
            par_cut=first.par_cut + run.par_cut,
            is_late=first.is_late or run.is_late, by=tuple(dict.fromkeys([*first.by, *run.by])),
        )  # fmt: skip
    return list(found.values())
