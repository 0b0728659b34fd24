"""What this package refuses, and how it says so."""

from __future__ import annotations

import math


class HeatError(ValueError):
    """A question that cannot be answered as asked; the text says what was asked and what is possible."""


class OutOfRange(HeatError):
    """A value outside the limits named in the text."""


class NotReachable(HeatError):
    """The target can never be reached under the conditions given."""


class KineticsOutOfRange(HeatError):
    """A temperature outside the range in which a heat-resistance record was measured."""


def within(name: str, value: float, low: float, high: float, unit: str) -> float:
    """The value itself, when it is finite and inside its limits.

    Args:
        name: what the value is, for the message.
        value: the value [unit].
        low: smallest allowed [unit].
        high: largest allowed [unit].
        unit: text of the unit.

    Raises:
        OutOfRange: naming the value and both limits.
    """
    if not math.isfinite(value) or value < low or value > high:
        raise OutOfRange(f"{name} is {value:g} {unit}; allowed is {low:g} to {high:g} {unit}")
    return float(value)
