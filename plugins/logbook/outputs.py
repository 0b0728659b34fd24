"""What came out of a breakdown, and whether it adds up to what went on the board. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from stillroom.plugins.logbook.fields import Known

LINES = 8


@dataclass(frozen=True)
class Output:
    """One thing that came out. of None: loss. weight [g]; pieces of it, where they were counted."""

    of: Known | None
    weight: Fraction
    pieces: int | None = None


def outputs(values: Mapping[str, Any]) -> tuple[list[Output], Fraction]:
    """The lines of a breakdown, and what they leave unaccounted for [g]; below zero: more came out than went in."""
    lines = [
        Output(values.get(f"of{n}"), values[f"weight{n}"], values.get(f"pieces{n}"))
        for n in range(1, LINES + 1)
        if values.get(f"weight{n}") is not None
    ]
    return lines, (values["input"] or Fraction(0)) - sum((line.weight for line in lines), Fraction(0))


def is_within(lost: Fraction, put_in: Fraction, tolerance: Fraction) -> bool:
    """Whether a difference may pass unasked.

    Args:
        lost: what is unaccounted for [g].
        put_in: weight on the board [g].
        tolerance: share of it that may be missing or over, 0 to 1 [-].
    """
    return abs(lost) <= put_in * tolerance
