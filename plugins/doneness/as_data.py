"""A worked-out programme as data: temperatures in the kitchen's own scale, with the unit named beside each.

What the law prints stays in °F as it prints it: a rule's words, and the target of a pull that is to meet one.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from stillroom.db.pieces import WORKED
from stillroom.plugins.doneness.backwards import Backwards
from stillroom.plugins.doneness.bands import Band
from stillroom.plugins.doneness.compute import Aim, Plan, minutes
from stillroom.plugins.doneness.scale import FAHRENHEIT, Scale
from stillroom.plugins.doneness.standing import Held
from stillroom.plugins.physics.inverse import Pull
from stillroom.plugins.physics.temperature import f_from_c


def temps(scale: Scale, limits_f: Sequence[float] = (), **found_f: float | None) -> dict[str, Any]:
    """Temperatures [°F] under their names in the kitchen's scale, to a tenth, with its unit; finer beside a limit."""
    said = {name: None if temp is None else scale.rounded(temp, 1, limits_f) for name, temp in found_f.items()}
    return said | {"unit": scale.unit}


def plan_data(made: Plan, scale: Scale) -> dict[str, Any]:
    """Everything that a plan answers."""
    prediction, limits = made.prediction, made.limits_f
    likely, slow, fast = (f_from_c(peak) for peak in prediction.peak_core_c)
    return {
        "is_prediction": True,
        "pull": None if made.pulled is None else _pull(made.pulled, scale, limits),
        "peak_core": temps(scale, limits, likely=likely, slow=slow, fast=fast),
        "growth_zone_min": round(prediction.growth_s / 60, 1),
        "total_s": round(made.total_s),
        "held_to": taken_data(made.question.held),
        "rules": [vars(rule) for rule in made.rules],
        "doneness": [_band(band, scale) for band in made.bands],
        "log_reductions": [vars(one) for one in made.reductions],
        "pulls": [_aim(aim, scale) for aim in made.aims],
        "cautions": [vars(one) for one in made.cautions],
        "minutes": [
            {"minute": row.minute} | temps(scale, limits, **{k: v for k, v in vars(row).items() if k != "minute"})
            for row in minutes(prediction)
        ],
        "left_out": list(prediction.notes),
        "backwards": None if made.backwards is None else _backwards(made.backwards, scale),
    }


def taken_data(held: Held) -> dict[str, str]:
    """As what a food is judged, in words, and what says so."""
    taken = held.taken
    return {"worked": taken.worked, "as": WORKED[taken.worked], "because": taken.why}


def _pull(pulled: Pull, scale: Scale, limits_f: Sequence[float]) -> dict[str, Any]:
    rise = pulled.carryover_k if scale.is_c else pulled.carryover_f
    return temps(scale, limits_f, core=pulled.core_f, peak=pulled.peak_f) | {
        "carryover": round(rise, 1), "after_s": round(pulled.after_s), "peak_after_s": round(pulled.peak_after_s),
    }  # fmt: skip


def _band(band: Band, scale: Scale) -> dict[str, Any]:
    words = {name: value for name, value in vars(band).items() if name not in {"low_f", "high_f"}}
    return words | temps(scale, low=band.low_f, high=band.high_f)


def _aim(aim: Aim, scale: Scale) -> dict[str, Any]:
    target = FAHRENHEIT if aim.is_law else scale
    found: dict[str, Any] = {
        "to": aim.name, "target": round(target.number(aim.target_f), 1), "target_unit": target.unit, "why_not": aim.why,
    }  # fmt: skip
    if aim.pull is None:
        return found
    return found | temps(scale, core=aim.pull.core_f) | {"after_s": round(aim.pull.after_s)}


def _backwards(asked: Backwards, scale: Scale) -> dict[str, Any]:
    words = {name: value for name, value in vars(asked).items() if name != "bath_f"}
    return words | temps(scale, bath=asked.bath_f)
