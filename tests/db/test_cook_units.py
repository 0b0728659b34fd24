"""Quantities in cooks' units: what the words come to, read back through the grammar and held against NIST's figures."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.db.cook_units import CLOSE, COUNTS, MEASURES, Style, say, style_of
from stillroom.db.kitchen import DEFAULTS
from stillroom.db.units import find_unit

SYSTEMS = ("US", "metric", "imperial")
UNITS = ("g", "kg", "oz", "lb", "ml", "l", "tsp", "tbsp", "cup", "fl oz", "pt", "qt", "gal")
amounts = st.fractions(min_value=Fraction(1, 10**6), max_value=10**6)


@given(amounts, st.sampled_from(UNITS), st.sampled_from(SYSTEMS))
def test_words_come_to_the_value_that_is_stated_and_stay_within_one_per_cent(
    read_back: Callable[[str, str], Fraction], number: Fraction, unit: str, system: str
) -> None:
    """Nobody measures from a text that says something else than the value behind it, nor 1 % wrong."""
    shown = say(number, unit, Style(system))
    assert read_back(shown.text, system) == shown.value * find_unit(unit, system).factor
    assert shown.exact == number and abs(shown.off) <= CLOSE
    assert (shown.note == "") == (shown.value == number)
    assert not shown.note or (("over" in shown.note.split(", ")[1]) == (shown.off > 0))


@given(amounts, st.sampled_from(["each", "bunch", "doz", "clove"]), st.sampled_from(COUNTS))
def test_counts_are_rounded_as_the_kitchen_says(number: Fraction, unit: str, how: str) -> None:
    """Never to none: what would be is a little, in full. Never further than the grid, up means never less."""
    shown = say(number, unit, Style(counts=how))
    pieces = number * (12 if unit == "doz" else 1)
    value = shown.value * (12 if unit == "doz" else 1)
    grid = {"fractions": 12, "halves": 2, "nearest": 1, "up": 1}[how]
    assert value > 0 and ((value * grid).denominator == 1 or value == pieces)
    if shown.text.startswith("a little ("):
        assert how != "up" and shown.note == "" and pieces <= Fraction(1, 2 * {"fractions": 4}.get(how, grid))
    elif how == "up":
        assert 0 <= value - pieces < 1
    else:
        assert abs(value - pieces) <= {"fractions": Fraction(1, 4), "halves": Fraction(1, 2), "nearest": 1}[how]


@pytest.mark.parametrize(
    ("number", "unit", "system", "text", "note"),
    [
        ("14", "tsp", "US", "4 tbsp + 2 tsp", ""),
        ("1816", "g", "US", "4 lb", "rounded, 0.1 % under"),
        ("1816", "g", "metric", "1.82 kg", "rounded, 0.2 % over"),
        ("12", "tsp", "US", "¼ cup", ""),
        ("16", "tsp", "US", "⅓ cup", ""),
        ("16", "tsp", "metric", "80 ml", ""),
        ("12", "qt", "US", "12 qt", ""),
        ("20", "l", "US", "5 gal + 1¼ qt", "rounded, 0.6 % over"),
        ("1", "gal", "US", "1 gal", ""),
        ("1/2", "tbsp", "US", "1½ tsp", ""),
        ("5", "g", "US", "5 g", ""),
        ("1080", "g", "US", "2 lb 6 oz", "rounded, 0.3 % under"),
        ("21/8", "cup", "US", "2½ cups + 2 tbsp", ""),
        ("1250", "g", "metric", "1.25 kg", ""),
        ("200/3", "g", "metric", "67 g", "rounded, 0.5 % over"),
        ("12.5", "g", "metric", "12.5 g", ""),
        ("7/3", "each", "US", "2⅓", ""),
        ("0.45", "bunch", "US", "½ bunch", "rounded, 11 % over"),
        ("0.0286", "each", "metric", "a little (0.0286)", ""),
        ("0.1", "bunch", "US", "a little (0.1 bunch)", ""),
        ("8", "leaf", "metric", "8 leaves", ""),
        ("5/3", "#10 can", "US", "1⅔ #10 cans", ""),
        ("6", "#16 scoop", "US", "6 #16 scoops", ""),
        ("2", "doz", "US", "24", ""),
        ("0", "g", "US", "0 g", ""),
        ("-3", "kg", "metric", "−3 kg", ""),
    ],
)
def test_what_a_cook_reads(number: str, unit: str, system: str, text: str, note: str) -> None:
    shown = say(Fraction(number), unit, Style(system))
    assert (shown.text, shown.note) == (text, note)


def test_nist_anchors() -> None:
    """NIST Handbook 44 Appendix C, exact: 1 lb = 453.59237 g, 1 US qt = 946.352946 ml, 1 tbsp = 14.78676478125 ml."""
    us = Style("US")
    figures = {"453.59237": ("g", "1 lb"), "28.349523125": ("g", "1 oz"), "946.352946": ("ml", "1 qt"),
               "14.78676478125": ("ml", "1 tbsp")}  # fmt: skip
    for figure, (unit, text) in figures.items():
        shown = say(Fraction(figure), unit, us)
        assert (shown.text, shown.value, shown.note) == (text, Fraction(figure), "")


def test_decimals_carry_the_kitchens_mark() -> None:
    assert say(Fraction("1.25"), "kg", Style("metric", mark=",")).text == "1,25 kg"


def test_every_system_can_say_everything() -> None:
    """A kitchen's setting for units names a system here, and the default settings make a style."""
    assert {system for system, _ in MEASURES} == set(SYSTEMS)
    assert style_of(DEFAULTS) == Style("US", "fractions", ".")
