"""The weight forecast of ageing lots: coverage of its 90 % band and error beside five simple curves, on two generators.

Neither generator is the one that the forecast was tuned on (diffusion in a slab with surface resistance). Front: a
drying front under a crust, Deal and Grove's law. Series: a sum of exponentials, as a mixture of parts that dry at
their own pace. Losses are in % of start weight; every piece loses 8 to 18 % in 35 days.
"""

from __future__ import annotations

import math
import random
import time
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from fractions import Fraction as F

import numpy as np
from stillroom.db.lots import Lot, Weighing
from stillroom.plugins.cuts.compute import weight_on
from stillroom.plugins.physics.drying import WeighIn, forecast

Piece = list[float]
Curve = Callable[[np.ndarray, np.ndarray, float], float]
SCHEDULES = (((7, 10, 14), 28), ((3, 7, 14), 28), ((7, 14, 21), 35), ((3, 7, 10, 14, 21), 42))
PIECES = 400
START = F(10_000)


def front(chance: random.Random) -> Piece:
    """Daily loss [%] of a piece that dries behind a crust; weather wanders by a fifth."""
    rate, crust, limit = chance.uniform(0.3, 1.2), chance.uniform(2, 12), chance.uniform(25, 60)
    weather, loss, daily = 0.0, 0.0, [0.0]
    for _ in range(45):
        weather = 0.7 * weather + 0.13 * chance.gauss(0, 1)
        for _ in range(8):
            loss += rate / 8 * math.exp(weather) * (1 - loss / limit) / (1 + loss / crust)
        daily.append(loss)
    return daily


def series(chance: random.Random) -> Piece:
    """Daily loss [%] of a piece of three parts, each with its own pace and water."""
    parts = [(chance.uniform(1, 6), chance.uniform(4, 12)), (chance.uniform(4, 14), chance.uniform(12, 40)),
             (chance.uniform(5, 30), chance.uniform(40, 160))]  # fmt: skip
    weather, loss, daily = 0.0, 0.0, [0.0]
    for day in range(1, 46):
        weather = 0.8 * weather + 0.10 * chance.gauss(0, 1)
        step = sum(w * (math.exp(-(day - 1) / t) - math.exp(-day / t)) for w, t in parts)
        loss += step * math.exp(weather)
        daily.append(loss)
    return daily


def pieces(make: Callable[[random.Random], Piece], seed: int) -> Iterator[tuple[Piece, random.Random]]:
    """Pieces that lose 8 to 18 % in 35 days."""
    chance, made = random.Random(seed), 0
    while made < PIECES:
        daily = make(chance)
        if 8 <= daily[35] <= 18:
            made += 1
            yield daily, chance


def line_through_0(t: np.ndarray, w: np.ndarray, day: float) -> float:
    return float((t @ w) / (t @ t) * day)


def straight_line(t: np.ndarray, w: np.ndarray, day: float) -> float:
    slope, base = np.polyfit(t, w, 1)
    return float(base + slope * day)


def square_root(t: np.ndarray, w: np.ndarray, day: float) -> float:
    root = np.sqrt(t)
    return float((root @ w) / (root @ root) * math.sqrt(day))


def root_and_line(t: np.ndarray, w: np.ndarray, day: float) -> float:
    a, b = np.linalg.lstsq(np.c_[np.sqrt(t), t], w, rcond=None)[0]
    return float(a * math.sqrt(day) + b * day)


def power_law(t: np.ndarray, w: np.ndarray, day: float) -> float:
    slope, base = np.polyfit(np.log(t), np.log(w), 1)
    return float(math.exp(base + slope * math.log(day)))


CURVES: dict[str, Curve] = {
    "line through 0": line_through_0, "straight line": straight_line, "square root": square_root,
    "root and line": root_and_line, "power law": power_law,
}  # fmt: skip


def judge(make: Callable[[random.Random], Piece], days: tuple[int, ...], target: int) -> dict[str, float]:
    """Root of the mean squared error of each curve [% of start], and the coverage of the band."""
    errors: dict[str, list[float]] = {name: [] for name in ("forecast", *CURVES)}
    inside = 0
    t = np.array(days, float)
    for daily, chance in pieces(make, seed=sum(days) + target):
        seen = np.array([max(daily[d] + 0.05 * chance.gauss(0, 1), 0.05) for d in days])
        weighed = tuple(WeighIn(d, START * (1 - F(str(round(w, 4))) / 100)) for d, w in zip(days, seen, strict=True))
        found = forecast(START, weighed, target)
        inside += found.loss_low_pct <= daily[target] <= found.loss_high_pct
        errors["forecast"].append(found.loss_pct - daily[target])
        for name, curve in CURVES.items():
            errors[name].append(curve(t, seen, target) - daily[target])
    return {"coverage": inside / PIECES} | {k: float(np.sqrt(np.mean(np.square(e)))) for k, e in errors.items()}


def accuracy() -> None:
    """One line for each generator and schedule, and the coverage over all."""
    names = ("coverage", "forecast", *CURVES)
    print(f"{'generator, weighed -> day':34}" + "".join(f"{n:>16}" for n in names))
    covered = []
    for make in (front, series):
        for days, target in SCHEDULES:
            found = judge(make, days, target)
            covered.append(found["coverage"])
            said = f"{make.__name__}, {', '.join(map(str, days))} -> {target}"
            print(f"{said:34}" + "".join(f"{found[n]:16.2f}" for n in names))
    print(f"coverage of the 90 % band over all: {sum(covered) / len(covered):.3f}, from {min(covered):.2f}"
          f" to {max(covered):.2f}; errors in % of start weight")  # fmt: skip


def speed() -> None:
    """200 lots with twelve weighings each, to their day."""
    begun, chance = date(2026, 1, 1), random.Random(3)
    lots = []
    for n in range(200):
        start, rate = F(chance.randrange(5000, 15000)), chance.uniform(0.4, 0.6)
        seen = tuple(
            Weighing(begun + timedelta(days=d), start - round(float(start) * rate * d**0.8 / 100), 36.0, 80.0)
            for d in range(2, 26, 2)
        )
        lots.append(Lot(f"L{n}", "beef", begun, start, 35, "", F(100), seen, None, None))
    on, times = begun + timedelta(days=35), []
    for _ in range(5):
        start_at = time.perf_counter()
        assert all(weight_on(x, on).forecast for x in lots)
        times.append(time.perf_counter() - start_at)
    print(f"forecast of 200 lots: {min(times) * 1000:.0f} ms")


if __name__ == "__main__":
    accuracy()
    speed()
