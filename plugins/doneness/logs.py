"""Readings judged: cooling by its rule, a core against its minimum, a whole curve against its prediction."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from stillroom.db.pieces import WORKED
from stillroom.plugins.doneness.compute import Plan, Question, Reduction, plan
from stillroom.plugins.doneness.standing import chosen, limits_f, no_rule
from stillroom.plugins.physics.editions import edition_year, in_edition
from stillroom.plugins.physics.errors import HeatError
from stillroom.plugins.physics.judging import (
    CoolingJudgement,
    Judgement,
    judge_cooling,
    judge_lethality,
    judge_minimum,
    lag_s,
)
from stillroom.plugins.physics.kinetics import record_set
from stillroom.plugins.physics.learning import FEWEST, Estimate, ProbedRun, learnt_carryover, learnt_h
from stillroom.plugins.physics.readings import ProbeLog, clean, looks_like_other_unit, wrong_scale
from stillroom.plugins.physics.reheating import Reheat, ReheatJudgement, judge_reheat, reheat_rule
from stillroom.plugins.physics.rules import cooling_rule
from stillroom.plugins.physics.temperature import c_from_f, f_from_c

# A curve, not a glance: fewer readings than this don't say how fast the core rose.
CURVE = 8
# Steps after which a core goes on rising by more than a probe's error, as the log calls them.
FIERCE = frozenset({"grill", "pan", "oven", "hang", "hot zone", "cool zone", "fryer"})
WORTH_SAYING_S = 180.0
# How far behind or ahead is compared at these core temperatures [°F], the highest that both reached.
COMPARED_F = (145.0, 140.0, 135.0, 130.0, 125.0, 120.0, 110.0, 100.0, 80.0)


@dataclass(frozen=True)
class Lag:
    """How the readings ran against the prediction. late_s: later than likely, negative when ahead [s]."""

    late_s: float
    at_f: float
    words: str


@dataclass(frozen=True)
class Judged:
    """A probe's log with every answer it gives.

    unjudged: why no rule is among them, '' where one is; judged_as: as what the food was judged, and why.
    """

    log: ProbeLog
    peak_f: float
    minimums: tuple[Judgement, ...]
    reductions: tuple[Reduction, ...]
    lag: Lag | None
    notes: tuple[str, ...]
    unjudged: str = ""
    limits_f: tuple[float, ...] = ()
    judged_as: str = ""


def seconds_of(moments: Sequence[str]) -> list[float]:
    """UTC moments as seconds of one clock [s]."""
    return [datetime.fromisoformat(at.replace("Z", "+00:00")).timestamp() for at in moments]


def seconds_before(at: str, first: str) -> float:
    """A UTC moment on the clock of a log that begins at another [s]: below zero before it."""
    moment, begins = seconds_of([at, first])
    return moment - begins


def clean_log(readings: Sequence[tuple[str, float]], *, cools: bool = False) -> ProbeLog:
    """Stored readings, in order of time; the clock is that of the first.

    Raises:
        HeatError: two temperatures for one moment; temperatures that can't be in that scale.
    """
    times = seconds_of([at for at, _ in readings])
    log = clean([(at - times[0], temp) for at, (_, temp) in zip(times, readings, strict=True)], "F")
    doubt = wrong_scale(log, cools=cools)
    if doubt:
        raise HeatError(f"not judged until the scale is confirmed: {doubt}")
    return log


def judged_cooling(log: ProbeLog, cools_as: str = "cooked", started_s: float | None = None) -> CoolingJudgement:
    """Every limit of a cooling rule; `started_s` is when its clock started by a person's word, on the log's own [s]."""
    return judge_cooling(log, cooling_rule(cools_as), started_s)


def unruled(cools_as: str, edition: str) -> str:
    """Why a cooling is held to no rule: none of the kitchen's edition is on file. '' where one is.

    Args:
        cools_as: how it cools, one of `stillroom.db.pieces.COOLS_AS`.
        edition: the kitchen's.
    """
    is_there = in_edition(cooling_rule(cools_as).edition, edition)
    return "" if is_there else f"No cooling rule of the {edition} edition is on file. Local code decides"


@dataclass(frozen=True)
class Heated:
    """Food heated again, held to its rule. judged None: the kitchen's edition has no such rule on file."""

    rule: Reheat
    edition: str
    judged: ReheatJudgement | None

    @property
    def verdict(self) -> str:
        """The worst of its limits; 'not judged' where there is no rule."""
        return self.judged.verdict if self.judged else "not judged"

    @property
    def stands(self) -> str:
        """Where the rule stands, with its edition."""
        year = edition_year(self.edition)
        unread = f"; carried over from 2017, the {year} text was not read" if f"{year}*" in self.rule.edition else ""
        return f"Food Code {year}, {self.rule.section}{unread}"

    def as_data(self) -> list[dict[str, Any]]:
        """Every limit with its answer, and what the rule asks for."""
        if self.judged is None:
            return [{"section": self.rule.section, "verdict": self.verdict, "why": ""}]
        own = {"edition": self.edition, "rule": self.rule.named, "do": self.judged.do}
        return [{"section": p.section, "verdict": p.verdict, "why": p.reason} | own for p in self.judged.parts]


def judged_reheat(log: ProbeLog, key: str, edition: str) -> Heated:
    """A log of food heated again; the rule is that of the kitchen's edition.

    Args:
        log: readings at the coldest point.
        key: how, one of `stillroom.db.pieces.REHEATS`.
        edition: the kitchen's.
    """
    rule = reheat_rule(key)
    return Heated(rule, edition, judge_reheat(log, rule) if in_edition(rule.edition, edition) else None)


def judged_probe(log: ProbeLog, question: Question | None) -> Judged:
    """A log at the core against the rules of its food, and against its programme.

    Args:
        log: readings; the clock starts as the first step does.
        question: the programme, or None when it is not known.
    """
    peak = max(float(reading.temp_f) for reading in log.readings)
    if question is None:
        why = "Choose the piece to hold the readings against its rule."
        return Judged(log, peak, (), (), None, log.notes, why)
    found = [judge_minimum(log, rule) for rule in chosen(question.held)]
    # of the rows of one class any one is enough: where one is met, the others say nothing
    found = [one for one in found if one.verdict == "met"][:1] or found
    if question.held.taken.only_if:
        found = [_conditional(one, question.held.taken.only_if) for one in found]
    found += [] if question.own is None else [judge_minimum(log, question.own)]
    made, taken = plan(question), question.held.taken
    is_doubtful = looks_like_other_unit(log, f_from_c(made.prediction.peak_core_c[0]))
    return Judged(
        log,
        peak,
        tuple(_doubted(one) if is_doubtful else one for one in found),
        () if is_doubtful else _reductions(log, question.piece.food),
        lag(made, log),
        (OTHER_SCALE, *log.notes) if is_doubtful else log.notes,
        "" if found else no_rule(question.held),
        limits_f(question.held),
        f"{WORKED[taken.worked]}: {taken.why}" if taken.kind or taken.start else "",
    )


def _conditional(found: Judgement, only_if: str) -> Judgement:
    """A row that is met, but only if something else is so."""
    if found.verdict != "met":
        return found
    return replace(found, verdict="only if", reason=f"{found.reason}; only if {only_if}")


def _reductions(log: ProbeLog, food: str | None) -> tuple[Reduction, ...]:
    if food is None or len(log.readings) < 2:
        return ()
    found = []
    for k in record_set(food):
        got = judge_lethality(log, k)
        below = got.peak_c < k.valid_low_c
        why = f"no answer below {k.valid_low_c:g} °C: its figures begin there" if below else ""
        shown, reaches = ("", False) if below else (got.shown, got.reaches_target)
        found.append(Reduction(k.organism, k.matrix, shown, k.target_logs, reaches, k.basis, k.source, why))
    return tuple(found)


OTHER_SCALE = "the peak fits the programme only with °F and °C changed: confirm the scale"


def _doubted(found: Judgement) -> Judgement:
    """An answer while the scale is in doubt: nothing is met."""
    return replace(found, verdict="cannot tell", reason=OTHER_SCALE) if found.verdict == "met" else found


def lag(made: Plan, log: ProbeLog) -> Lag | None:
    """How much later than likely the core rose; None where there is no curve to compare."""
    if len(log.readings) < CURVE:
        return None
    for at_f in COMPARED_F:
        late = lag_s(made.prediction, log, c_from_f(at_f))
        if late is not None and float(log.readings[0].temp_f) < at_f:
            return Lag(late, at_f, _lag_words(late))
    return None


def _lag_words(late_s: float) -> str:
    minutes = round(abs(late_s) / 60)
    if abs(late_s) < WORTH_SAYING_S:
        return "as predicted, within 3 minutes"
    if late_s > 0:
        return f"ran {minutes} minutes slow: thicker, colder at the start, or the bath crowded?"
    return f"ran {minutes} minutes fast: thinner, or the probe not in the middle?"


@dataclass(frozen=True)
class Learnt:
    """What the house's own runs say; estimate None where they are too few or don't settle it."""

    what: str
    count: int
    estimate: Estimate | None
    why: str = ""


def house_carryover(pairs: Sequence[tuple[float, float]]) -> Learnt:
    """Rise after the pull, from pairs of core at the pull and highest after it [°F]; the answer is in °F of rise."""
    what = "Carryover after the grill or pan"
    if len(pairs) < FEWEST:
        return Learnt(what, len(pairs), None, f"needs {FEWEST} pieces probed at the pull and again in the rest")
    try:
        found = learnt_carryover(tuple((c_from_f(a), c_from_f(b)) for a, b in pairs))
    except HeatError as error:
        return Learnt(what, len(pairs), None, f"{error}")
    scaled = {name: getattr(found, name) * 1.8 for name in ("value", "low", "high")}
    return Learnt(what, len(pairs), replace(found, unit="°F", **scaled))


def house_h(runs: Sequence[tuple[Plan, ProbeLog]]) -> Learnt:
    """Surface coefficient of the first step from whole curves."""
    what = "How fast the bath gives its heat"
    usable = [
        ProbedRun(made.question.piece, made.steps, log, 0)
        for made, log in runs
        if len(log.readings) >= CURVE and made.steps[0].kind == "bath"
    ]
    if len(usable) < FEWEST:
        return Learnt(what, len(usable), None, f"needs {FEWEST} cores logged from the start of the bath")
    try:
        return Learnt(what, len(usable), learnt_h(tuple(usable)))
    except HeatError as error:
        return Learnt(what, len(usable), None, f"{error}")


def carryover_pairs(readings: Sequence[tuple[str, float]], steps: Sequence[str]) -> tuple[float, float] | None:
    """Core at the pull and highest after it [°F], where a piece was probed in the heat and again in the rest."""
    hot = [temp for (_, temp), step in zip(readings, steps, strict=True) if step in FIERCE]
    rest = [temp for (_, temp), step in zip(readings, steps, strict=True) if step == "rest"]
    return (hot[-1], max(rest)) if hot and rest and max(rest) >= hot[-1] else None
