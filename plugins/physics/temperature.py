"""Fahrenheit and Celsius, and differences of them, kept apart.

A rule that is law in °F is compared in °F: an exact reading is converted to °F, the rule is never converted.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction

from .errors import OutOfRange

ABSOLUTE_ZERO_C = -273.15


def c_from_f(temp_f: float) -> float:
    """Temperature in Celsius [°C].

    Args:
        temp_f: temperature [°F].

    Example:
        >>> round(c_from_f(145), 3)
        62.778
    """
    return (temp_f - 32.0) / 1.8


def f_from_c(temp_c: float) -> float:
    """Temperature in Fahrenheit [°F].

    Args:
        temp_c: temperature [°C].

    Example:
        >>> round(f_from_c(52.3), 2)
        126.14
    """
    return temp_c * 1.8 + 32.0


def k_from_f_difference(difference_f: float) -> float:
    """Difference of temperature in kelvin [K]; no 32 in it.

    Args:
        difference_f: difference [°F].

    Example:
        >>> round(k_from_f_difference(10), 3)
        5.556
    """
    return difference_f / 1.8


def exact_f(value: Fraction | Decimal | float | int | str, unit: str) -> Fraction:
    """A reading as an exact number of degrees Fahrenheit [°F].

    The decimal digits as written count: 57.2 °C is 134.96 °F, below 135, although both print as 135.

    Args:
        value: the reading [unit]; a float is taken at its shortest decimal text.
        unit: "C" or "F".

    Raises:
        OutOfRange: for a unit other than C or F.
    """
    digits = Fraction(value if isinstance(value, Fraction) else str(value))
    if unit == "F":
        return digits
    if unit == "C":
        return digits * Fraction(9, 5) + 32
    raise OutOfRange(f'temperature unit "{unit}"; allowed are C and F')


def beside(
    value: float, minimums: Iterable[float] = (), maximums: Iterable[float] = (), places: int = 0
) -> float:
    """A temperature rounded so that it stands on the same side of each limit as it does unrounded [°].

    Where the nearest figure does not, one decimal more: cut off below a minimum and rounded up above a maximum, so that
    it never seems to reach a limit that it doesn't; and where it does reach one, never seems to fall short.

    Args:
        value: temperature, in the scale of the limits [°].
        minimums: limits that are to be reached from below [°].
        maximums: limits that are to be reached from above [°].
        places: decimals where no limit is near [-].

    Example:
        >>> beside(62.6, (62.78,)), beside(62.9, (62.78,)), beside(5.2, (), (5.0,)), beside(61.4, (62.78,))
        (62.6, 63.0, 5.2, 61.0)
        >>> beside(68.47, (68.33,)), beside(68.34, (68.33,))
        (68.4, 68.4)
    """
    minimums, maximums = tuple(minimums), tuple(maximums)
    shown, finer = round(value, places), 10.0 ** (places + 1)
    down, up = math.floor(value * finer + 1e-9) / finer, math.ceil(value * finer - 1e-9) / finer
    careful = (up, down) if any(shown <= high < value for high in maximums) else (down, up)

    def stands(figure: float) -> bool:
        return all((figure < low) == (value < low) for low in minimums) and all(
            (figure > high) == (value > high) for high in maximums
        )

    return next(filter(stands, (shown, *careful)), value)
