"""Exact numbers as text: how quantities, yields and money stand in the database.

A number that ends in decimals is written as a decimal ('1133.980925'), any other as a fraction ('250/3'). Nothing that
the product adds, multiplies or compares goes through a float.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

NINE_PLACES = 10**9


def exact_text(number: Fraction) -> str:
    """The one way an exact number is written [-]: decimal where it ends, else 'numerator/denominator'.

    Example:
        >>> exact_text(Fraction(5, 2)), exact_text(Fraction(250, 3)), exact_text(Fraction(-7))
        ('2.5', '250/3', '-7')
    """
    places = _places(number.denominator)
    if places is None:
        return f"{number.numerator}/{number.denominator}"
    if places == 0:
        return str(number.numerator)
    digits = str(abs(number.numerator) * 10**places // number.denominator).rjust(places + 1, "0")
    sign = "-" if number < 0 else ""
    return f"{sign}{digits[:-places]}.{digits[-places:]}"


def read_exact(text: str) -> Fraction:
    """The number that `exact_text` wrote.

    Raises:
        ValueError: the text is neither a decimal nor a fraction.
    """
    return Fraction(text)


def nine_places(number: Fraction) -> Fraction:
    """The number rounded to nine decimal places, half to even: what a log row keeps of a third of a quart."""
    return Fraction(round(number * NINE_PLACES), NINE_PLACES)


def to_decimal(number: Fraction, places: int) -> Decimal:
    """The number rounded once, half to even, for display [same unit]."""
    return Decimal(round(number * 10**places)).scaleb(-places)


def _places(denominator: int) -> int | None:
    """Decimal places that a fraction with this denominator needs; None where it never ends."""
    twos = (denominator & -denominator).bit_length() - 1
    rest, fives = denominator >> twos, 0
    while rest % 5 == 0:
        rest, fives = rest // 5, fives + 1
    return max(twos, fives) if rest == 1 else None
