"""An ageing lot: what it weighs now and on its day, what is usable, and what a usable kilogram costs. Pure.

Weights and money are exact; a forecast weight is a float with its band, and money that rests on it is marked as such.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from stillroom.plugins.physics.drying import WeighIn, WeightForecast, forecast, losses
from stillroom.plugins.physics.errors import HeatError

ZERO = Fraction(0)
KILO = 1000
# Room of an ageing piece: 0 to 4 °C (Dashdorj et al. 2016, abstract); 75 to 85 % (Meat & Livestock Australia, excerpt).
ROOM_F = (32.0, 39.2)
HUMIDITY_PCT = (75.0, 85.0)


@dataclass(frozen=True)
class Weighing:
    """One weighing [g] with the room [°F] and its humidity [%]; None = not measured."""

    on: date
    weight_g: Fraction
    room_f: float | None
    humidity: float | None

    @property
    def out_of_range(self) -> tuple[str, ...]:
        """What is out of the published range, in words."""
        found = []
        if self.room_f is not None and not ROOM_F[0] <= self.room_f <= ROOM_F[1]:
            found.append(f"room {self.room_f:g} °F")
        if self.humidity is not None and not HUMIDITY_PCT[0] <= self.humidity <= HUMIDITY_PCT[1]:
            found.append(f"humidity {self.humidity:g} %")
        return tuple(found)


@dataclass(frozen=True)
class Cut:
    """What a lot is cut into: trim of the aged weight [0 to 1], portion [g], credit for one gram of start weight."""

    id: str
    name: str
    trim: Fraction | None
    portion_g: Fraction | None
    trim_source: str
    credit: Fraction = ZERO
    uncredited: tuple[str, ...] = ()


@dataclass(frozen=True)
class Lot:
    """One ageing piece. price: paid for the whole [money], None = not written. broken_on: the day it was cut up."""

    code: str
    item: str
    started: date
    start_g: Fraction
    target_days: int | None
    place: str
    price: Fraction | None
    weighings: tuple[Weighing, ...]
    cut: Cut | None
    broken_on: date | None
    length_cm: float | None = None
    note: str = ""

    @property
    def target(self) -> date | None:
        """The day it is meant for."""
        return None if self.target_days is None else self.started + timedelta(days=self.target_days)

    @property
    def last(self) -> Weighing:
        """The last weighing, or the start."""
        return self.weighings[-1] if self.weighings else Weighing(self.started, self.start_g, None, None)

    def days(self, on: date) -> int:
        """Days of ageing on a day; they end when it is broken down."""
        return (min(on, self.broken_on or on) - self.started).days

    @property
    def entries(self) -> tuple[WeighIn, ...]:
        """Weighings after the start as the forecast takes them."""
        return tuple(WeighIn.on(w.on, self.started, w.weight_g) for w in self.weighings)


@dataclass(frozen=True)
class Keep:
    """Costs of keeping a piece: interest a year [0 to 1], and space for one kg of start weight a week [money]."""

    interest: Fraction = ZERO
    space: Fraction = ZERO


@dataclass(frozen=True)
class Weight:
    """Weight of a lot on a day. known: as weighed that day; else a forecast with its band; refused: why not."""

    on: date
    known_g: Fraction | None
    forecast: WeightForecast | None
    refused: str

    @property
    def grams(self) -> Fraction | None:
        """The weight, or the middle of the forecast [g]."""
        if self.known_g is not None:
            return self.known_g
        return None if self.forecast is None else Fraction(round(self.forecast.weight_g))

    @property
    def band(self) -> tuple[float, float] | None:
        """90 % band of a forecast [g]."""
        return None if self.forecast is None else self.forecast.weight_band_g


def weight_on(lot: Lot, on: date) -> Weight:
    """Weight of a lot on a day, as weighed or forecast."""
    if on == lot.last.on:
        return Weight(on, lot.last.weight_g, None, "")
    if on < lot.last.on:
        return Weight(on, None, None, "that day is past: see the weighings")
    try:
        return Weight(on, None, forecast(lot.start_g, lot.entries, float(lot.days(on))), "")
    except HeatError as error:
        return Weight(on, None, None, str(error))


def wrong_weighing(lot: Lot) -> str:
    """Why a lot has to be weighed again; '' where nothing is wrong."""
    try:
        losses(lot.start_g, lot.entries)
    except HeatError as error:
        return str(error)
    return ""


def usable_g(lot: Lot, weight_g: Fraction | None) -> Fraction | None:
    """What is left after trim [g]; None where the weight or the trim is not known."""
    if weight_g is None or lot.cut is None or lot.cut.trim is None:
        return None
    return weight_g * (1 - lot.cut.trim)


def portion_of(lot: Lot, portion_g: Fraction | None = None) -> Fraction | None:
    """Weight of a portion [g]: the one asked for, else the cut's own; None where neither is known."""
    return portion_g or (lot.cut.portion_g if lot.cut else None)


def portions(lot: Lot, weight_g: Fraction | None, portion_g: Fraction | None = None) -> int | None:
    """Whole portions in a weight; None where not known."""
    usable, each = usable_g(lot, weight_g), portion_of(lot, portion_g)
    return None if usable is None or not each else usable // each


def cost_per_usable_kg(lot: Lot, weight_g: Fraction | None, on: date, keep: Keep) -> Fraction | None:
    """Money for one usable kg: paid, plus keeping, less by-product credits, over what is left after drying and trim.

    Raises:
        ValueError: the credits are above what the piece cost; the words hold the sums.
    """
    usable = usable_g(lot, weight_g)
    if lot.price is None or not usable or lot.cut is None:
        return None
    days = lot.days(on)
    kept = lot.price * keep.interest * days / 365 + keep.space * lot.start_g / KILO * days / 7
    credits = lot.cut.credit * lot.start_g
    if credits > lot.price + kept:
        paid = float(lot.price + kept)
        raise ValueError(f"credits of {float(credits):.2f} are above the {paid:.2f} that the piece cost")
    return (lot.price + kept - credits) / usable * KILO


@dataclass(frozen=True)
class Promise:
    """Portions of a lot promised to a service. entry: its row; each_g: weight of one [g]."""

    entry: int
    lot: str
    on: date
    portions: int
    each_g: Fraction
    what_for: str
    by: str


@dataclass(frozen=True)
class Ready:
    """A lot that is ready on a service day, and how many of its portions are taken for what is needed.

    portions: likely; low_portions: counted on; free: of those, not promised to anybody.
    """

    lot: Lot
    weight: Weight
    portions: int | None
    low_portions: int | None
    free: int
    taken: int
    promised: tuple[Promise, ...]


class NoPromise(ValueError):
    """Portions that cannot be promised; the words say why."""


def ready_list(
    lots: Sequence[Lot], on: date, needed: int = 0, portion_g: Fraction | None = None, promises: Sequence[Promise] = ()
) -> list[Ready]:
    """Lots ready on a service day, the one that was ready first before all, and portions picked in that order.

    Args:
        lots: of one cut, where portions are asked for.
        on: the day of the service.
        needed: portions asked for.
        portion_g: weight of a portion [g]; None = the cut's own.
        promises: what is promised of them, to any service that is still to come.

    A lot is ready from its target day; one without a target is never said to be. Portions count the low end of the
    band, so that what is promised is there in nineteen of twenty cases.
    """
    waiting = [x for x in lots if x.target is not None and x.target <= on and (x.broken_on is None or x.broken_on > on)]
    found = []
    for lot in sorted(waiting, key=lambda x: (x.target or x.started, x.started, x.code)):
        weight = weight_on(lot, on)
        low = portions(lot, _low(weight), portion_g)
        own = tuple(p for p in promises if p.lot == lot.code)
        free = free_portions(lot, weight, portion_g, own)
        taken = min(needed, free)
        needed -= taken
        found.append(Ready(lot, weight, portions(lot, weight.grams, portion_g), low, free, taken, own))
    return found


def free_portions(lot: Lot, weight: Weight, portion_g: Fraction | None, promises: Sequence[Promise]) -> int:
    """Portions counted on that nobody is promised; 0 where they are not known."""
    usable, each = usable_g(lot, _low(weight)), portion_of(lot, portion_g)
    if usable is None or not each:
        return 0
    left = usable - sum((p.portions * p.each_g for p in promises), ZERO)
    return max(0, left // each)


def check_promise(lot: Lot | None, today: date, wanted: Promise, others: Sequence[Promise]) -> None:
    """Whether portions of a lot can be promised.

    Args:
        lot: the lot named; None = there is none.
        today: the kitchen's day.
        wanted: the new promise.
        others: what is promised of the same lot already.

    Raises:
        NoPromise: no such lot, broken down, not ready by then, a service that is past, or fewer portions counted on.
    """
    if lot is None:
        raise NoPromise("there is no ageing lot of that name")
    if lot.broken_on is not None:
        raise NoPromise(f"{lot.code} was broken down on {lot.broken_on.isoformat()}")
    if wanted.on < today:
        raise NoPromise("that service is past")
    if lot.target is None or lot.target > wanted.on:
        until = f"until {lot.target.isoformat()}" if lot.target else "on any day: no day is set for it"
        raise NoPromise(f"{lot.code} is not ready {until}")
    weight = weight_on(lot, wanted.on)
    if weight.refused:
        raise NoPromise(f"nothing can be said of {lot.code} on that day: {weight.refused}")
    free = free_portions(lot, weight, wanted.each_g, others)
    if wanted.portions > free:
        raise NoPromise(f"{wanted.portions} asked, {free} of {lot.code} are counted on and free")


def _low(weight: Weight) -> Fraction | None:
    return weight.known_g if weight.band is None else Fraction(int(weight.band[0]))


@dataclass(frozen=True)
class Curve:
    """Loss of weight over days: weighed points, and the forecast with its band, as weights [g] for the plot."""

    weighed: tuple[tuple[float, float], ...]
    ahead: tuple[tuple[float, float], ...]
    band: tuple[tuple[float, float, float], ...]


def curve(lot: Lot) -> Curve:
    """The weight curve of a lot to its target, or as far as a forecast reaches."""
    weighed = [(0.0, float(lot.start_g)), *((e.day, float(e.weight_g)) for e in lot.entries)]
    last = int(weighed[-1][0])
    end = min(2 * last, max(lot.target_days or 0, last + 7))
    found = [weight_on(lot, lot.started + timedelta(days=day)) for day in range(last + 1, end + 1)]
    told = [w.forecast for w in found if w.forecast is not None]
    band = tuple((f.day, *f.weight_band_g) for f in told)
    if told:
        band = ((float(last), weighed[-1][1], weighed[-1][1]), *band)
    return Curve(tuple(weighed), tuple((f.day, f.weight_g) for f in told), band)


def measured_trim(found: Sequence[tuple[Fraction, Fraction]]) -> tuple[Fraction, int] | None:
    """Trim of the last five breakdowns (weight in, weight of portions), and how many; None without any."""
    last = [pair for pair in found if pair[0] > 0][:5]
    if not last:
        return None
    return 1 - sum((out for _, out in last), ZERO) / sum((came for came, _ in last), ZERO), len(last)


def credit_per_gram(parts: Sequence[tuple[str, Fraction, Fraction | None]]) -> tuple[Fraction, tuple[str, ...]]:
    """Credit for one gram that went in, and the by-products without one: (name, share, money for one gram)."""
    total = sum((share * each for _, share, each in parts if each is not None), ZERO)
    return total, tuple(name for name, _, each in parts if each is None)


def by_code(lots: Sequence[Lot]) -> Mapping[str, Lot]:
    """Lots by their code."""
    return {lot.code: lot for lot in lots}
