"""Log reductions along a curve of temperature.

Between two samples the temperature is taken as straight, so the logarithm of the lethal rate is straight too and its
integral is exact: (r1 - r0) / ln(r1 / r0) times the interval. A plain trapezoid would lie on the high side.

In a body each position has its own history; the reduction that counts is the smallest of the integrals, not the
integral of the smallest temperature.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from .errors import HeatError
from .kinetics import Kinetics, shown_logs

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]


@dataclass(frozen=True)
class LogReduction:
    """What a curve does to one organism in one food.

    Attributes:
        kinetics: the record behind it.
        logs: tenfold reductions at the weakest position [-], counted as a claim.
        peak_c: highest temperature of the weakest position [°C].
    """

    kinetics: Kinetics
    logs: float
    peak_c: float

    @property
    def shown(self) -> str:
        """Text for a screen: rounded down, never more than "≥ 12"."""
        return shown_logs(self.logs)

    @property
    def reaches_target(self) -> bool:
        """Whether the record's own target is reached."""
        return self.logs >= self.kinetics.target_logs


def cumulative_logs(times_s: ArrayLike, temps_c: ArrayLike, kinetics: Kinetics, *, claim: bool = True) -> Array:
    """Tenfold reductions up to each moment [-], of the shape of ``temps_c``.

    Args:
        times_s: moments, rising [s], shape (times,).
        temps_c: temperatures [°C], shape (times,) or (times, positions).
        kinetics: the record.
        claim: count nothing below the record's floor and no more than at its cap; False counts the whole line, as
            the published tables do.

    Source: log-linear model of thermal death (Bigelow 1921); integral in closed form.
    """
    import numpy as np

    times, temps = np.asarray(times_s, float), np.asarray(temps_c, float)
    counted = temps >= kinetics.credit_floor_c if claim else None
    slope = math.log(10) / kinetics.z_k
    power = slope * ((np.minimum(temps, kinetics.credit_cap_c) if claim else temps) - kinetics.tref_c)
    rate = np.exp(power) / (60 * kinetics.d_min)
    change = power[1:] - power[:-1]
    mean = 0.5 * (rate[1:] + rate[:-1])
    np.divide(rate[1:] - rate[:-1], change, out=mean, where=np.abs(change) > 1e-5)
    steps = times[1:] - times[:-1]
    mean *= steps if temps.ndim == 1 else steps[:, None]
    if counted is not None:
        mean *= counted[1:] & counted[:-1]
    total = np.zeros_like(temps)
    np.cumsum(mean, axis=0, out=total[1:])
    return total


def weakest(times_s: ArrayLike, temps_c: ArrayLike, kinetics: Kinetics) -> LogReduction:
    """What the whole curve does at the position where it does least.

    Args:
        times_s: moments, rising [s], shape (times,).
        temps_c: temperatures [°C], shape (times,) or (times, positions).
        kinetics: the record.
    """
    import numpy as np

    temps = np.asarray(temps_c, float)
    columns = temps[:, None] if temps.ndim == 1 else temps
    totals = cumulative_logs(times_s, columns, kinetics)[-1]
    least = int(totals.argmin())
    return LogReduction(kinetics, float(totals[least]), float(columns[:, least].max()))


def equivalent_min(times_s: ArrayLike, temps_c: ArrayLike, tref_c: float, z_k: float) -> Array:
    """Minutes at the reference temperature that do the same, up to each moment [min], shape (times,).

    The trapezoid rule of the trade's worksheets, for comparison with them; ``cumulative_logs`` is the better integral.

    Args:
        times_s: moments, rising [s], shape (times,).
        temps_c: temperatures [°C], shape (times,).
        tref_c: reference temperature [°C].
        z_k: difference of temperature for a tenfold change [K].

    Source: AMI Foundation process lethality worksheet.
    """
    import numpy as np

    times, temps = np.asarray(times_s, float), np.asarray(temps_c, float)
    if times.ndim != 1 or times.shape != temps.shape:
        raise HeatError("times and temperatures must be two series of the same length")
    rate = 10 ** ((temps - tref_c) / z_k)
    return np.concatenate([[0.0], np.cumsum(0.5 * (rate[1:] + rate[:-1]) * np.diff(times) / 60)])


def ramp_logs(start_c: float, end_c: float, duration_s: float, kinetics: Kinetics) -> float:
    """Tenfold reductions of a straight rise or fall, in closed form [-], without floor or cap.

    Args:
        start_c: temperature at the start [°C].
        end_c: temperature at the end [°C].
        duration_s: length [s].
        kinetics: the record.
    """
    slope = math.log(10) / kinetics.z_k
    rates = [math.exp(slope * (temp - kinetics.tref_c)) / (60 * kinetics.d_min) for temp in (start_c, end_c)]
    change = slope * (end_c - start_c)
    return duration_s * (rates[0] if change == 0 else (rates[1] - rates[0]) / change)
