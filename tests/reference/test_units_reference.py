"""Units against the standards that fix them, and the reference densities against themselves."""

from __future__ import annotations

from fractions import Fraction

import pytest
from stillroom.db.quantity import read_length
from stillroom.db.reference_data import reference_rows
from stillroom.db.units import find_unit, to_base


def ml(unit: str, system: str = "US") -> Fraction:
    """One of a unit [ml]."""
    return to_base(Fraction(1), unit, "ml", {}, system)


EXACT = [
    ("gal", "3785.411784"), ("qt", "946.352946"), ("pt", "473.176473"), ("cup", "236.5882365"),
    ("fl oz", "29.5735295625"), ("tbsp", "14.78676478125"), ("tsp", "4.92892159375"),
]  # fmt: skip


@pytest.mark.parametrize(("unit", "millilitres"), EXACT)
def test_us_volumes_are_exact(unit: str, millilitres: str) -> None:
    """1 gal = 231 cubic inches, an inch 25.4 mm. Source: NIST Handbook 44, Appendix C."""
    assert ml(unit) == Fraction(millilitres)
    assert ml("gal") == 231 * (read_length("1 in") / 10) ** 3


def test_us_masses_are_exact() -> None:
    """1 lb = 453.59237 g, 16 oz to it. Source: NIST Handbook 44, Appendix C."""
    assert find_unit("lb").factor == Fraction("453.59237")
    assert find_unit("oz").factor == Fraction("28.349523125")


def test_imperial_volumes_are_exact() -> None:
    """1 gal = 4.54609 L (memory). Source: pint's definitions (below); a unit table's ratio of fl oz."""
    assert ml("gal", "imperial") == Fraction("4546.09")
    assert ml("pt", "imperial") == Fraction("568.26125")
    assert ml("fl oz", "imperial") == Fraction("28.4130625")
    assert float(ml("fl oz") / ml("fl oz", "imperial")) == pytest.approx(1.040842731, abs=5e-10)


PRINTED = [("cup", "237"), ("pt", "473"), ("qt", "946"), ("tbsp", "15"), ("tsp", "4.9")]


@pytest.mark.parametrize(("unit", "printed"), PRINTED)
def test_the_household_table_is_ours_rounded(unit: str, printed: str) -> None:
    """Source: NIST Special Publication 430, Household Weights and Measures: millilitres as printed."""
    places = len(printed.partition(".")[2])
    assert round(ml(unit), places) == Fraction(printed)


def test_a_litre_in_the_household_table() -> None:
    """Source: NIST Special Publication 430: 1 L = 67.6 tbsp = 4.23 cups = 33.8 fl oz."""
    litre = [round(1000 / ml(unit), places) for unit, places in (("tbsp", 1), ("cup", 2), ("fl oz", 1))]
    assert litre == [Fraction("67.6"), Fraction("4.23"), Fraction("33.8")]


PINT_NAMES = {
    "mg": "milligram", "g": "gram", "dag": "decagram", "kg": "kilogram", "oz": "ounce", "lb": "pound",
    "ml": "milliliter", "cl": "centiliter", "dl": "deciliter", "l": "liter", "gal": "gallon", "qt": "quart",
    "pt": "pint", "fl oz": "fluid_ounce", "cup": "cup", "tbsp": "tablespoon", "tsp": "teaspoon",
}  # fmt: skip
IMPERIAL = {
    "gal": "imperial_gallon",
    "qt": "imperial_quart",
    "pt": "imperial_pint",
    "fl oz": "imperial_fluid_ounce",
}


def test_every_factor_is_pints_to_the_last_digit() -> None:
    """Source: the unit definitions of pint, kept by other people, with fractions for floats."""
    import pint

    registry = pint.UnitRegistry(non_int_type=Fraction)
    pairs = [("US", n, p) for n, p in PINT_NAMES.items()] + [("imperial", n, p) for n, p in IMPERIAL.items()]
    for system, name, theirs in pairs:
        ours = find_unit(name, system)
        base = "g" if ours.dimension == "mass" else "ml"
        assert ours.factor == registry.Quantity(Fraction(1), theirs).to(base).magnitude, name


def test_berries_are_sold_by_the_dry_quart() -> None:
    """67.200625 cubic inches (memory). Source: a unit table's 0.859 of the gallons; pint."""
    assert ml("dry qt") == Fraction("67.200625") * Fraction("2.54") ** 3
    assert round(ml("qt") / ml("dry qt"), 3) == Fraction("0.859")
    assert ml("peck") == 8 * ml("dry qt")
    assert ml("bushel") == 32 * ml("dry qt")


DISHERS = [
    (6, "157.7"), (8, "118.3"), (10, "94.6"), (12, "78.9"), (16, "59.1"), (20, "47.3"), (24, "39.4"),
    (30, "31.5"), (40, "23.7"), (50, "18.9"), (60, "15.8"), (70, "13.5"), (100, "9.46"),
]  # fmt: skip


@pytest.mark.parametrize(("number", "millilitres"), DISHERS)
def test_a_disher_is_a_quart_shared_by_its_number(number: int, millilitres: str) -> None:
    """32/n fl oz, nominal. Source: Institute of Child Nutrition, Basics at a Glance: scoops to the quart."""
    places = len(millilitres.partition(".")[2])
    scoop = ml(f"#{number} scoop")
    assert scoop * number == ml("qt")
    assert round(scoop, places) == Fraction(millilitres)


CARD = [(6, "2/3"), (8, "1/2"), (12, "1/3"), (16, "1/4")]


@pytest.mark.parametrize(("number", "cups"), CARD)
def test_the_cards_cups_are_the_nominal_scoops(number: int, cups: str) -> None:
    """Source: the same card, where it does not round: 6 is 2/3 cup, 8 is 1/2, 12 is 1/3, 16 is 1/4."""
    assert ml(f"#{number} scoop") == Fraction(cups) * ml("cup")


DENSITIES = reference_rows("densities")


def test_density_is_grams_of_a_cup_by_our_own_cup() -> None:
    """Source: USDA SR28 WEIGHT.txt, grams of a cup; the derived g/ml is that over 236.588 ml."""
    cups = [r for r in DENSITIES if r["g_per_us_cup"] and r["bulk_g_per_ml_derived"]]
    off = [
        r["food"]
        for r in cups
        if "fluid" not in r["cup_measure"]
        and abs(Fraction(r["g_per_us_cup"]) / ml("cup") - Fraction(r["bulk_g_per_ml_derived"]))
        > Fraction("0.0006")
    ]
    assert len(cups) > 100
    assert off == []


def test_a_spoon_and_a_cup_of_one_food_agree_or_the_row_says_so() -> None:
    """Source: USDA SR28 WEIGHT.txt: 16 tbsp to the cup; where grams differ by over 5 %, check_note says by how much."""
    both = [r for r in DENSITIES if r["g_per_us_cup"] and r["g_per_tbsp"]]
    silent = []
    for row in both:
        ratio = 16 * Fraction(row["g_per_tbsp"]) / Fraction(row["g_per_us_cup"])
        if abs(ratio - 1) > Fraction("0.055") and not row["check_note"]:
            silent.append((row["food"], float(ratio)))
    assert len(both) > 15
    assert silent == []


def test_a_fluid_ounce_of_water_is_no_ounce() -> None:
    """Source: USDA SR28, NDB 14429: 29.6 g to the fl oz, where an ounce is 28.35 g; a pint is a pound and 4 %."""
    water = next(r for r in DENSITIES if r["ndb_no"] == "14429")
    grams_per_ml = Fraction(water["g_per_fl_oz"]) / ml("fl oz")
    assert 1 < grams_per_ml < Fraction("1.002")
    pint = to_base(Fraction(1), "pt", "g", {"ml": grams_per_ml})
    assert round(float(pint / find_unit("lb").factor), 2) == 1.04


def test_butter_by_the_cup_and_by_the_pound() -> None:
    """Source: USDA SR28, NDB 01001: a cup is 227 g, which is half a pound of sticks."""
    butter = next(r for r in DENSITIES if r["ndb_no"] == "01001")
    assert Fraction(butter["g_per_us_cup"]) == 227 == round(find_unit("lb").factor / 2)


def test_eggs_by_the_cup_and_by_the_piece() -> None:
    """Source: USDA SR28, NDB 01123: a large egg is 50 g, 4.86 of them a cup of 243 g."""
    egg = next(r for r in DENSITIES if r["ndb_no"] == "01123")
    assert Fraction(egg["g_each"]) * Fraction("4.86") == Fraction(egg["g_per_us_cup"])
    assert to_base(Fraction(1), "doz", "g", {"each": Fraction(egg["g_each"])}) == 600
