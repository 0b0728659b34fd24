"""Readings held against the rule of the edition that the kitchen follows, named, with what to do. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from fractions import Fraction

from stillroom.db.limits import Rule
from stillroom.plugins.physics.editions import in_edition
from stillroom.plugins.physics.errors import HeatError
from stillroom.plugins.physics.judging import CoolingJudgement, clock_began, judge_cooling
from stillroom.plugins.physics.readings import Reading, clean, is_beyond_boiling, wrong_scale
from stillroom.plugins.physics.reheating import Reheat, judge_reheat
from stillroom.plugins.physics.rules import CoolingRule
from stillroom.plugins.physics.temperature import c_from_f

NO_SOURCE = "common practice, no source"
HOLDING = {"hot": "hot_hold", "cold": "cold_hold"}
ABANDONED = timedelta(hours=12)  # a log nobody went on with for so long is no longer waited for


@dataclass(frozen=True)
class Judged:
    """A reading with its answer.

    Attributes:
        verdict: 'met', 'not met', 'only if', 'cannot tell', 'not judged'.
        reason: what decided it.
        rule: the rule, named; '' where there is none.
        do: what to do; '' where there is nothing.
        basis: where the rule was read; 'memory' and the like are shown.
    """

    verdict: str
    reason: str
    rule: str = ""
    do: str = ""
    basis: str = ""


DO = {
    "recv": "Refuse it, and write down what was sent back.",
    "hot_hold": f"Reheat to 165 °F or throw it away; if nobody knows for how long, throw it away ({NO_SOURCE}).",
    "cold_hold": f"Back below the limit at once; if nobody knows how long it stood above, throw it away ({NO_SOURCE}).",
    "stage1": f"Within the two hours: reheat to 165 °F and cool again, once. Past them: throw it away ({NO_SOURCE}).",
    "total": f"Throw it away ({NO_SOURCE}).",
    "core": "Back on the heat, and probe again.",
}


def pick_rule(rules: Mapping[str, Rule], key: str, edition: str) -> Rule | None:
    """A rule where the kitchen's edition prints it."""
    rule = rules.get(key)
    return rule if rule is not None and in_edition(rule.edition, edition) else None


def judged(temp_f: float, rule: Rule, do: str = "") -> Judged:
    """One temperature against one limit; at the limit it is met."""
    is_broken = rule.is_broken_by(temp_f)
    if is_broken is None:
        return Judged(
            "cannot tell", "The rule gives no temperature: look, and say so in the note", rule.named, "", rule.basis
        )
    side = "over" if rule.direction == "at most" else "under"
    limit = f"{rule.temp_f:g} °F"
    if not is_broken:
        return Judged("met", f"{degrees(temp_f)}, {rule.direction} {limit}", rule.named, "", rule.basis)
    return Judged("not met", f"{degrees(temp_f)} is {side} {limit}", rule.named, do or DO["recv"], rule.basis)


def degrees(temp_f: float) -> str:
    """A temperature in both scales, never rounded across a limit by more than a hundredth."""
    return f"{temp_f:.2f}".rstrip("0").rstrip(".") + f" °F ({(temp_f - 32) / 1.8:.1f} °C)"


def judged_hold(direction: str, temp_f: float, rules: Mapping[str, Rule], edition: str) -> Judged:
    """A hold check: hot at least, cold at most; frozen has no temperature in the code."""
    if direction == "frozen":
        return Judged("cannot tell", "The code asks for frozen solid and gives no temperature")
    key = HOLDING[direction]
    rule = pick_rule(rules, key, edition)
    return unjudged(edition) if rule is None else judged(temp_f, rule, DO[key])


def judged_door(temp_f: float | None, rule: Rule | None, edition: str) -> Judged:
    """Goods at the door against the receiving rule of their item."""
    if rule is None:
        return Judged("not judged", "No receiving rule is named for this item")
    if not in_edition(rule.edition, edition):
        return unjudged(edition)
    if temp_f is None:
        return Judged("cannot tell", "Nobody measured", rule.named, "Probe it before it goes away.", rule.basis)
    return judged(temp_f, rule)


def unjudged(edition: str) -> Judged:
    """The answer where the rules on file are not those of the kitchen's edition."""
    return Judged("not judged", f"No rule of the {edition} edition is on file for this. Local code decides")


@dataclass(frozen=True)
class Minimum:
    """A cooking minimum that one reading is held against. hold_s [s] is told, a single reading proves no time."""

    food_class: str
    temp_f: float
    hold_s: float
    section: str
    basis: str


def judged_again(core_f: float, rule: Reheat, edition: str) -> Judged:
    """A reading of food heated again for hot holding: it shows a temperature, neither the hold nor the two hours."""
    if not in_edition(rule.edition, edition):
        return unjudged(edition)
    if is_beyond_boiling(core_f):
        return _doubted(core_f)
    found = judge_reheat(clean([(0.0, str(core_f))], "F"), rule)
    is_short = found.parts[0].verdict == "not met"
    reason = f"{degrees(core_f)}; {found.parts[0].reason if is_short else found.reason}"
    shown = "not met" if is_short else found.verdict
    return Judged(shown, reason, f"Food Code {rule.section}: {rule.named}", found.do, rule.basis)


def _doubted(core_f: float) -> Judged:
    """The answer to a reading that can't be of moist food in that scale."""
    why = f"no moist food is so hot, it boils at 212 °F: was it {c_from_f(core_f):.0f} °F?"
    return Judged("cannot tell", f"{degrees(core_f)}; {why}", "", "Take it back and write it down in its own scale")


def judged_core(core_f: float, minimums: Sequence[Minimum], only_if: str = "") -> Judged:
    """A core reading: any minimum of its class that is reached is enough; a single reading proves no hold.

    only_if: what else must be so where they are met.
    """
    if is_beyond_boiling(core_f):
        return _doubted(core_f)
    if not minimums:
        return Judged(
            "not judged", "Nothing in the kitchen's files says what food this is: its recipe wants a piece, "
            "with its food"
        )
    reached = [m for m in minimums if core_f >= m.temp_f]
    if reached:
        best = min(reached, key=lambda m: m.hold_s)
        held = f", held {best.hold_s:g} s" if best.hold_s else ""
        verdict = "cannot tell" if best.hold_s else "only if" if only_if else "met"
        why = "; one reading proves no time" if best.hold_s else f"; only if {only_if}" if only_if else ""
        return Judged(verdict, f"{degrees(core_f)}; asked {best.temp_f:g} °F{held}{why}", _named(best), "", best.basis)
    least = min(minimums, key=lambda m: m.temp_f)
    held = f" for {least.hold_s:g} s" if least.hold_s else ""
    return Judged(
        "not met", f"{degrees(core_f)}; asked {least.temp_f:g} °F{held}", _named(least), DO["core"], least.basis
    )


def _named(minimum: Minimum) -> str:
    return f"Food Code {minimum.section}: {minimum.food_class}"


@dataclass(frozen=True)
class Pan:
    """A cooling log as it stands.

    Attributes:
        code, name: which pan, of what.
        rule: what it is held to.
        last_f: last reading [°F].
        last_at: its moment, UTC.
        by: when it must be at each limit of the rule, at the worst, UTC; None: nobody saw the clock start.
        judged: every limit.
        why: why the readings can't be judged.
        is_open: it cools still.
        started: when it was made or came in, by a person's word, UTC; None: nobody said, or its rule asks for none.
        asked_at: the moment it is looked at, UTC; None: as it was read last.
    """

    code: str
    name: str
    rule: CoolingRule
    last_f: float
    last_at: datetime
    by: tuple[datetime, ...] | None
    judged: CoolingJudgement | None
    why: str = ""
    is_open: bool = True
    started: datetime | None = None
    asked_at: datetime | None = None

    @property
    def answer(self) -> Judged:
        """Every limit as one answer."""
        if self.judged is None:
            return Judged("cannot tell", self.why or "The readings don't follow one another")
        rule = f"Food Code {self.rule.section}: {self.rule.named}"
        verdict, reason = self.judged.verdict, self.judged.reason
        if verdict == "cannot tell" and self.is_open and self.by is not None:
            reason = self._coming or reason
        if verdict != "not met":
            return Judged(verdict, "; ".join((reason, *self.judged.notes)), rule, "", self.rule.basis)
        is_last = self.judged.stages[-1].verdict == "not met"
        return Judged(verdict, reason, rule, DO["total" if is_last else "stage1"], self.rule.basis)

    @property
    def _coming(self) -> str:
        """What is said while its readings leave the next limit open; '' where they say more themselves."""
        left = self.left_s(self.asked_at or self.last_at)
        if self.judged is not None and self.judged.stages[self.next].longest_s is not None:
            return ""  # a reading was there, and it rose again
        if left is not None and left < 0:
            return f"It should have been at {self.next_f:g} °F by now and no reading shows it: take one"
        return "Still cooling: its first limit is to come" if self.next == 0 else ""

    @property
    def next(self) -> int:
        """Index of the limit that comes next."""
        stages = self.rule.stages
        return next((n for n, stage in enumerate(stages) if self.last_f > stage.temp_f), len(stages) - 1)

    def left_s(self, now: datetime) -> float | None:
        """Time left to the next limit [s], below zero when it has passed; None where no clock runs."""
        return None if self.by is None or not self.is_open else (self.by[self.next] - now).total_seconds()

    @property
    def next_f(self) -> float:
        """The limit that comes next [°F]."""
        return float(self.rule.stages[self.next].temp_f)


def pan(
    code: str,
    name: str,
    readings: Iterable[tuple[datetime, float]],
    rule: CoolingRule,
    now: datetime,
    started: datetime | None = None,
) -> Pan:
    """A cooling log from its readings, in order of time; at the worst where two readings leave room.

    Where the rule's clock starts as the food passes a temperature going down (Food Code 3-501.14(A)): at the last
    reading still at or above it; where none is, it started no later than the first reading, and what is left can't be
    told. Where it starts as the food is made or comes in (B, C): when a person said so, else at the first reading.

    Args:
        started: when it was made or came in, by a person's word, UTC; cooked food has no such start.
    """
    kept = sorted(readings)
    first = kept[0][0]
    started = None if started is None or rule.start_f is not None else min(started, first)
    began = started or _began(kept, rule)
    last_at, last_f = kept[-1]
    why, found = "", None
    try:
        log = clean([((at - first).total_seconds(), str(temp)) for at, temp in kept], "F")
        doubt = wrong_scale(log, cools=True)
        if doubt:
            raise HeatError(f"not judged until the scale is confirmed: {doubt}")
        found = judge_cooling(log, rule, None if started is None else (started - first).total_seconds())
    except HeatError as error:
        why = f"{str(error)[0].upper()}{str(error)[1:]}"
    by = None if began is None else tuple(began + timedelta(seconds=stage.within_s) for stage in rule.stages)
    is_open = last_f > rule.stages[-1].temp_f and now - last_at < ABANDONED
    return Pan(code, name, rule, last_f, last_at, by, found, why, is_open, started, now)


def _began(kept: Sequence[tuple[datetime, float]], rule: CoolingRule) -> datetime | None:
    """When the clock started at the worst, UTC; None where no reading shows it."""
    if rule.start_f is None:
        return kept[0][0]
    found = clock_began([Reading(at.timestamp(), Fraction(str(temp))) for at, temp in kept], rule.start_f)
    return None if found is None else kept[found[0]][0]
