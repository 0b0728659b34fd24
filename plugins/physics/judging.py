"""Readings held against rules, in exact °F: met, not met, or cannot tell from these readings.

A reading proves what it shows at its own moment. What lies between two readings is taken at its worst: a clock
that starts as the food passes 135 °F starts, at the worst, at the last reading still at or above it; a limit is
reached, for certain, at the first reading at or below it. Where no temperature starts the clock, it starts when a
person says that the food was made or came in; where nobody does, at the first reading, and a note says so.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from typing import Literal

from .kinetics import Kinetics
from .lethality import LogReduction, cumulative_logs, weakest
from .programme import Prediction
from .readings import PROBE_OFF_F, ProbeLog, Reading, clean
from .rules import CoolingRule, CoolingStage, Minimum
from .temperature import beside

# From here on food is cooked or heated again, and cools anew: Food Code 3-403.11(A).
HEATED_AGAIN_F = Fraction(165)
# What a door that opens does to food that is cold, and air that no kitchen is hotter than. Common practice, no source.
DOOR_SWING_F, KITCHEN_AIR_F = Fraction(5), Fraction(80)

Verdict = Literal["met", "not met", "cannot tell", "only if"]


@dataclass(frozen=True)
class Judgement:
    """A verdict with its reason.

    Attributes:
        verdict: met, not met, cannot tell; only if, for a prediction that meets a rule at its fast end alone.
        section: the rule's section.
        reason: what decided it, in words.
        shortest_s: least time it can have taken [s], where time is what counts.
        longest_s: most time it can have taken [s]; None when it never got there.
    """

    verdict: Verdict
    section: str
    reason: str
    shortest_s: float | None = None
    longest_s: float | None = None


def judge_minimum(log: ProbeLog, rule: Minimum) -> Judgement:
    """Whether a cooking minimum was reached and held.

    Args:
        log: readings at the coldest point.
        rule: the minimum.
    """
    if not any(log.at_least(rule.temp_f)):
        highest = max(log.readings, key=lambda reading: reading.temp_f.numerator / reading.temp_f.denominator).temp_f
        short = f"highest {short_f(highest, rule.temp_f)}"
        return Judgement("not met", rule.section, f"{short}, asked {said_f(rule.temp_f)}")
    proven, with_gaps, open_end = _held_s(log, rule.temp_f)
    asked = f"{said_f(rule.temp_f)} for {rule.hold_s} s"
    if proven >= rule.hold_s:
        return Judgement("met", rule.section, f"held {proven:.0f} s, asked {asked}", proven, proven)
    if with_gaps >= rule.hold_s:
        return Judgement("cannot tell", rule.section, f"a gap in the readings breaks the hold; asked {asked}", proven)
    if open_end:
        return Judgement("cannot tell", rule.section, f"the log ends after {proven:.0f} s; asked {asked}", proven)
    return Judgement("not met", rule.section, f"held {proven:.0f} s, asked {asked}", proven, proven)


def _held_s(log: ProbeLog, temp_f: Fraction) -> tuple[float, float, bool]:
    """Longest unbroken hold, the same across gaps, and whether the last reading is still in the longest one [s]."""
    proven = across = best_proven = best_across = 0.0
    reached, holes = log.at_least(temp_f), set(log.gaps_s)
    for index, (before, after) in enumerate(pairwise(log.times_s)):
        if reached[index] and reached[index + 1]:
            across += after - before
            proven = 0.0 if (before, after) in holes else proven + after - before
        else:
            proven = across = 0.0
        best_proven, best_across = max(best_proven, proven), max(best_across, across)
    still = reached[-1] and across == best_across
    return best_proven, best_across, still


def judge_lethality(log: ProbeLog, kinetics: Kinetics) -> LogReduction:
    """Log reductions along the readings, counted as a claim; a gap in them earns nothing.

    Args:
        log: readings at the coldest point.
        kinetics: the record.
    """
    found, holes = weakest(log.times_s, log.temps_c, kinetics), set(log.gaps_s)
    if not holes:
        return found
    total = cumulative_logs(log.times_s, log.temps_c, kinetics).tolist()
    read = zip(pairwise(log.times_s), pairwise(total), strict=True)
    return replace(found, logs=math.fsum(after - before for span, (before, after) in read if span not in holes))


@dataclass(frozen=True)
class CoolingJudgement:
    """The limits of a cooling rule, each with its answer.

    Attributes:
        rule: the rule.
        stages: one judgement for each of its limits.
        notes: what should be looked at.
    """

    rule: CoolingRule
    stages: tuple[Judgement, ...]
    notes: tuple[str, ...]

    @property
    def verdict(self) -> Verdict:
        """The worst of them."""
        every = {one.verdict for one in self.stages}
        return "not met" if "not met" in every else "cannot tell" if "cannot tell" in every else "met"

    @property
    def reason(self) -> str:
        """What decided each limit, in words."""
        return "; ".join(one.reason for one in self.stages)


def judge_cooling(log: ProbeLog, rule: CoolingRule, started_s: float | None = None) -> CoolingJudgement:
    """Whether food cooled in time.

    Args:
        log: readings at the hottest point.
        rule: the limits.
        started_s: moment the clock started, when a person knows it: the food passed the rule's own temperature going
            down, was made or came in [s]. What was made or came in was so by its first reading at the latest.
    """
    start, notes = _clock(log, rule, started_s)
    stages = tuple(_stage(log, start, stage, rule) for stage in rule.stages)
    limits = (rule.stages[0].temp_f, rule.stages[-1].temp_f)
    counted = [reading for reading in log.readings if start[0] is None or reading.at_s >= start[0]]
    rose = next((f"rose above {said_f(limit)} again" for limit in limits if _risen(counted, limit)), "")
    return CoolingJudgement(rule, stages, (*notes, rose) if rose else notes)


FROM_FIRST = "counted from the first reading, as if made or come in just then; if it was earlier, so is the limit"


def _clock(
    log: ProbeLog, rule: CoolingRule, started_s: float | None
) -> tuple[tuple[float | None, float], tuple[str, ...]]:
    """Earliest (None when unknown) and latest moment at which the clock can have started [s]."""
    first_s = log.readings[0].at_s
    if rule.start_f is None:
        began = first_s if started_s is None else min(started_s, first_s)
        return (began, began), (FROM_FIRST,) if started_s is None else ()
    if started_s is not None:
        return (started_s, started_s), ()
    found = clock_began(log.readings, rule.start_f)
    if found is None:
        why = f"no reading at or above {said_f(rule.start_f)}: nobody wrote down when the clock started"
        return (None, first_s), (why,)
    first, last = found
    said = f"was below {said_f(rule.start_f)} before it was hot for the last time: look at the readings"
    notes = (said,) if any(reading.temp_f < rule.start_f for reading in log.readings[first:last]) else ()
    is_exact = log.readings[last].temp_f == rule.start_f or last + 1 == len(log.readings)
    return (log.readings[first].at_s, log.readings[last if is_exact else last + 1].at_s), notes


def clock_began(readings: Sequence[Reading], start_f: Fraction) -> tuple[int, int] | None:
    """Readings at which a clock that starts as the food falls past a temperature can have started, first and last.

    Food that fell below it and was hot again began to cool as it fell the first time, unless it was heated to
    `HEATED_AGAIN_F` since: then it cools anew. None where no reading is at or above it.

    Args:
        readings: in order of time.
        start_f: the temperature [°F].
    """
    hot = [index for index, reading in enumerate(readings) if reading.temp_f >= start_f]
    again = next((index for index in reversed(hot) if readings[index].temp_f >= HEATED_AGAIN_F), None)
    hot = [index for index in hot if again is None or index >= again]
    if not hot:
        return None
    low = start_f - PROBE_OFF_F
    fell = (b for b, a in pairwise(hot) if any(reading.temp_f < low for reading in readings[b + 1 : a]))
    return next(fell, hot[-1]), hot[-1]


def _stage(log: ProbeLog, start: tuple[float | None, float], stage: CoolingStage, rule: CoolingRule) -> Judgement:
    (earliest, latest), target_f, allowed_s = start, stage.temp_f, stage.within_s
    name, section = rule.span(stage), rule.section
    after = [reading for reading in log.readings if reading.at_s >= (latest if earliest is None else earliest)]
    above, below = _around(after, target_f)
    # a reading exactly at the limit is the moment itself; one below it only says that the moment has passed
    exact = below is not None and below.temp_f == target_f
    last_above = below if exact else above
    shortest = max(0.0, last_above.at_s - latest) if last_above else 0.0
    if below is None:
        verdict: Verdict = "not met" if shortest >= allowed_s else "cannot tell"
        return Judgement(verdict, section, f"{name}: not reached in these readings", shortest)
    longest = None if earliest is None else below.at_s - earliest
    risen = _warm_again(after, target_f, None if earliest is None else earliest + allowed_s)
    if risen is not None and shortest < allowed_s:
        told = f"{said_f(target_f)} or below, and {said_f(risen.temp_f)} afterwards: was the probe out of the food?"
        return Judgement("cannot tell", section, f"{name}: {told}", shortest, longest)
    if longest is not None and longest <= allowed_s:
        reason = f"{name} in {in_hours(longest)}, allowed {in_hours(allowed_s)}"
        return Judgement("met", section, reason, shortest, longest)
    if shortest >= allowed_s:
        return Judgement("not met", section, f"{name} took more than {in_hours(allowed_s)}", shortest, longest)
    if longest is None:
        return Judgement("cannot tell", section, f"{name}: nobody wrote down the start", shortest)
    return Judgement("cannot tell", section, f"{name}: readings too far apart at the limit", shortest, longest)


def _around(readings: list[Reading], target_f: Fraction) -> tuple[Reading | None, Reading | None]:
    """Last reading above a temperature before it is first reached, and the one that reaches it."""
    above = None
    for reading in readings:
        if reading.temp_f <= target_f:
            return above, reading
        above = reading
    return above, None


def _risen(readings: Sequence[Reading], temp_f: Fraction) -> list[Reading]:
    """Readings above a temperature after the first one that reached it."""
    reached = next((index for index, one in enumerate(readings) if one.temp_f <= temp_f), len(readings))
    return [reading for reading in readings[reached:] if reading.temp_f > temp_f]


def _warm_again(readings: Sequence[Reading], target_f: Fraction, by_s: float | None) -> Reading | None:
    """The hottest reading of food that was warm after it had reached a limit; None where the limit stands.

    A probe in cold air reaches any limit, and what was colder than the food proves nothing of it. It stands where the
    food rose once and was back at the limit by `by_s` [s], where it rose by no more than the door of a walk-in makes
    it, and where the log ends with a rise to the air of a kitchen: then the probe was taken out.
    """
    risen = _risen(readings, target_f)
    if not risen:
        return None
    back_s = next((one.at_s for one in readings if one.at_s > risen[-1].at_s), None)
    is_once = not any(one.temp_f <= target_f for one in readings if risen[0].at_s < one.at_s < risen[-1].at_s)
    if is_once and by_s is not None and back_s is not None and back_s <= by_s:
        return None
    top = max(risen, key=lambda reading: reading.temp_f)
    cools_on = any(one.temp_f < top.temp_f - PROBE_OFF_F for one in readings if one.at_s > top.at_s)
    is_warm = top.temp_f > target_f + DOOR_SWING_F and (cools_on or top.temp_f > KITCHEN_AIR_F)
    return top if is_warm else None


def assess(prediction: Prediction, rule: Minimum) -> Judgement:
    """Whether a programme is predicted to meet a minimum at its coldest point; never a reading.

    Args:
        prediction: the programme.
        rule: the minimum.

    Returns:
        met on the slow end; "only if" when the likely curve alone gets there; else not met.
    """
    slow, likely = (
        judge_minimum(from_curve(prediction.times_s, curve), rule)
        for curve in (prediction.slow_coldest_c, prediction.coldest_c)
    )
    if slow.verdict == "met" or likely.verdict != "met":
        return slow if slow.verdict != "cannot tell" else Judgement("not met", rule.section, slow.reason)
    reason = f"only the likely curve gets there ({likely.reason}); confirm with a probe"
    return Judgement("only if", rule.section, reason)


@lru_cache(maxsize=8)
def from_curve(times_s: tuple[float, ...], temps_c: tuple[float, ...]) -> ProbeLog:
    """A predicted curve in the shape of a log, for the same rules.

    Args:
        times_s: moments [s].
        temps_c: temperatures [°C].
    """
    kept = clean(zip(times_s, temps_c, strict=True), "C")
    return ProbeLog(kept.readings, (), ())


def lag_s(prediction: Prediction, log: ProbeLog, at_c: float) -> float | None:
    """How much later than likely the readings reached a temperature [s]; None when one of the two never did.

    Args:
        prediction: the programme; its clock is that of the log.
        log: readings at the core.
        at_c: temperature to compare at [°C].
    """
    from .predict import first_at_or_above_s

    foreseen = first_at_or_above_s(prediction.times_s, prediction.core_c, at_c)
    seen = first_at_or_above_s(log.times_s, log.temps_c, at_c)
    return None if foreseen is None or seen is None else seen - foreseen


def short_f(temp_f: Fraction, limit_f: Fraction) -> str:
    """A temperature below a limit in words, never rounded up to it.

    Args:
        temp_f: exact [°F].
        limit_f: what it falls short of [°F].
    """
    return f"{beside(float(temp_f), (float(limit_f),), places=2):.3f}".rstrip("0").rstrip(".") + " °F"


def said_f(temp_f: Fraction) -> str:
    """A temperature in words, to a hundredth: '57.2 °F'.

    Args:
        temp_f: exact [°F].
    """
    text = f"{float(temp_f):.2f}".rstrip("0").rstrip(".")
    return f"{text} °F"


def in_hours(time_s: float) -> str:
    """A length of time in words, rounded down: '1 h 05 min'.

    Args:
        time_s: length [s].
    """
    minutes = int(time_s // 60)
    return f"{minutes // 60} h {minutes % 60:02d} min"
