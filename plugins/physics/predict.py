"""The prediction for a programme: three runs, slow, likely and fast; decisions on the slow one.

Slow: diffusivity 1.11e-7 m2/s and the cautious surface coefficients; fast: 1.40e-7 and the brisk ones. Between them
lies most real food: 15 to 20 % in time either way, or 3 to 4 mm of thickness.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from .errors import HeatError
from .kinetics import record_set
from .lethality import LogReduction, weakest
from .programme import Piece, Prediction, Step, StepResult
from .simulate import History, is_one_sided, simulate
from .temperature import c_from_f

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

# Food Code growth range, law in °F; used here for minutes on a curve, not for a verdict.
GROWTH_LOW_C, GROWTH_HIGH_C = c_from_f(41), c_from_f(130)

EDGES_LEFT_OUT = "Heat from one side: the edges are left out, the piece counts as a wide slab of its thickness."
FROZEN_AS_SLAB = "Frozen start: the piece counts as a wide slab of its thickness, which is slower than a box."
TURNED_OFTEN = "A round piece over one-sided heat counts as turned all the time."


@lru_cache(maxsize=128)
def predict(piece: Piece, steps: tuple[Step, ...], *, boiling_c: float = 100.0) -> Prediction:
    """What the piece does through the steps.

    Args:
        piece: the piece.
        steps: what it goes through, in order.
        boiling_c: boiling point at the kitchen's altitude [°C].

    Returns:
        Curves at common moments, state at each step's end, and log reductions at the slow end.

    Raises:
        HeatError: for anything out of range, naming it.

    Note: pure, and remembered for the last 128 questions; within 0.01 °C of independent solvers for the same
        assumptions; see the module for real food.
    """
    slow, likely, fast = (simulate(piece, steps, end, boiling_c) for end in ("slow", "likely", "fast"))
    times = likely.times_s
    slow_core, fast_core = _onto(times, slow, slow.core_c), _onto(times, fast, fast.core_c)
    slow_coldest, slow_hottest = (_onto(times, slow, edge) for edge in (slow.temps_c.min(1), slow.temps_c.max(1)))
    peak = int(likely.core_c.argmax())
    return Prediction(
        times_s=_plain(times),
        core_c=_plain(likely.core_c),
        surface_c=_plain(likely.surface_c),
        coldest_c=_plain(likely.temps_c.min(axis=1)),
        slow_core_c=_plain(slow_core),
        fast_core_c=_plain(fast_core),
        slow_coldest_c=_plain(slow_coldest),
        slow_hottest_c=_plain(slow_hottest),
        steps=_results(steps, slow, likely, fast),
        reductions=reductions(slow, piece.food),
        growth_s=longest_between_s(slow, GROWTH_LOW_C, GROWTH_HIGH_C),
        peak_core_c=(float(likely.core_c[peak]), float(slow.core_c.max()), float(fast.core_c.max())),
        peak_at_s=float(times[peak]),
        notes=_notes(piece, steps),
    )


def reductions(history: History, food: str | None) -> tuple[LogReduction, ...]:
    """Log reductions at the weakest position, per record of a food; empty where there is no record.

    Args:
        history: a run.
        food: set of heat-resistance records, or None.
    """
    if food is None:
        return ()
    return tuple(weakest(history.times_s, history.temps_c, entry) for entry in record_set(food))


def longest_between_s(history: History, low_c: float, high_c: float) -> float:
    """Longest time that any position spends between two temperatures [s].

    Args:
        history: a run.
        low_c: lower limit [°C].
        high_c: upper limit [°C].
    """
    import numpy as np

    low, high = history.temps_c[:-1], history.temps_c[1:]
    bottom, top = np.minimum(low, high), np.maximum(low, high)
    inside = np.clip(top, low_c, high_c) - np.clip(bottom, low_c, high_c)
    level = (bottom >= low_c) & (bottom <= high_c)
    share = np.divide(inside, top - bottom, out=level.astype(float), where=top > bottom)
    return float((share * np.diff(history.times_s)[:, None]).sum(axis=0).max())


def first_at_or_above_s(times_s: tuple[float, ...], temps_c: tuple[float, ...], target_c: float) -> float | None:
    """First moment at which a curve is at the target or above [s]; None when it never is.

    Args:
        times_s: moments, rising [s].
        temps_c: the curve [°C].
        target_c: what it is to reach [°C].
    """
    if len(times_s) != len(temps_c) or not times_s:
        raise HeatError("a curve needs as many moments as temperatures, and at least one")
    if temps_c[0] >= target_c:
        return times_s[0]
    for index in range(1, len(temps_c)):
        if temps_c[index] >= target_c:
            share = (target_c - temps_c[index - 1]) / (temps_c[index] - temps_c[index - 1])
            return times_s[index - 1] + share * (times_s[index] - times_s[index - 1])
    return None


def _onto(times: Array, history: History, curve: Array) -> Array:
    import numpy as np

    return np.interp(times, history.times_s, curve)


def _plain(curve: Array) -> tuple[float, ...]:
    return tuple(curve.tolist())


def _results(steps: tuple[Step, ...], slow: History, likely: History, fast: History) -> tuple[StepResult, ...]:
    found, start = [], 0.0
    for index, step in enumerate(steps):
        rows = [run.step_ends[index] for run in (slow, likely, fast)]
        found.append(
            StepResult(
                step=step,
                start_s=start,
                end_s=start + step.duration_s,
                core_c=float(likely.core_c[rows[1]]),
                slow_core_c=float(slow.core_c[rows[0]]),
                fast_core_c=float(fast.core_c[rows[2]]),
                surface_c=float(likely.surface_c[rows[1]]),
                slow_coldest_c=float(slow.temps_c[rows[0]].min()),
            )
        )
        start += step.duration_s
    return tuple(found)


def _notes(piece: Piece, steps: tuple[Step, ...]) -> tuple[str, ...]:
    one_sided = is_one_sided(steps)
    box = piece.shape in ("rod", "brick", "finite_cylinder")
    notes = []
    if one_sided and box:
        notes.append(EDGES_LEFT_OUT)
    elif piece.frozen and box:
        notes.append(FROZEN_AS_SLAB)
    if one_sided and not box and piece.shape_factor:
        notes.append(TURNED_OFTEN)
    return tuple(notes)
