"""Units: exact factors, three dimensions that never mix by themselves, and an item's own measures."""

from __future__ import annotations

import subprocess
import sys
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.db.number import ReadError
from stillroom.db.units import BASE, as_measure, find_unit, is_unit, to_base

ONE = Fraction(1)
SPELLINGS = [
    ("KG", "kg"), ("lbs.", "lb"), ("#", "lb"), ("ounces", "oz"), ("fl. oz.", "fl oz"),
    ("Fluid Ounces", "fl oz"), ("qts", "qt"), ("pt.", "pt"), ("tbs", "tbsp"), ("mL", "ml"), ("litres", "l"),
    ("ct", "each"), ("ea.", "each"), ("", "each"), ("dz", "doz"), ("No. 16 scoop", "#16 scoop"),
    ("#16 scoops", "#16 scoop"),
]  # fmt: skip


@pytest.mark.parametrize(("written", "name"), SPELLINGS)
def test_case_stops_and_plurals_do_not_matter(written: str, name: str) -> None:
    """A unit is found however it is written."""
    assert find_unit(written).name == name


@pytest.mark.parametrize("letter", ["C", "c", "T", "t", "T."])
def test_a_letter_with_two_meanings_is_never_read(letter: str) -> None:
    """C is a cup or a temperature; T and t differ by three: refused, with the word to write."""
    with pytest.raises(ReadError) as refused:
        find_unit(letter)
    assert refused.value.code == "unit-unknown"
    assert refused.value.fix in {f"write {word} if that is meant" for word in ("cup", "tbsp", "tsp")}


def test_an_unknown_unit_names_the_nearest() -> None:
    """The cook sees what was found, what is known, and what was probably meant."""
    with pytest.raises(ReadError) as refused:
        find_unit("galon")
    assert (refused.value.code, refused.value.what) == ("unit-unknown", 'unknown unit "galon"')
    assert 'Nearest: "gallon".' in refused.value.why


def test_an_ounce_is_mass_and_a_fluid_ounce_is_volume() -> None:
    """The 4 % trap: 1 fl oz of water weighs 29.6 g, not 28.35 g."""
    assert find_unit("oz").dimension == "mass"
    assert find_unit("fl oz").dimension == "volume"


@pytest.mark.parametrize(
    ("unit", "base"), [("cup", "g"), ("g", "ml"), ("ea", "g"), ("ea", "ml"), ("lb", "each"), ("l", "each")]
)
def test_dimensions_do_not_mix_without_a_measure(unit: str, base: str) -> None:
    """Nothing is guessed between mass, volume and count."""
    with pytest.raises(ReadError) as refused:
        to_base(ONE, unit, base, {})
    assert refused.value.code == "unit-no-measure"


@pytest.mark.parametrize(
    "unit", ["#10 can", "#10 cans", "#2½ can", "case", "cs", "stick", "bunches", "cloves"]
)
def test_a_container_has_the_size_that_the_item_says(unit: str) -> None:
    """No can, case, stick or bunch has a size of its own; the refusal says which row to add."""
    with pytest.raises(ReadError) as refused:
        to_base(ONE, unit, "g", {"ml": ONE, "each": Fraction(50)})
    assert refused.value.code == "unit-no-measure"
    assert refused.value.fix == f"add a row to measures: 1 {unit}, and what that is in g"
    assert refused.value.do.startswith("write it in lb, and tell the chef")


def test_an_items_own_measures_convert() -> None:
    """A named measure, a density, a piece weight and a dozen of pieces."""
    assert to_base(Fraction(2), "#10 cans", "g", {"#10 can": Fraction(2977)}) == 5954
    assert to_base(Fraction(3), "Bunches", "g", {"bunch": Fraction(30)}) == 90
    assert to_base(Fraction(1, 2), "cup", "g", {"ml": Fraction(2)}) == find_unit("cup").factor
    assert to_base(ONE, "doz", "g", {"each": Fraction(50)}) == 600
    assert to_base(Fraction(1000), "g", "each", {"g": Fraction(1, 250)}) == 4


def test_a_measure_row_is_read_as_a_bridge_or_a_name() -> None:
    """'1 cup' speaks of millilitres, 'bunch' of itself, '2 sticks' of two."""
    assert as_measure("1 cup") == ("ml", Fraction(473176473, 2000000))
    assert as_measure("⅛ cup") == ("ml", Fraction(473176473, 16000000))
    assert as_measure("½ lb") == ("g", Fraction(45359237, 200000))
    assert as_measure("Bunch") == ("bunch", 1)
    assert as_measure("2 stick") == ("stick", 2)
    assert as_measure("#10 can") == ("#10 can", 1)
    assert as_measure("1,5 l", mark=",") == ("ml", 1500)


@pytest.mark.parametrize("text", ["0 cup", "-1 bunch"])
def test_a_measure_of_nothing_is_refused(text: str) -> None:
    """What nothing is measured by would be divided by."""
    with pytest.raises(ReadError, match="is not above zero"):
        as_measure(text)


def test_the_kitchen_says_whose_cup_and_pint() -> None:
    """US, imperial and metric: cup 236.588, 250, 250 ml; pint 473.176, 568.261, 473.176 ml."""
    cups = [round(float(find_unit("cup", system).factor), 3) for system in ("US", "imperial", "metric")]
    pints = [round(float(find_unit("pint", system).factor), 3) for system in ("US", "imperial", "metric")]
    assert cups == [236.588, 250, 250]
    assert pints == [473.176, 568.261, 473.176]


@given(
    st.fractions(min_value=0, max_value=10**6, max_denominator=10**6),
    st.sampled_from(["mg", "kg", "oz", "lb", "tsp", "fl oz", "gal", "dl", "doz"]),
)
def test_conversion_is_exact_both_ways(number: Fraction, unit: str) -> None:
    """To the base and back is the number itself, however many thirds it has."""
    known = find_unit(unit)
    base = next(b for b, dimension in BASE.items() if dimension == known.dimension)
    there = to_base(number, unit, base, {})
    assert isinstance(there, Fraction)
    assert there / known.factor == number


def test_a_word_is_a_unit_or_it_is_not() -> None:
    """No exception, and nothing named for an empty text."""
    assert [is_unit(w) for w in ("fl oz", "#10 can", "#16 scoop", "", "leeks", "C")] == [
        True,
        True,
        True,
        False,
        False,
        False,
    ]


def test_units_do_not_import_pint() -> None:
    """The registry takes a quarter of a second: it is built for a rare measure and for nothing else."""
    code = (
        "import sys, stillroom.db.units as u; u.find_unit('cup'); before = 'pint' in sys.modules;"
        "u.find_unit('peck'); print(before, 'pint' in sys.modules)"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60)
    assert out.stdout.split() == ["False", "True"]
