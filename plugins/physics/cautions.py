"""The words that go with a programme, each only where it applies, with the rule's section.

Sections are those of the FDA Food Code; the jurisdiction's adopted edition decides.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from .kinetics import record_set
from .programme import Piece, Prediction, Step
from .temperature import beside, c_from_f, f_from_c

Level = Literal["note", "caution", "stop"]

# 130 °F: below it no table gives credit. 126.1 °F: highest temperature at which C. perfringens was seen to grow.
CREDIT_C = c_from_f(130)
PERFRINGENS_C = 52.3
# 2 °F between bath and core is worth a word; minutes in the growth range that are a caution and a stop.
WORTH_SAYING_K = 2 / 1.8
GROWTH_CAUTION_S, GROWTH_STOP_S = 2 * 3600.0, 4 * 3600.0
FIRST_HEATING_S = 3600.0
# Cores beside which no rounding may seem to reach what it doesn't [°F]: credit, intact meat, minced, poultry.
CAREFUL_F = (130.0, 145.0, 155.0, 165.0)
CHILLS = ("ice", "chiller", "blast")


@dataclass(frozen=True)
class Caution:
    """One thing to be said.

    Attributes:
        code: name, for tests and translations.
        level: note, caution or stop.
        text: the words.
        section: section of the rule, or "".
    """

    code: str
    level: Level
    text: str
    section: str = ""


def cautions(
    piece: Piece, prediction: Prediction, *, is_cooked_first: bool = False, worked: str = "intact"
) -> tuple[Caution, ...]:
    """What must be said about a programme, gravest first.

    Args:
        piece: the piece.
        prediction: what is predicted for it.
        is_cooked_first: whether it is cooked by its rule before it is chilled; then it is no part-cooked food.
        worked: how it was worked before, a key of `stillroom.db.pieces.WORKED`.
    """
    steps = tuple(result.step for result in prediction.steps)
    found = [
        *_worked(worked),
        *_bath(prediction),
        *_growth(prediction),
        *_interrupted(steps, is_cooked_first),
        *_packing(steps),
        *_records(piece, steps),
        Caution("prediction", "note", "A prediction is never a reading: confirm with a probe at the coldest point."),
        Caution("local_code", "note", "The local code and the inspector decide."),
    ]
    order = {"stop": 0, "caution": 1, "note": 2}
    return tuple(sorted(found, key=lambda entry: order[entry.level]))


def _worked(worked: str) -> Iterator[Caution]:
    """What was outside is inside: a seared face tells nothing of the middle."""
    text, section = _INSIDE.get(worked, ("", ""))
    if text:
        yield Caution("not_intact", "caution", text, section)


_INSIDE = {
    "injected": ("Injected or needled, what was outside is inside: every part is cooked through.", "3-401.11(A)"),
    "minced": ("Minced, what was outside is inside: every part is cooked through.", "3-401.11(A)"),
    "stuffed": ("Stuffed, it is as cold as the middle of its stuffing: probe there.", "3-401.11(A)"),
}


def _bath(prediction: Prediction) -> Iterator[Caution]:
    baths = [result for result in prediction.steps if result.step.kind == "bath"]
    for result in baths:
        bath_c = _hottest(result.step)
        if bath_c - result.slow_core_c > WORTH_SAYING_K:
            low, high = (beside(f_from_c(value), CAREFUL_F) for value in (result.slow_core_c, result.fast_core_c))
            text = f"Bath temperature is not core temperature: the core is {low:g} to {high:g} °F after this bath."
            yield Caution("bath_not_core", "caution", text)
            break
    if not any(_hottest(result.step) < CREDIT_C for result in baths):
        return
    yield Caution(
        "no_credit", "caution", "No pasteurisation credit below 130 °F; every minute counts as growth time.", "3-401.11"
    )
    last_bath = max(index for index, result in enumerate(prediction.steps) if result.step.kind == "bath")
    finish = [result for result in prediction.steps[last_bath + 1 :] if result.step.around.heats]
    if finish:
        yield Caution(
            "finish_kills", "caution", "The finish is the only kill step here: probe the coldest point.", "3-401.11"
        )
    else:
        yield Caution("no_kill_step", "stop", "Nothing in this programme is a kill step.", "3-401.11")


def _growth(prediction: Prediction) -> Iterator[Caution]:
    minutes = round(prediction.growth_s / 60)
    text = f"{minutes} minutes between 41 and 130 °F if all runs slow."
    if prediction.growth_s > GROWTH_STOP_S:
        yield Caution("growth", "stop", f"{text} More than 4 h: not as it stands.")
    elif prediction.growth_s > GROWTH_CAUTION_S:
        yield Caution("growth", "caution", f"{text} More than 2 h: keep it short.")
    warm = [result.step for result in prediction.steps if result.step.kind == "bath"]
    if any(_hottest(step) < PERFRINGENS_C for step in warm):
        yield Caution("perfringens", "caution", "Below 126 °F the bath is inside the growth range of C. perfringens.")


def _interrupted(steps: tuple[Step, ...], is_cooked_first: bool) -> Iterator[Caution]:
    chills = [index for index, step in enumerate(steps) if step.kind in CHILLS]
    if not chills:
        return
    before = [step for step in steps[: chills[0]] if step.around.heats]
    if not before:
        return
    yield Caution("cool_in_time", "note", "Cool from 135 to 70 °F within 2 h and to 41 °F within 6 h.", "3-501.14")
    after = [step for step in steps[chills[0] :] if step.around.heats]
    if not after or is_cooked_first:
        return
    text = (
        "Part-cooked, chilled and finished later is non-continuous cooking: "
        "first heating at most 60 minutes, written plan."
    )
    heated = sum(step.duration_s for step in before)
    if heated > FIRST_HEATING_S:
        text = f"{text} The first heating here is {heated / 60:.0f} minutes."
    yield Caution("non_continuous", "stop" if heated > FIRST_HEATING_S else "caution", text, "3-401.14")


def _packing(steps: tuple[Step, ...]) -> Iterator[Caution]:
    if any(step.kind == "bath" for step in steps):
        yield Caution(
            "packing", "note", "Vacuum or bagged raw food is reduced-oxygen packing: it may need a plan.", "3-502.12"
        )


def _records(piece: Piece, steps: tuple[Step, ...]) -> Iterator[Caution]:
    if piece.food is None:
        return
    lowest = max(entry.valid_low_c for entry in record_set(piece.food))
    for step in steps:
        if step.kind == "bath" and CREDIT_C <= _hottest(step) < lowest:
            text = f"How germs die in such food below {lowest:g} °C is not on file: nothing is offered for it."
            yield Caution("outside_records", "caution", text)
            break


def _hottest(step: Step) -> float:
    return step.temp_c if step.end_c is None else max(step.temp_c, step.end_c)
