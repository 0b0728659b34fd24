"""What the house's own probe log says: its surface coefficient and its carryover, each with spread and number.

An estimate from a handful of runs; it replaces an estimate from no runs. It never enters a decision about safety
without a person's word.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from statistics import fmean, stdev
from typing import TYPE_CHECKING

from .errors import HeatError
from .programme import Piece, Step
from .readings import ProbeLog
from .simulate import simulate

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

FEWEST = 3
SMALLEST_H, LARGEST_H = 3.0, 2000.0
# two-sided 90 % points of Student's t for 2 to 9 degrees of freedom; the normal 1.645 is used from 30 on
_T90 = {2: 2.920, 3: 2.353, 4: 2.132, 5: 2.015, 6: 1.943, 7: 1.895, 8: 1.860, 9: 1.833}


@dataclass(frozen=True)
class Estimate:
    """A learnt value.

    Attributes:
        value: mean; geometric for a coefficient.
        low: lower end of where 90 % of single runs fall.
        high: upper end.
        count: number of runs.
        unit: unit of the three.
    """

    value: float
    low: float
    high: float
    count: int
    unit: str


@dataclass(frozen=True)
class ProbedRun:
    """One piece that was probed at the core through known steps.

    Attributes:
        piece: the piece.
        steps: what it went through; the clock of the log starts with the first.
        log: the readings.
        step: index of the step whose surface coefficient is sought [-].
    """

    piece: Piece
    steps: tuple[Step, ...]
    log: ProbeLog
    step: int


def fit_h(run: ProbedRun) -> float:
    """Surface coefficient of one step that fits one run best [W/m2K].

    Args:
        run: the probed run.

    Raises:
        HeatError: when the best fit lies at either end of 3 to 2000 W/m2K: the readings do not settle it.
    """
    import numpy as np
    from scipy.optimize import minimize_scalar

    seen, moments = np.array(run.log.temps_c), np.array(run.log.times_s)

    def misfit(log_h: float) -> float:
        changed = replace(run.steps[run.step], h_w_m2k=math.exp(log_h))
        steps = (*run.steps[: run.step], changed, *run.steps[run.step + 1 :])
        history = simulate(run.piece, steps, "likely")
        return float(np.mean((np.interp(moments, history.times_s, history.core_c) - seen) ** 2))

    bounds = (math.log(SMALLEST_H), math.log(LARGEST_H))
    found = minimize_scalar(misfit, bounds=bounds, method="bounded", options={"xatol": 1e-3})
    if min(found.x - bounds[0], bounds[1] - found.x) < 0.01:
        raise HeatError("the readings do not settle it: it would be below 3 or above 2000 W/m²K")
    return float(math.exp(found.x))


def learnt_h(runs: tuple[ProbedRun, ...]) -> Estimate:
    """Surface coefficient of a step from several runs [W/m2K].

    Args:
        runs: at least three probed runs.

    Raises:
        HeatError: for fewer.
    """
    return _estimate([math.log(fit_h(run)) for run in runs], "W/m2K", math.exp)


def learnt_carryover(pairs: tuple[tuple[float, float], ...]) -> Estimate:
    """Rise of the core after the pull, from pairs of core at the pull and highest core after it [K].

    Args:
        pairs: core at the pull and highest after it [°C], at least three.

    Raises:
        HeatError: for fewer, or a pair that falls.
    """
    rises = [highest - pulled for pulled, highest in pairs]
    if any(rise < 0 for rise in rises):
        raise HeatError("a highest core below the core at the pull")
    return _estimate(rises, "K", float)


def _estimate(values: list[float], unit: str, back: object) -> Estimate:
    if len(values) < FEWEST:
        raise HeatError(f"{len(values)} runs; an estimate needs {FEWEST}")
    assert callable(back)
    count, middle = len(values), fmean(values)
    points = _T90.get(count - 1, 1.645 + 1.7 / (count - 1))
    spread = points * stdev(values) * math.sqrt(1 + 1 / count)
    return Estimate(back(middle), back(middle - spread), back(middle + spread), count, unit)
