"""Recipe lines as cooks write them, 400 and more, written for this test: each read in its parts, or refused in words.

No openly licensed corpus of such lines was found in the package registries: what is there under that word are readers
of lines, not lines. The lines were written beside the grammar, so a share of them read says that it holds, not how it
would do on another kitchen's lines.
"""

from __future__ import annotations

import csv
import re
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.db.cook_units import Style, say
from stillroom.db.line_words import plain_line
from stillroom.db.quantity import ReadError, read_line
from stillroom.db.units import find_unit, is_unit

DATA = Path(__file__).parents[1] / "data"
# Measures that the lines speak of; in a kitchen's files each has its row in `measures`.
OWN = {
    "batch", "bunch", "sprig", "clove", "head", "bulb", "stalk", "leaf", "leave", "sheet", "slice", "loaf", "stick",
    "can", "tin", "jar", "bottle", "packet", "case", "pinch", "handful", "side", "rack", "wheel", "block", "tray",
    "flat", "tub", "carton", "bag", "box", "boxe",
}  # fmt: skip


def cooks_unit(word: str) -> bool:
    """A unit, or one of the measures above, in the singular or plural."""
    plain = word.lower()
    return is_unit(plain) or bool({plain, plain.removesuffix("s"), plain.removesuffix("es")} & OWN)


def rows(name: str) -> list[dict[str, str]]:
    return list(csv.DictReader((DATA / name).read_text("utf-8").splitlines()))


LINES = rows("ingredient_lines.csv")
NAMES = {row["name"] for row in LINES}


def read(line: str) -> tuple[Fraction, str, tuple[str, str] | None]:
    """A line in its parts, the name being the longest that the book knows."""
    said = read_line(line, cooks_unit)
    return said.number, said.unit_text, next((pair for pair in said.names() if pair[0] in NAMES), None)


def test_there_are_enough_lines_and_no_two_alike() -> None:
    assert len(LINES) >= 400 and len({row["line"] for row in LINES}) == len(LINES)


@pytest.mark.parametrize("row", LINES, ids=lambda row: row["line"])
def test_a_line_is_read_in_its_parts(row: dict[str, str]) -> None:
    assert read(row["line"]) == (Fraction(row["quantity"]), row["unit"], (row["name"], row["prep"]))


@pytest.mark.parametrize("row", rows("ingredient_lines_refused.csv"), ids=lambda row: row["line"])
def test_what_has_no_exact_meaning_is_refused(row: dict[str, str]) -> None:
    """A range, a heaped spoon, a few, a letter with two meanings: never a guess."""
    with pytest.raises(ReadError) as caught:
        read_line(row["line"], cooks_unit)
    assert row["words"] in caught.value.what


@pytest.mark.parametrize("row", LINES, ids=lambda row: row["line"])
def test_the_plain_form_stays_as_it_is(row: dict[str, str]) -> None:
    """Put into the plain form once or twice it is the same line."""
    once = plain_line(row["line"], cooks_unit)
    assert plain_line(once, cooks_unit) == once or not re.match(r"[0-9½¼¾⅓⅔⅛.]", once)


@given(
    st.fractions(Fraction(1, 100), 500, max_denominator=1000),
    st.sampled_from(["g", "ml", "tsp", "cup", "qt", "lb"]),
    st.sampled_from(["US", "imperial"]),
)
def test_what_the_card_shows_can_be_written_back_as_a_line(number: Fraction, unit: str, system: str) -> None:
    """'4 tbsp + 2 tsp' and '2 lb 6 oz' are read as what they come to, exactly."""
    shown = say(number, unit, Style(system))
    said = read_line(f"{shown.text} x", cooks_unit, ".", system)
    assert said.number * find_unit(said.unit_text, system).factor == shown.value * find_unit(unit, system).factor
