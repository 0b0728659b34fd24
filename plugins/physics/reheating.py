"""Cooked food that is heated again for hot holding, held against Food Code 3-403.11 in exact °F.

(A) every part at 165 °F for 15 s; (B) in a microwave oven at 165 °F, rotated or stirred, covered, and left covered for
2 min; (C) ready-to-eat food packed in an inspected plant at 135 °F; (D) for those three, no more than 2 h between 41 °F
and that temperature; (E) unsliced parts of a roast, by the time and temperature that the roast was cooked by.

A reading proves what it shows at its own moment, and what lies between two readings is taken at its worst: the two
hours start at the last reading at or below 41 °F and end where the food is, for certain, as hot as asked for as long
as asked. What no probe can see, a cover or an oven, is named as the condition of the answer.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

from stillroom.db.pieces import REHEATS

from .errors import HeatError
from .judging import Judgement, Verdict, in_hours, judge_minimum, said_f, short_f
from .readings import ProbeLog, Reading
from .reference import rows
from .rules import Minimum, roast_rows

NO_SOURCE = "common practice, no source"
# What is cold swings with the door of the walk-in; from here on it is being heated: the first limit of cooling,
# 3-501.14(A)(1).
SWING_F = Fraction(70)
WORST_SAID = "the worst of them is told"
WORST: tuple[Verdict, ...] = ("not met", "cannot tell", "only if", "met")
STOOD_COVERED = "it was rotated or stirred, covered, and left covered for {:g} min afterwards"
COOKED = "what came before the cold was its cooking, not a heating again"
OVEN = "the oven was set as 3-401.11(B) has it for a roast of that weight"


@dataclass(frozen=True)
class Reheat:
    """What one way of heating again asks for.

    Attributes:
        key: which of `stillroom.db.pieces.REHEATS`.
        food: what is heated, and how, in words.
        to_f: what every part reaches [°F]; None: a row of `rows`, any of them.
        hold_s: how long it stays there [s].
        from_f: where the two hours start [°F].
        within_s: time allowed from there to `to_f` [s]; None: no such limit.
        unseen: what the rule asks that no probe sees; '' for nothing.
        section: paragraph of the Food Code.
        edition: editions that print it.
        basis: read or memory.
        rows: the roast table, where it is that.
    """

    key: str
    food: str
    to_f: Fraction | None
    hold_s: int
    from_f: Fraction
    within_s: int | None
    unseen: str
    section: str
    edition: str
    basis: str
    rows: tuple[Minimum, ...] = ()

    @property
    def named(self) -> str:
        """All that it asks, in one line."""
        if self.to_f is None:
            return "the time and temperature it was cooked by, a row of the time table of 3-401.11(B)"
        hold = f" for {self.hold_s} s" if self.hold_s else ""
        stand = ", then left covered" if self.unseen else ""
        window = "" if self.within_s is None else f"{self.within_s / 3600:g} h after {said_f(self.from_f)}"
        return f"every part at {said_f(self.to_f)}{hold}{stand}" + (window and f", no more than {window}")


_IDS = {
    "reheat": "reheat_hot_hold", "reheat microwave": "reheat_microwave", "reheat packed": "reheat_commercial",
    "reheat roast": "reheat_roast",
}  # fmt: skip


@lru_cache(maxsize=8)
def reheat_rule(key: str = "reheat") -> Reheat:
    """What one way of heating again asks for.

    Args:
        key: which of `stillroom.db.pieces.REHEATS`.

    Raises:
        HeatError: for another key.
    """
    if key not in _IDS:
        raise HeatError(f'no rule of heating again "{key}"; known are {", ".join(_IDS)}')
    table = {row["id"]: row for row in rows("cooling_holding.csv")}
    row, cold = table[_IDS[key]], Fraction(table["cold_hold"]["temp_f"])
    if not row["temp_f"]:
        return Reheat(key, REHEATS[key], None, 0, cold, None, OVEN, row["section"], row["edition"], row["basis"],
                      roast_rows())
    seconds, is_covered = int(row["time_seconds"] or 0), key == "reheat microwave"
    return Reheat(
        key, REHEATS[key], Fraction(row["temp_f"]), 0 if is_covered else seconds, cold,
        int(table["reheat_window"]["time_seconds"]), STOOD_COVERED.format(seconds / 60) if is_covered else "",
        row["section"], row["edition"], row["basis"],
    )  # fmt: skip


@dataclass(frozen=True)
class ReheatJudgement:
    """A log held against one way of heating again.

    Attributes:
        rule: the rule.
        parts: the temperature and its hold, then the two hours where the rule has them.
        notes: what should be looked at.
        left_s: time left of the two hours at the last reading, at the worst [s]; None where that is not known.
    """

    rule: Reheat
    parts: tuple[Judgement, ...]
    notes: tuple[str, ...] = ()
    left_s: float | None = None

    @property
    def verdict(self) -> Verdict:
        """The worst of its parts."""
        return min((one.verdict for one in self.parts), key=WORST.index)

    @property
    def reason(self) -> str:
        """What decided each part, in words."""
        return "; ".join(one.reason for one in self.parts)

    @property
    def do(self) -> str:
        """What the rule asks to be done now, in words; '' where it is met."""
        if len(self.parts) > 1 and self.parts[1].verdict == "not met":
            return f"Too slow: throw it away; next time less at once, and not in what only holds hot ({NO_SOURCE})."
        if self.parts[0].verdict == "not met":
            left = "" if not self.left_s else f"; {in_hours(self.left_s)} were left at the last reading"
            return f"Heat it on: {self.rule.named}{left}."
        if self.verdict == "cannot tell":
            return f"Probe it again: {self.rule.named}."
        return "Confirm what stands under only if, and write it down." if self.verdict == "only if" else ""


def judge_reheat(log: ProbeLog, rule: Reheat) -> ReheatJudgement:
    """Whether food was heated again as its rule asks, each time where it was more than once: the worst counts.

    Args:
        log: readings at the coldest point.
        rule: the rule.
    """
    starts = _starts(log, rule)
    ends = [*(start + 1 for start in starts[1:]), len(log.readings)]
    found = [_once(_part(log, start, end), rule) for start, end in zip(starts, ends, strict=True)]
    worst = min(reversed(found), key=lambda one: WORST.index(one.verdict))
    if starts[0] and _rose(log.readings[: starts[0]]):
        worst = replace(worst, parts=(_on_condition(worst.parts[0], COOKED), *worst.parts[1:]))
    if len(found) == 1:
        return worst
    return replace(worst, notes=(*worst.notes, f"heated {len(found)} times: {WORST_SAID}"))


def _starts(log: ProbeLog, rule: Reheat) -> list[int]:
    """The reading from which each time of heating counts: the last cold one before it passes `SWING_F`.

    A log that begins warmer than that, and is cold before it is heated, begins with a cook or with a probe from the
    shelf: nothing is heated again before the cold.
    """
    starts, cold = list[int](), None
    for index, reading in enumerate(log.readings):
        if reading.temp_f <= rule.from_f:
            cold = index
        elif cold is not None and reading.temp_f > SWING_F:
            starts.append(cold)
            cold = None
    begins_warm = log.readings[0].temp_f > SWING_F
    return starts if starts and begins_warm else [0, *starts[1:]]


def _rose(readings: Sequence[Reading]) -> bool:
    """Whether any reading is hotter than the one before it."""
    return any(later.temp_f > earlier.temp_f for earlier, later in pairwise(readings))


def _part(log: ProbeLog, start: int, end: int) -> ProbeLog:
    """Some of the readings of a log, with the holes between them."""
    if (start, end) == (0, len(log.readings)):
        return log
    readings = log.readings[start:end]
    first, last = readings[0].at_s, readings[-1].at_s
    return ProbeLog(readings, tuple(gap for gap in log.gaps_s if first <= gap[0] and gap[1] <= last), log.notes)


def _once(log: ProbeLog, rule: Reheat) -> ReheatJudgement:
    """One time of heating again."""
    if rule.to_f is None:
        return ReheatJudgement(rule, (_unseen(_by_table(log, rule), rule),), log.notes)
    hot, at = _heated(log, rule, rule.to_f)
    if rule.within_s is None:
        return ReheatJudgement(rule, (_unseen(hot, rule),), log.notes)
    rise, left_s = _rise(log, rule, rule.to_f, at)
    return ReheatJudgement(rule, (_unseen(hot, rule), rise), (*log.notes, *_before(log, rule, at)), left_s)


def _unseen(found: Judgement, rule: Reheat) -> Judgement:
    """What a probe shows is met only if what it can't see was done too."""
    return _on_condition(found, rule.unseen) if rule.unseen else found


def _on_condition(found: Judgement, condition: str) -> Judgement:
    """What is met is so only if something holds that these readings don't show."""
    if found.verdict not in {"met", "only if"}:
        return found
    joint = " and " if found.verdict == "only if" else "; only if "
    reason = f"{found.reason}{joint}{condition}"
    return Judgement("only if", found.section, reason, found.shortest_s, found.longest_s)


def _by_table(log: ProbeLog, rule: Reheat) -> Judgement:
    """The roast table: any row that is held is enough."""
    judged = [(judge_minimum(log, row), row) for row in rule.rows]
    for verdict in ("met", "cannot tell"):
        found = next((one for one, _ in judged if one.verdict == verdict), None)
        if found is not None:
            return Judgement(found.verdict, rule.section, found.reason, found.shortest_s, found.longest_s)
    best = max(judged, key=lambda pair: (pair[0].shortest_s or 0.0) / max(pair[1].hold_s, 1))[0]
    return Judgement("not met", rule.section, f"no row of the time table is held: {best.reason}", best.shortest_s)


def _heated(log: ProbeLog, rule: Reheat, to_f: Fraction) -> tuple[Judgement, int | None]:
    """Whether the temperature was held, and the reading from which it was for certain; None where none shows it."""
    runs = _runs(log, to_f, frozenset(log.gaps_s))
    asked = said_f(to_f) + (f" for {rule.hold_s} s" if rule.hold_s else "")
    if not runs:
        highest = max(log.readings, key=lambda reading: reading.temp_f).temp_f
        return Judgement("not met", rule.section, f"highest {short_f(highest, to_f)}, asked {asked}"), None
    for begins, ends in runs:
        held = log.times_s[ends] - log.times_s[begins]
        if held >= rule.hold_s:
            reason = f"held {held:.0f} s, asked {asked}" if rule.hold_s else f"reached {said_f(to_f)}"
            return Judgement("met", rule.section, reason, held, held), begins
    longest = max(log.times_s[ends] - log.times_s[begins] for begins, ends in runs)
    if _may_have_held(log, rule, to_f) is None:
        return Judgement("not met", rule.section, f"held {longest:.0f} s, asked {asked}", longest), None
    seen = f"for {longest:.0f} s by the readings" if longest else "in one reading alone"
    why = f"{said_f(to_f)} or above {seen}; asked {asked}"
    return Judgement("cannot tell", rule.section, why, longest), None


def _runs(log: ProbeLog, to_f: Fraction, holes: frozenset[tuple[float, float]]) -> list[tuple[int, int]]:
    """First and last reading of every stretch at or above a temperature that none of the holes breaks."""
    reached, runs = log.at_least(to_f), list[tuple[int, int]]()
    for index, is_hot in enumerate(reached):
        if not is_hot:
            continue
        if index and reached[index - 1] and (log.times_s[index - 1], log.times_s[index]) not in holes:
            runs[-1] = (runs[-1][0], index)
        else:
            runs.append((index, index))
    return runs


def _may_have_held(log: ProbeLog, rule: Reheat, to_f: Fraction) -> int | None:
    """Where the first stretch begins that leaves room for the hold: before, between or behind its readings."""
    times, last = log.times_s, len(log.times_s) - 1
    return next(
        (begins for begins, ends in _runs(log, to_f, frozenset())
         if begins == 0 or ends == last or times[ends + 1] - times[begins - 1] > rule.hold_s), None
    )  # fmt: skip


def _cold(log: ProbeLog, rule: Reheat, at: int | None) -> int | None:
    """The last reading at or below where the two hours start, no later than reading `at`."""
    upto = log.readings if at is None else log.readings[: at + 1]
    return max((index for index, reading in enumerate(upto) if reading.temp_f <= rule.from_f), default=None)


def _rise(log: ProbeLog, rule: Reheat, to_f: Fraction, at: int | None) -> tuple[Judgement, float | None]:
    """Whether it came from cold to hot in time, and the time left at the last reading, at the worst [s]."""
    assert rule.within_s is not None
    cold, may = _cold(log, rule, at), _may_have_held(log, rule, to_f)
    shortest = _shortest_s(log, rule, to_f, may, cold)
    left = None if cold is None else max(0.0, rule.within_s - (log.times_s[-1] - log.times_s[cold]))
    span, allowed = f"{said_f(rule.from_f)} to {said_f(to_f)}", in_hours(rule.within_s)
    if at is None:
        verdict: Verdict = "not met" if shortest >= rule.within_s else "cannot tell"
        why = "not reached in these readings" if may is None else "these readings don't show how long it took"
        return _window(verdict, f"{span}: {why}", shortest), left
    longest = log.times_s[at] - log.times_s[cold or 0]
    if cold is not None and longest <= rule.within_s:
        return _window("met", f"{span} in {in_hours(longest)}, allowed {allowed}", shortest, longest), left
    if shortest >= rule.within_s:
        return _window("not met", f"{span} took more than {allowed}", shortest, longest), left
    if cold is None and longest <= rule.within_s:
        return _window("only if", _only_if(log, rule, to_f, longest), shortest), left
    return _window("cannot tell", f"{span}: readings too far apart at the limit", shortest, longest), left


def _window(verdict: Verdict, reason: str, shortest_s: float, longest_s: float | None = None) -> Judgement:
    return Judgement(verdict, "3-403.11(D)", reason, shortest_s, longest_s)


def _only_if(log: ProbeLog, rule: Reheat, to_f: Fraction, seen_s: float) -> str:
    """What must have been so before the first reading, where the log does not begin cold."""
    assert rule.within_s is not None
    span = f"{said_f(rule.from_f)} to {said_f(to_f)}"
    if log.readings[0].temp_f >= to_f:
        return f"{span}: the log begins hot; only if the rise took no more than {in_hours(rule.within_s)}"
    cold, left = said_f(rule.from_f), in_hours(rule.within_s - seen_s)
    begins = said_f(log.readings[0].temp_f)
    return f"{span}: the log begins at {begins}; only if it was at {cold} or below no more than {left} before"


def _shortest_s(log: ProbeLog, rule: Reheat, to_f: Fraction, at: int | None, cold: int | None) -> float:
    """Least time for which it was between cold and hot [s]; a reading exactly at a limit is the moment itself.

    Args:
        at: the first reading from which it may have been hot for long enough; None: it never was.
        cold: the last cold reading before it was, for certain; None where the log begins warmer.
    """
    readings, start = log.readings, 0
    if cold is not None:
        start = cold if readings[cold].temp_f == rule.from_f else min(cold + 1, len(readings) - 1)
    if at is None:
        return readings[-1].at_s - readings[start].at_s
    if at == 0:
        return 0.0
    end = at if readings[at].temp_f == to_f else at - 1
    return max(0.0, readings[end].at_s - readings[start].at_s)


def _before(log: ProbeLog, rule: Reheat, at: int | None) -> tuple[str, ...]:
    """Whether it had been warm before the two hours began."""
    cold = _cold(log, rule, at)
    was_warm = cold is not None and any(reading.temp_f > rule.from_f for reading in log.readings[:cold])
    return (f"was above {said_f(rule.from_f)} before that, and fell again: look at the readings",) if was_warm else ()
