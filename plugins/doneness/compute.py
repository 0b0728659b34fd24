"""A programme worked out: steps made exact, prediction, pull, bands, reductions, rules. Knows no web and no SQL."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, replace
from functools import lru_cache

from stillroom.db.cooked_as import CookedAs
from stillroom.plugins.doneness.backwards import Backwards, backwards
from stillroom.plugins.doneness.bands import Band, bands
from stillroom.plugins.doneness.form import KIND_WORDS, Asked
from stillroom.plugins.doneness.standing import Held, RuleLine, chosen, cooked_first, limits_f, printed, rule_lines
from stillroom.plugins.physics.cautions import Caution, cautions
from stillroom.plugins.physics.errors import HeatError
from stillroom.plugins.physics.inverse import Pull, PullQuestion, latest_pull
from stillroom.plugins.physics.predict import predict
from stillroom.plugins.physics.programme import Piece, Prediction, Step, surroundings
from stillroom.plugins.physics.roots import bracketed_root
from stillroom.plugins.physics.rules import Minimum
from stillroom.plugins.physics.simulate import simulate
from stillroom.plugins.physics.temperature import c_from_f, f_from_c

LONGEST_HEAT_S = {"grill": 7200.0, "pan": 7200.0, "hot_zone": 7200.0}
LONGEST_OTHER_S = 24 * 3600.0
MOST_ROWS = 300
# A peak that lands on a rule's temperature stays there for about so long: 15 s of intact meat, 17 s of minced.
SHORT_HOLD_S = 17
# Each turn is two more states of the piece to work out, a dozen times over: a pull is not looked for beyond so many.
MOST_TURNS_TRIED = 40


class Refused(HeatError):
    """A question that can't be answered as asked; `field` is the form's field that the words stand beside."""

    def __init__(self, field: str, words: str) -> None:
        super().__init__(words)
        self.field = field


@dataclass(frozen=True)
class Question:
    """Everything an answer depends on.

    band: the chef's, low and high [°F]; peak_f: core to land on [°F] or None; own: the kitchen's own rule;
    worked, named: as `standing.Held` has them.
    """

    food: str
    piece: Piece
    steps: tuple[Asked, ...]
    peak_f: float | None = None
    minimum_id: str = ""
    band: tuple[float | None, float | None] = (None, None)
    edition: str = "2022"
    own: Minimum | None = None
    worked: str = ""
    named: str = ""

    @property
    def held(self) -> Held:
        """What it is held to."""
        return Held(self.food, self.minimum_id, self.edition, self.own, self.worked, self.named)


@dataclass(frozen=True)
class Aim:
    """Where to pull so that the peak lands on a temperature; pull None with the reason where it can't.

    is_law: the target is a rule's, at the coldest point of the slow end.
    """

    name: str
    target_f: float
    pull: Pull | None
    why: str = ""
    is_law: bool = False


@dataclass(frozen=True)
class Reduction:
    """Tenfold reductions of one organism as they may be shown; shown '' where the record gives no answer."""

    organism: str
    matrix: str
    shown: str
    target: float
    reaches: bool
    basis: str
    source: str
    why: str = ""


@dataclass(frozen=True)
class Minute:
    """One row of the table: time [min], core slow, likely and fast, surface, coldest at the slow end [°F]."""

    minute: int
    slow: float
    core: float
    fast: float
    surface: float
    coldest: float


@dataclass(frozen=True)
class Plan:
    """The whole answer to a question. pulled: state at the end of the last heat, None where no heat is followed."""

    question: Question
    steps: tuple[Step, ...]
    prediction: Prediction
    pulled: Pull | None
    pull_step: int | None
    aims: tuple[Aim, ...]
    rules: tuple[RuleLine, ...]
    bands: tuple[Band, ...]
    reductions: tuple[Reduction, ...]
    cautions: tuple[Caution, ...]
    backwards: Backwards | None = None

    @property
    def uses_own(self) -> bool:
        """Whether a step goes by the house's own coefficient."""
        return any(step.h_w_m2k is not None for step in self.steps)

    @property
    def taken(self) -> CookedAs:
        """As what it is judged, and why."""
        return self.question.held.taken

    @property
    def limits_f(self) -> tuple[float, ...]:
        """Minimums that its temperatures stand beside [°F]."""
        return limits_f(self.question.held)

    @property
    def law(self) -> list[RuleLine]:
        """What stands beside the bands: the kitchen's own rule and the first of the Food Code's."""
        own = [rule for rule in self.rules if rule.is_own]
        return own + [rule for rule in self.rules if not rule.is_own][:1]

    @property
    def band_sets(self) -> list[tuple[str, str, list[Band]]]:
        """Bands by the chart they are of: kind, source, and the bands in order."""
        found: dict[tuple[str, str, str], list[Band]] = {}
        for band in self.bands:
            found.setdefault((band.chart, band.kind, band.source), []).append(band)
        return [(kind, source, kept) for (_, kind, source), kept in found.items()]

    @property
    def total_s(self) -> float:
        """Length of the programme [s]."""
        return sum(step.duration_s for step in self.steps)


@lru_cache(maxsize=128)
def plan(question: Question) -> Plan:
    """What a programme does, and whether it stands.

    Raises:
        Refused: naming the field of the form.
    """
    steps = exact_steps(question.piece, question.steps)
    at = last_heat(steps)
    if question.peak_f is not None:
        steps = landed(question.piece, steps, question.peak_f)
    prediction = _predict(question.piece, steps)
    held = question.held
    worked = held.taken.worked
    return Plan(
        question,
        steps,
        prediction,
        None if at is None else _pulled(prediction, at),
        at,
        aims(question, steps, at),
        rule_lines(prediction, held),
        bands(question.food, prediction, worked),
        reductions(prediction, question.piece.food),
        cautions(question.piece, prediction, is_cooked_first=cooked_first(prediction, held), worked=worked),
        backwards(question.piece, steps[0]),
    )


def _predict(piece: Piece, steps: tuple[Step, ...]) -> Prediction:
    try:
        return predict(piece, steps)
    except HeatError as error:
        raise Refused("step1", f"{error}.") from error


def exact_steps(piece: Piece, asked: tuple[Asked, ...]) -> tuple[Step, ...]:
    """Steps with their lengths: given, or found as the time at which the likely core is at the temperature asked for.

    Raises:
        Refused: where a core can't be reached.
    """
    steps: tuple[Step, ...] = ()
    for one in asked:
        if one.until_f is None:
            assert one.seconds is not None
            steps = (*steps, _step(one, one.seconds))
        else:
            steps = (*steps, _step(one, _until_s(piece, steps, one)))
    if sum(step.duration_s for step in steps) <= 0:
        raise Refused("time1", "Every step has no length.")
    return steps


def _step(asked: Asked, seconds: float) -> Step:
    every = seconds / (asked.turns + 1) if asked.turns else None
    try:
        return Step(asked.kind, seconds, asked.temp_c, asked.end_c, every, asked.own_h)
    except HeatError as error:
        raise Refused(f"time{asked.number}", f"{error}.") from error


def _until_s(piece: Piece, before: tuple[Step, ...], asked: Asked) -> float:
    """When the likely core is at the temperature asked for, from the step's start [s]."""
    assert asked.until_f is not None
    target, field = c_from_f(asked.until_f), f"until{asked.number}"
    now = _predict(piece, before).core_c[-1] if before else piece.start_c
    rising = surroundings()[asked.kind].heats
    if (now >= target) if rising else (now <= target):
        side = "above" if rising else "below"
        raise Refused(field, f"The core is at {f_from_c(now):.0f} °F as this step begins, already {side} that.")
    longest = asked.seconds or LONGEST_HEAT_S.get(asked.kind, LONGEST_OTHER_S)
    found = _crossing(piece, before, _step(replace(asked, turns=0), longest), target)
    if found is None:
        raise Refused(field, _unreachable(asked, longest))
    return _turned_until_s(piece, before, asked, target, (found, longest)) if asked.turns else found


def _turned_until_s(
    piece: Piece, before: tuple[Step, ...], asked: Asked, target_c: float, between: tuple[float, float]
) -> float:
    """The same with the turns spread over the step, however long it is: its length and they settle each other [s]."""
    near, longest = between

    def over(seconds: float) -> float:
        return float(simulate(piece, (*before, _step(asked, seconds)), "likely").core_c[-1]) - target_c

    high = near
    while over(high) < 0:
        if high >= longest:
            raise Refused(f"until{asked.number}", _unreachable(asked, longest))
        high = min(high * 1.3 + 10, longest)
    low = high / 1.3
    while over(low) > 0 and low > 1:
        low /= 1.5
    return bracketed_root(over, low, high, tolerance=0.5) if over(low) < 0 else low


def _crossing(piece: Piece, before: tuple[Step, ...], step: Step, target_c: float) -> float | None:
    prediction = _predict(piece, (*before, step))
    start = sum(one.duration_s for one in before)
    first = bisect_left(prediction.times_s, start)
    rising = step.around.heats
    for index in range(first + 1, len(prediction.times_s)):
        earlier, later = prediction.core_c[index - 1], prediction.core_c[index]
        if (later >= target_c) if rising else (later <= target_c):
            share = 0.0 if later == earlier else min(max((target_c - earlier) / (later - earlier), 0.0), 1.0)
            time = prediction.times_s[index - 1] + share * (prediction.times_s[index] - prediction.times_s[index - 1])
            return max(time - start, 0.0)
    return None


def _unreachable(asked: Asked, longest: float) -> str:
    medium = f"{KIND_WORDS[asked.kind]} at {f_from_c(asked.temp_c):.0f} °F"
    return f"A core of {asked.until_f:.0f} °F is not reachable in {longest / 60:.0f} min of {medium}."


def last_heat(steps: tuple[Step, ...]) -> int | None:
    """Index of the last step that heats and has a step after it; None where there is none."""
    heats = [index for index, step in enumerate(steps[:-1]) if step.around.heats]
    return heats[-1] if heats and not steps[-1].around.heats else None


def landed(piece: Piece, steps: tuple[Step, ...], peak_f: float) -> tuple[Step, ...]:
    """The steps with the last heat cut or drawn out so that the likely core peaks at a temperature [°F].

    Raises:
        Refused: where it can't.
    """
    at = last_heat(steps)
    if at is None:
        raise Refused("peak", "Add a rest after the last heat: the core goes on rising in it.")
    try:
        found = latest_pull(piece, _longer(steps, at), PullQuestion(at, c_from_f(peak_f)))
    except HeatError as error:
        raise Refused("peak", f"{_in_f(error, peak_f)}.") from error
    return (*steps[:at], steps[at].lasting(found.after_s), *steps[at + 1 :])


def _longer(steps: tuple[Step, ...], at: int) -> tuple[Step, ...]:
    """The steps with the last heat as long as a pull may be looked for in it, and no more than some turns longer.

    One that runs from one temperature to another stays as it is: where it would go on to is not said.
    """
    step = steps[at]
    if step.end_c is not None:
        return steps
    longest = LONGEST_HEAT_S.get(step.kind, LONGEST_OTHER_S / 2) / 2
    if step.flip_every_s is not None:
        longest = min(longest, MOST_TURNS_TRIED * step.flip_every_s)
    longest = max(longest, step.duration_s)
    return (*steps[:at], replace(steps[at], duration_s=longest), *steps[at + 1 :])


def _in_f(error: HeatError, target_f: float) -> str:
    """The engine's words about a target, in the scale it was asked in."""
    text = str(error)
    return text.replace(f"{c_from_f(target_f):.1f} °C", f"{target_f:g} °F")


def _pulled(prediction: Prediction, at: int) -> Pull:
    """State at the end of the last heat as the programme stands, likely curve."""
    result = prediction.steps[at]
    first = bisect_left(prediction.times_s, result.end_s)
    row = max(range(first, len(prediction.core_c)), key=prediction.core_c.__getitem__)
    peak = max(prediction.core_c[row], result.core_c)
    return Pull(
        result.step.duration_s, result.core_c, peak, prediction.times_s[row] - result.end_s, peak - result.core_c
    )


def aims(question: Question, steps: tuple[Step, ...], at: int | None) -> tuple[Aim, ...]:
    """Pulls that land on the chef's band, and on the law at the coldest point of the slow end."""
    if at is None:
        return ()
    low, high = question.band
    wanted = [("chef's band, lower end", low, "core"), ("chef's band, upper end", high, "core")]
    law = [row for row in chosen(question.held) if row.hold_s <= SHORT_HOLD_S][:1]
    law += [row for row in (question.own,) if row is not None and row.hold_s <= SHORT_HOLD_S]
    where = "coldest point, if all runs slow"
    wanted += [(f"{printed(row.section)}, {where}", float(row.temp_f), "coldest") for row in law]
    return tuple(_aim(question.piece, steps, at, one) for one in wanted if one[1] is not None)


def _aim(piece: Piece, steps: tuple[Step, ...], at: int, wanted: tuple[str, float | None, str]) -> Aim:
    name, target_f, where = wanted
    assert target_f is not None
    asked = PullQuestion(at, c_from_f(target_f), where, "slow" if where == "coldest" else "likely")
    is_law = where == "coldest"
    try:
        return Aim(name, target_f, latest_pull(piece, _longer(steps, at), asked), is_law=is_law)
    except HeatError as error:
        return Aim(name, target_f, None, _in_f(error, target_f), is_law)


def reductions(prediction: Prediction, food: str | None) -> tuple[Reduction, ...]:
    """Reductions as they may be shown; none below the range in which an organism was measured."""
    found = []
    for entry in prediction.reductions:
        k = entry.kinetics
        below = entry.peak_c < k.valid_low_c
        why = f"no answer below {k.valid_low_c:g} °C: its figures begin there" if below else ""
        shown = "" if below else entry.shown
        reaches = entry.reaches_target and not below
        found.append(Reduction(k.organism, k.matrix, shown, k.target_logs, reaches, k.basis, k.source, why))
    return tuple(found)


def minutes(prediction: Prediction) -> tuple[Minute, ...]:
    """The curves by the minute, or by as many minutes as keep the table short."""
    end = prediction.times_s[-1] / 60
    every = next(step for step in (1, 2, 5, 10, 15, 30, 60, 120) if end / step <= MOST_ROWS or step == 120)
    curves = (
        prediction.slow_core_c,
        prediction.core_c,
        prediction.fast_core_c,
        prediction.surface_c,
        prediction.slow_coldest_c,
    )
    moments = [*range(0, int(end) + 1, every)]
    if moments[-1] < end:
        moments.append(int(-(-end // 1)))
    values = [at_moments(prediction.times_s, curve, moments) for curve in curves]
    return tuple(Minute(minute, *row) for minute, *row in zip(moments, *values, strict=True))


def at_moments(times_s: tuple[float, ...], temps_c: tuple[float, ...], moments: list[int]) -> list[float]:
    """A curve at some minutes [°F], straight between its samples."""
    import numpy as np

    found: list[float] = (np.interp(np.array(moments) * 60.0, times_s, temps_c) * 1.8 + 32).tolist()
    return found
