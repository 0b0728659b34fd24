"""A bath asked backwards, at the slow end: how long, how thick, how hot until every record on file is at its target."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from stillroom.plugins.physics.errors import HeatError
from stillroom.plugins.physics.inverse import Immersion, bath_for_c, thickest_m, time_to_logs_s
from stillroom.plugins.physics.kinetics import Kinetics, record_set
from stillroom.plugins.physics.programme import Piece, Step
from stillroom.plugins.physics.temperature import f_from_c


@dataclass(frozen=True)
class Backwards:
    """Answers to three questions, each with the record that decides; an answer is None where why says the reason.

    Attributes:
        time_s: until every record is at its target, rounded up to the minute [s].
        thickness_mm: thickest piece that gets there within the step, rounded down [mm].
        bath_f: coolest bath that gets there within the step, rounded up to a tenth [°F].
        asked_s: length of the step that the last two are about [s].
        decides: the organism behind each.
        why: words for those without an answer.
    """

    asked_s: float
    time_s: float | None
    thickness_mm: float | None
    bath_f: float | None
    decides: tuple[str, str, str]
    why: tuple[str, str, str]


Answer = tuple[float | None, str, str]


def backwards(piece: Piece, step: Step) -> Backwards | None:
    """The bath asked backwards; None where the step is no steady bath or the food has no record.

    Args:
        piece: the piece; a box counts as a wide slab of its thickness, which is slower.
        step: the bath.
    """
    if step.kind != "bath" or step.end_c is not None or piece.food is None or piece.frozen or step.duration_s < 60:
        return None
    bath, seconds = Immersion.of(piece, step.temp_c), step.duration_s
    records, thick = record_set(piece.food), piece.thickness_m
    time = _worst(records, lambda k: time_to_logs_s(bath, thick, k), max)
    size = _worst(records, lambda k: thickest_m(bath, seconds, k), min)
    heat = _worst(records, lambda k: bath_for_c(bath, thick, seconds, k), max)
    return Backwards(
        seconds,
        None if time[0] is None else math.ceil(time[0] / 60) * 60,
        None if size[0] is None else math.floor(size[0] * 1000),
        None if heat[0] is None else math.ceil(f_from_c(heat[0]) * 10 - 1e-6) / 10,
        (time[1], size[1], heat[1]),
        (time[2], size[2], heat[2]),
    )


def _worst(
    records: tuple[Kinetics, ...], ask: Callable[[Kinetics], float], worse: Callable[[list[float]], float]
) -> Answer:
    """The answer of the record that asks for most; no answer where any record has none."""
    found: dict[str, float] = {}
    for record in records:
        try:
            found[record.organism] = ask(record)
        except HeatError as error:
            return None, "", f"{error}"
    value = worse(list(found.values()))
    return value, next(name for name, one in found.items() if one == value), ""
