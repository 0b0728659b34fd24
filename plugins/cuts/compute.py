"""An ageing lot: what it weighs now and on its day, what is usable, and what a usable kilogram costs. Pure.

Weights and money are exact; a forecast weight is a float with its band, and money that rests on it is marked as such.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from stillroom.db.lots import Lot, Promise, usable_g
from stillroom.plugins.physics.drying import WeighIn, WeightForecast, forecast, losses
from stillroom.plugins.physics.errors import HeatError

ZERO = Fraction(0)
KILO = 1000


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


def entries(lot: Lot) -> tuple[WeighIn, ...]:
    """Weighings after the start as the forecast takes them."""
    return tuple(WeighIn(day, weight) for day, weight in lot.weighed)


def weight_on(lot: Lot, on: date) -> Weight:
    """Weight of a lot on a day, as weighed or forecast."""
    if on == lot.last.on:
        return Weight(on, lot.last.weight_g, None, "")
    if on < lot.last.on:
        return Weight(on, None, None, "that day is past: see the weighings")
    try:
        return Weight(on, None, forecast(lot.start_g, entries(lot), float(lot.days(on))), "")
    except HeatError as error:
        return Weight(on, None, None, str(error))


def wrong_weighing(lot: Lot) -> str:
    """Why a lot has to be weighed again; '' where nothing is wrong."""
    try:
        losses(lot.start_g, entries(lot))
    except HeatError as error:
        return str(error)
    return ""


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
class Ready:
    """A lot that is ready on a service day, and how many of its portions are taken for what is needed.

    portions: likely; low_portions: counted on; unpromised: of those, not promised to anybody.
    """

    lot: Lot
    weight: Weight
    portions: int | None
    low_portions: int | None
    unpromised: int
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
        left = unpromised_portions(lot, weight, portion_g, own)
        taken = min(needed, left)
        needed -= taken
        found.append(Ready(lot, weight, portions(lot, weight.grams, portion_g), low, left, taken, own))
    return found


def unpromised_portions(lot: Lot, weight: Weight, portion_g: Fraction | None, promises: Sequence[Promise]) -> int:
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
    left = unpromised_portions(lot, weight, wanted.each_g, others)
    if wanted.portions > left:
        raise NoPromise(f"{wanted.portions} asked, {left} of {lot.code} are counted on and not yet promised")


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
    weighed = [(0.0, float(lot.start_g)), *((e.day, float(e.weight_g)) for e in entries(lot))]
    last = int(weighed[-1][0])
    end = min(2 * last, max(lot.target_days or 0, last + 7))
    found = [weight_on(lot, lot.started + timedelta(days=day)) for day in range(last + 1, end + 1)]
    told = [w.forecast for w in found if w.forecast is not None]
    band = tuple((f.day, *f.weight_band_g) for f in told)
    if told:
        band = ((float(last), weighed[-1][1], weighed[-1][1]), *band)
    return Curve(tuple(weighed), tuple((f.day, f.weight_g) for f in told), band)


def by_code(lots: Sequence[Lot]) -> Mapping[str, Lot]:
    """Lots by their code."""
    return {lot.code: lot for lot in lots}
