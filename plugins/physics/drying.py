"""Weight of an ageing piece, forecast from its weigh-ins with a 90 % band.

Loss follows a slope of about 1 against time while the surface limits it, about 0.5 while moisture has to diffuse to the
surface, and less as the piece approaches what it can lose. So ln(loss) against ln(day) is followed as a local trend
whose slope drifts down and wanders: a two-state Gaussian filter in closed form. Trim is a second number with its own
history and never enters here.

Checked on published group means (Laster et al. 2008 in Dashdorj et al. 2016, J. Anim. Sci. Technol. 58:20, table 1):
mean error 0.6 % of start weight from 14, 21, 28 days to 35. Those are means of different pieces, not one piece weighed
again; no open series of single pieces is known. The band was tuned on simulated pieces only, of diffusion in a slab
with surface resistance: there nine in ten lie inside, on two other generators 87 to 96 in a hundred.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from statistics import NormalDist

from .errors import HeatError, OutOfRange

# Prior of the slope, its drift and wander per unit of ln(day); noise of a weighing (relative, and in % of start).
SLOPE, SLOPE_SD, DRIFT, WANDER = 0.80, 0.15, 0.10, 0.16
NOISE_SHARE, NOISE_PCT = 0.01, 0.05
FEWEST_WEIGH_INS = 3
FIRST_FINAL_DAY = 14.0
# A gain of more than this, in % of start, is a weighing error or a different piece.
LARGEST_GAIN_PCT = 0.3
FARTHEST = 2.0


@dataclass(frozen=True)
class WeighIn:
    """One weighing, hook and rack subtracted.

    Attributes:
        day: days since the start [d].
        weight_g: weight [g], exact.
    """

    day: float
    weight_g: Fraction

    @classmethod
    def on(cls, when: date, started: date, gross_g: Fraction, tare_g: Fraction = Fraction(0)) -> WeighIn:
        """A weighing by date.

        Args:
            when: day of the weighing.
            started: day the piece was hung.
            gross_g: weight on the scale [g].
            tare_g: hook, rack or tray [g].
        """
        return cls(float((when - started).days), gross_g - tare_g)


@dataclass(frozen=True)
class WeightForecast:
    """Weight at a day to come.

    Attributes:
        day: days since the start [d].
        loss_pct: median loss of start weight [%].
        loss_low_pct: 5 % quantile [%].
        loss_high_pct: 95 % quantile [%].
        start_g: weight at the start [g].
        slope: slope of ln(loss) on ln(day) at the last weighing [-].
        provisional: True while the last weighing is before day 14: not to be quoted as a final weight.
    """

    day: float
    loss_pct: float
    loss_low_pct: float
    loss_high_pct: float
    start_g: Fraction
    slope: float
    provisional: bool

    @property
    def weight_g(self) -> float:
        """Median weight [g]."""
        return float(self.start_g) * (1 - self.loss_pct / 100)

    @property
    def weight_band_g(self) -> tuple[float, float]:
        """5 % and 95 % quantile of the weight [g]."""
        start = float(self.start_g)
        return start * (1 - self.loss_high_pct / 100), start * (1 - self.loss_low_pct / 100)


def losses(start_g: Fraction, weigh_ins: tuple[WeighIn, ...]) -> tuple[tuple[float, float], ...]:
    """Day [d] and loss of start weight [%] of each weighing after the start.

    Args:
        start_g: weight at the start [g].
        weigh_ins: weighings in order of day.

    Raises:
        HeatError: for days out of order, a weight of 0, or a gain that calls for a second weighing.
    """
    if start_g <= 0:
        raise HeatError("the start weight is not above 0 g")
    found: list[tuple[float, float]] = []
    allowed = Fraction(str(LARGEST_GAIN_PCT))
    last_day, lightest = 0.0, start_g
    for entry in weigh_ins:
        if entry.day <= last_day:
            raise HeatError(f"weighing of day {entry.day:g} does not come after day {last_day:g}")
        if entry.weight_g <= 0:
            raise HeatError(f"weight of day {entry.day:g} is not above 0 g")
        if (entry.weight_g - lightest) * 100 > allowed * start_g:
            gain = float((entry.weight_g - lightest) / start_g * 100)
            raise HeatError(f"weight of day {entry.day:g} is up by {gain:.1f} % of the start: weigh again")
        last_day, lightest = entry.day, min(lightest, entry.weight_g)
        found.append((entry.day, float((start_g - entry.weight_g) / start_g * 100)))
    return tuple(found)


def forecast(start_g: Fraction, weigh_ins: tuple[WeighIn, ...], day: float) -> WeightForecast:
    """Weight at a day to come, with a 90 % band.

    Args:
        start_g: weight at the start, the exact denominator [g].
        weigh_ins: at least three weighings after the start, in order of day.
        day: day asked about [d], after the last weighing and at most twice its day.

    Raises:
        HeatError: for fewer than three weighings, or weighings that cannot be right.
        OutOfRange: for a day that is past or too far ahead.
    """
    seen = losses(start_g, weigh_ins)
    if len(seen) < FEWEST_WEIGH_INS:
        said = f"{len(seen)} {'weighing' if len(seen) == 1 else 'weighings'}"
        raise HeatError(f"{said} after the start; a forecast needs {FEWEST_WEIGH_INS}")
    last = seen[-1][0]
    if not last <= day <= FARTHEST * last:
        raise OutOfRange(
            f"day {day:g} is outside {last:g} to {FARTHEST * last:g}: at most twice the last weighing's day"
        )
    mean, deviation, slope = trend(seen, day)
    band = NormalDist(mean, deviation)
    return WeightForecast(
        day=day,
        loss_pct=math.exp(mean),
        loss_low_pct=math.exp(band.inv_cdf(0.05)),
        loss_high_pct=min(100.0, math.exp(band.inv_cdf(0.95))),
        start_g=start_g,
        slope=slope,
        provisional=last < FIRST_FINAL_DAY,
    )


def trend(seen: tuple[tuple[float, float], ...], day: float) -> tuple[float, float, float]:
    """Mean and deviation of ln(loss in %) at a day, and the slope at the last weighing [-].

    Args:
        seen: day [d] and loss [%] of each weighing; a loss below 0.05 counts as 0.05.
        day: day asked about [d].

    Source: local linear trend, Kalman's filter in closed form.
    """
    points = [(when, max(loss, NOISE_PCT)) for when, loss in seen]
    state, spread = (math.log(points[0][1]), SLOPE), (9.0, 0.0, SLOPE_SD**2)
    before = points[0][0]
    for when, loss in points:
        state, spread = _ahead(state, spread, math.log(when / before))
        state, spread = _seen(state, spread, loss)
        before = when
    slope = state[1]
    state, spread = _ahead(state, spread, math.log(day / before))
    return state[0], math.sqrt(spread[0] + NOISE_SHARE**2), slope


def _ahead(
    state: tuple[float, float], spread: tuple[float, float, float], step: float
) -> tuple[tuple[float, float], tuple[float, float, float]]:
    """The state a step of ln(day) on: level follows slope, slope drifts down and wanders."""
    (level, slope), (var, cross, slope_var), q = state, spread, WANDER**2
    moved = (level + slope * step - DRIFT * step * step / 2, slope - DRIFT * step)
    wider = (
        var + 2 * step * cross + step * step * slope_var + q * step**3 / 3,
        cross + step * slope_var + q * step * step / 2,
        slope_var + q * step,
    )
    return moved, wider


def _seen(
    state: tuple[float, float], spread: tuple[float, float, float], loss: float
) -> tuple[tuple[float, float], tuple[float, float, float]]:
    """The state after a weighing."""
    (level, slope), (var, cross, slope_var) = state, spread
    noise = NOISE_SHARE**2 + (NOISE_PCT / loss) ** 2
    gain, slope_gain = var / (var + noise), cross / (var + noise)
    surprise = math.log(loss) - level
    moved = (level + gain * surprise, slope + slope_gain * surprise)
    return moved, (var - gain * var, cross - gain * cross, slope_var - slope_gain * cross)


def day_reaching(
    start_g: Fraction, weigh_ins: tuple[WeighIn, ...], loss_pct: float
) -> tuple[float | None, float | None, float | None]:
    """Earliest, median and latest day on which a loss is reached [d]; None beyond twice the last weighing's day.

    Args:
        start_g: weight at the start [g].
        weigh_ins: weighings as for ``forecast``.
        loss_pct: loss wanted [%].
    """
    last = weigh_ins[-1].day if weigh_ins else 0.0
    days = [last + share * last / 200 for share in range(201)]
    seen = [forecast(start_g, weigh_ins, min(day, FARTHEST * last)) for day in days]
    names = ("loss_high_pct", "loss_pct", "loss_low_pct")
    first: list[float | None] = []
    for name in names:
        first.append(next((entry.day for entry in seen if getattr(entry, name) >= loss_pct), None))
    return first[0], first[1], first[2]
