"""A quantity in two measures is read as it is said; sizes: NIST Handbook 44, Appendix C (16 oz a lb, 16 tbsp a cup)."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from stillroom.db.cook_units import THIN, Style, say
from stillroom.db.quantity import ReadError, read_quantity
from stillroom.db.units import to_base


@pytest.mark.parametrize(("text", "number", "unit"), [
    ("4 lb 6½ oz", Fraction(141, 2), "oz"), ("2 lb 3 oz", Fraction(35), "oz"), ("2 lb + 3 oz", Fraction(35), "oz"),
    ("1½ cups + 1 tbsp", Fraction(25), "tbsp"), ("2 gal + 1 qt", Fraction(9), "qt"),
])  # fmt: skip
def test_two_measures_are_added_up(text: str, number: Fraction, unit: str) -> None:
    said = read_quantity(text, ".", "US")
    assert (said.number, said.unit_text) == (number, unit)


@pytest.mark.parametrize("text", ["2 lb 20 oz", "3 oz 2 lb", "2 lb 3 cups", "2 lb 3", "2 ea 3 oz", "2 lb 3 oz 4 g"])
def test_what_is_no_sum_of_two_is_refused(text: str) -> None:
    """More than one of the larger in the smaller, the smaller first, two kinds, three numbers."""
    with pytest.raises(ReadError):
        read_quantity(text, ".", "US")


def test_cups_and_spoons_are_added_up_by_whose_they_are() -> None:
    """16 tablespoons are a US cup, 50/3 of 15 ml a metric one of 250 ml; where nobody says whose, they are refused."""
    assert read_quantity("1½ cups + 1 tbsp", ".", "US").number == 25
    assert read_quantity("1½ cups + 1 tbsp", ".", "metric").number == 26
    with pytest.raises(ReadError):
        read_quantity("1½ cups + 1 tbsp")


@pytest.mark.parametrize("system", ["US", "imperial", "metric"])
@pytest.mark.parametrize("unit", ["g", "ml"])
def test_what_is_said_can_be_typed(system: str, unit: str) -> None:
    """Everything that a page says of a weight or a volume reads back as the number that its words come to."""
    style = Style(system)
    for thousandths in range(37, 4_000_000, 4_999):
        shown = say(Fraction(thousandths, 100), unit, style)
        said = read_quantity(shown.text.replace(THIN, ""), style.mark, system)
        assert to_base(said.number, said.unit_text, unit, {}, system) == shown.value, shown.text


@pytest.mark.parametrize(("text", "mark"), [
    ("1.5 kg", ","), ("1,5 kg", "."), ("1.250 kg", ","), ("1 250 g", "."), ("1,250.5 kg", "."), ("1e3 kg", ","),
    ("some", ","), ("some", "."), ("2 kg 3 l", ","),
])  # fmt: skip
def test_what_a_refusal_tells_to_type_can_be_typed(text: str, mark: str) -> None:
    """With its unit, for a form that wants one refuses the bare number; in the kitchen's own decimal mark."""
    with pytest.raises(ReadError) as told:
        read_quantity(text, mark, "metric")
    fix = told.value.fix
    told_to_type = re.findall(r"[0-9][0-9.,]*(?: k?g\b)?", fix.removesuffix(", without thousands marks"))
    assert told_to_type, fix
    for one in told_to_type:
        said = read_quantity(one.rstrip(",") if mark == "." else one, mark)
        assert said.unit_text in text or said.unit_text == "kg"
        assert said.unit_text or text == "some"
