"""A probe's log made into a clean series: exact in °F, in order of time, with its gaps known."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cached_property, lru_cache
from itertools import pairwise

from .errors import HeatError
from .temperature import exact_f

MOST_READINGS = 200_000
# A thermocouple that reads below this in a kitchen is broken or unplugged. -40 is the same in both units.
BROKEN_F = Fraction(-40)
HOTTEST_F = Fraction(930)
# Moist food is no hotter than it boils, 212 °F at sea level; its thermometer may be 2 °F off (Food Code 4-203.11(B)).
BOILS_F, PROBE_OFF_F = Fraction(212), Fraction(2)
# What cools is not frozen as it is first read; 30 °F is where lean meat freezes (stillroom.db.pieces).
FROZEN_F = Fraction(30)
# A hole this many times the usual interval is a gap; readings on its two sides prove nothing about what lies between.
GAP_INTERVALS = 3
# So is any hole longer than this: food may have cooled and been heated in it. Common practice, no source.
GAP_S = 30 * 60.0


@dataclass(frozen=True)
class Reading:
    """One reading.

    Attributes:
        at_s: moment, on any one clock [s].
        temp_f: temperature, exact [°F].
    """

    at_s: float
    temp_f: Fraction


@dataclass(frozen=True)
class ProbeLog:
    """A clean series.

    Attributes:
        readings: in order of time, at least one.
        gaps_s: start and end of each hole [s].
        notes: what was put right, in words.
    """

    readings: tuple[Reading, ...]
    gaps_s: tuple[tuple[float, float], ...]
    notes: tuple[str, ...]

    @cached_property
    def times_s(self) -> tuple[float, ...]:
        """Moments [s]."""
        return tuple(reading.at_s for reading in self.readings)

    @cached_property
    def temps_c(self) -> tuple[float, ...]:
        """Temperatures [°C]; for heat sums only, never for a rule that is in °F."""
        return tuple((near - 32) / 1.8 for near in self.near_f)

    @cached_property
    def near_f(self) -> tuple[float, ...]:
        """Temperatures as floats [°F]; what stands this near to a limit is compared exactly."""
        return tuple(reading.temp_f.numerator / reading.temp_f.denominator for reading in self.readings)

    def at_least(self, temp_f: Fraction) -> list[bool]:
        """For each reading whether it is at a temperature or above, exactly.

        Args:
            temp_f: the limit [°F].
        """
        limit = float(temp_f)
        return [
            near > limit if abs(near - limit) > 1e-6 else reading.temp_f >= temp_f
            for near, reading in zip(self.near_f, self.readings, strict=True)
        ]


def clean(pairs: Iterable[tuple[float, Decimal | float | int | str]], unit: str) -> ProbeLog:
    """Readings checked and put in exact °F.

    A repeated moment with the same temperature is dropped and noted; with another temperature it is refused.

    Args:
        pairs: moment [s] and temperature [unit], as logged.
        unit: C or F.

    Raises:
        HeatError: naming the first reading that cannot be right, counted from 1.
    """
    kept: list[Reading] = []
    repeated = 0
    for row, (at_s, value) in enumerate(pairs, start=1):
        if row > MOST_READINGS:
            raise HeatError(f"more than {MOST_READINGS} readings; split the log")
        reading = Reading(float(at_s), _plausible(row, value, unit))
        if kept and reading.at_s < kept[-1].at_s:
            raise HeatError(f"reading {row} goes back in time by {kept[-1].at_s - reading.at_s:g} s")
        if kept and reading.at_s == kept[-1].at_s:
            if reading.temp_f != kept[-1].temp_f:
                raise HeatError(f"reading {row} gives a second temperature for the moment of reading {row - 1}")
            repeated += 1
            continue
        kept.append(reading)
    if not kept:
        raise HeatError("the log holds no readings")
    unusual_s = _unusual_s(kept)
    holes = _gaps(kept, min(GAP_S, unusual_s))
    return ProbeLog(tuple(kept), holes, _notes(repeated, [gap for gap in holes if gap[1] - gap[0] > unusual_s]))


def _plausible(row: int, value: Decimal | float | int | str, unit: str) -> Fraction:
    try:
        temp_f = _exact_f(value, unit)
    except (ValueError, OverflowError) as error:
        if isinstance(error, HeatError):
            raise
        raise HeatError(f'reading {row} is "{value}", not a temperature') from None
    if temp_f < BROKEN_F:
        raise HeatError(f"reading {row} is {value} °{unit}, below -40: broken or unplugged probe")
    if temp_f > HOTTEST_F:
        raise HeatError(f"reading {row} is {value} °{unit}, too hot for a probe")
    return temp_f


@lru_cache(maxsize=8192)
def _exact_f(value: Decimal | float | int | str, unit: str) -> Fraction:
    """A logger says the same few hundred temperatures over and over."""
    return exact_f(value, unit)


def _unusual_s(kept: list[Reading]) -> float:
    """How long a hole must be to stand out from the intervals of its log [s]; infinite where they are too few."""
    steps = sorted(after.at_s - before.at_s for before, after in pairwise(kept))
    return math.inf if len(steps) < 3 else GAP_INTERVALS * steps[len(steps) // 2]


def _gaps(kept: list[Reading], limit_s: float) -> tuple[tuple[float, float], ...]:
    return tuple((before.at_s, after.at_s) for before, after in pairwise(kept) if after.at_s - before.at_s > limit_s)


def _notes(repeated: int, gaps: list[tuple[float, float]]) -> tuple[str, ...]:
    notes = []
    if repeated:
        notes.append(f"{repeated} repeated readings dropped")
    if gaps:
        longest = max(end - start for start, end in gaps)
        notes.append(f"{len(gaps)} gaps, the longest {longest / 60:.0f} min")
    return tuple(notes)


def is_beyond_boiling(temp_f: Fraction | float) -> bool:
    """Whether a reading can't be of moist food: hotter than it boils by more than a probe's error.

    Args:
        temp_f: the reading [°F].
    """
    return temp_f > BOILS_F + PROBE_OFF_F


def wrong_scale(log: ProbeLog, *, cools: bool = False, read_as: str = "") -> str:
    """Why a log can't have been read in the right scale, with the mend; "" where it can.

    Args:
        log: readings in food.
        cools: whether they are of something that cools: then it begins thawed.
        read_as: the scale its file was read in, C or F; "" where nobody knows any more.
    """
    hot = next((n for n, reading in enumerate(log.readings, 1) if is_beyond_boiling(reading.temp_f)), None)
    if hot is not None:
        temp_f = float(log.readings[hot - 1].temp_f)
        what = f"reading {hot} is {temp_f:.4g} °F, hotter than moist food gets: it boils at {float(BOILS_F):g} °F"
        mends = [] if read_as == "F" else [f"If {(temp_f - 32) / 1.8:.4g} °F was meant, the scale is wrong: say °F."]
        return " ".join([f"{what}.", *mends, "If the probe was out of the food then, leave that part out."])
    first = float(log.readings[0].temp_f)
    if cools and first < FROZEN_F and read_as != "C":
        return f"it begins at {first:.4g} °F, frozen. If {first:.4g} °C was meant, the scale is wrong: say °C."
    return ""


def looks_like_other_unit(log: ProbeLog, expected_f: float) -> bool:
    """Whether the peak fits what was expected only after changing °F for °C, either way.

    Args:
        log: the readings.
        expected_f: peak expected [°F].
    """
    peak = float(max(reading.temp_f for reading in log.readings))
    if abs(peak - expected_f) <= 25:
        return False
    return min(abs(peak * 1.8 + 32 - expected_f), abs((peak - 32) / 1.8 - expected_f)) <= 15
