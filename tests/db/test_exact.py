"""Exact numbers as text."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction as F

from hypothesis import given
from hypothesis import strategies as st
from stillroom.db.exact import exact_text, nine_places, read_exact, to_decimal


@given(st.fractions())
def test_written_and_read_is_the_same_number(number: F) -> None:
    """No digit is lost in the text."""
    assert read_exact(exact_text(number)) == number


@given(st.decimals(allow_nan=False, allow_infinity=False, min_value=-(10**12), max_value=10**12, places=7))
def test_a_number_that_ends_is_a_decimal(number: Decimal) -> None:
    """Views may cast it: no fraction bar, no exponent."""
    text = exact_text(F(number))
    assert "/" not in text and "e" not in text.lower() and Decimal(text) == number


def test_known_texts() -> None:
    """A pound in grams (NIST, 453.59237 g exactly), a third, and a small negative number."""
    assert exact_text(F(45359237, 100000)) == "453.59237"
    assert exact_text(F(1, 3)) == "1/3"
    assert exact_text(F(-1, 20)) == "-0.05"


def test_rounding_is_half_to_even_and_once() -> None:
    """0.125 to two places is 0.12, 0.135 is 0.14; nine places of a third end in 3."""
    assert [to_decimal(F(n, 1000), 2) for n in (125, 135)] == [Decimal("0.12"), Decimal("0.14")]
    assert exact_text(nine_places(F(1, 3))) == "0.333333333"
