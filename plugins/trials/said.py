"""How the trial pages say things."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from stillroom.db.exact import to_decimal
from stillroom.plugins.core.format import large, money, percent


def step_words(step: Sequence[Any], *, is_metric: bool) -> str:
    """'bath 57 °C, 2 h 30 min', 'grill 300 °C, until the core is at 52 °C'.

    Args:
        step: kind, medium [°F], medium [°C], what it runs to [°F], the same [°C], time [s], until the core is at [°F],
            number of turns.
    """
    kind, temp_f, temp_c, end_f, end_c, seconds, until_f, flips = step
    at = f" {_degrees(temp_f, temp_c, is_metric)}" if temp_f is not None or temp_c is not None else ""
    at += f" to {_degrees(end_f, end_c, is_metric)}" if end_f is not None or end_c is not None else ""
    until = "" if until_f is None else f"until the core is at {_degrees(until_f, None, is_metric)}"
    turns = f"turned {'once' if flips == 1 else f'{flips} times'}" if flips else ""
    return ", ".join(filter(None, (f"{kind}{at}", span(seconds), until, turns)))


def _degrees(temp_f: float | None, temp_c: float | None, is_metric: bool) -> str:
    if is_metric:
        celsius = temp_c if temp_c is not None else ((temp_f or 0.0) - 32) * 5 / 9
        return f"{celsius:.0f} °C"
    return f"{round(temp_f if temp_f is not None else (temp_c or 0.0) * 9 / 5 + 32, 1):g} °F"


def span(seconds: float | None) -> str:
    """'2 h 30 min', '4 min', '20 s'; '' for None."""
    if seconds is None:
        return ""
    if seconds < 60:
        return f"{seconds:.0f} s"
    hours, minutes = divmod(round(seconds / 60), 60)
    return " ".join(filter(None, (f"{hours} h" if hours else "", f"{minutes} min" if minutes else "")))


def score(number: Fraction | None) -> str:
    """'7.5 of 10'; 'not tasted'."""
    return "not tasted" if number is None else f"{to_decimal(number, 1):f} of 10"


def unit_words(kind: str, unit: str) -> tuple[str, Fraction]:
    """What a cost is of, and how many base units that is: ('plate', 1), ('kg', 1000)."""
    if unit == "each":
        return ("plate" if kind == "dish" else "piece"), Fraction(1)
    return large(unit)


def cost_words(each: Fraction | None) -> str:
    """'4.12', or 'incomplete'."""
    return "incomplete" if each is None else money(each)


def share_words(each: Fraction | None, price: Fraction | None) -> str:
    """Food cost as a share of the price; '' where either is not known."""
    return "" if each is None or not price else percent(each / price)
