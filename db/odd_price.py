"""A price that wants to be looked at: eight times what the item usually costs, or an eighth. Pure.

A comma in the wrong place makes ten or a hundred times; between one season or product and another lies less than eight
(common practice, no source).
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

ODD_TIMES = 8
USUAL_OF = 9


def usual_price(before: Sequence[Fraction]) -> Fraction | None:
    """Median of the last prices of one base unit before another one; None where there is none.

    Args:
        before: money for one base unit, in order of day; of an even number the lower of the middle two.
    """
    last = sorted(before[-USUAL_OF:])
    return last[(len(last) - 1) // 2] if last else None


def is_odd(price: Fraction, usual: Fraction | None) -> bool:
    """Whether a price is eight times the usual one or more, or an eighth or less; never where nothing is usual."""
    return usual is not None and usual > 0 and not usual / ODD_TIMES < price < usual * ODD_TIMES


def times_words(price: Fraction, usual: Fraction) -> str:
    """'100 times' or '1/100 of', told whichever way is above one."""
    if price >= usual:
        return f"{_figures(price / usual)} times"
    return f"1/{_figures(usual / price)} of" if price else "nothing of"


def _figures(number: Fraction) -> str:
    return f"{float(number):,.0f}" if number >= 1000 else f"{float(number):.3g}"
