"""Which thing a recipe line names and how much of it: one reader for files and pages. Quantities worked by hand."""

from __future__ import annotations

import sqlite3
from fractions import Fraction
from pathlib import Path

import pytest
from stillroom.db.quantity import ReadError
from stillroom.db.recipe_lines import Names, Thing, UnknownName, names_of
from stillroom.loaders.build import check
from stillroom.loaders.recipe_names import line_names

DEMO = Path(__file__).parents[2] / "db" / "demo"
# An ounce avoirdupois is 28.349523125 g exactly, a US cup 236.5882365 ml (NIST Handbook 44, appendix C).
OUNCE, CUP = Fraction("28.349523125"), Fraction("236.5882365")
KITCHEN = Names([
    Thing("leeks", "leeks", False, "g", {"bunch": Fraction(400)}), Thing("egg", "egg", False, "each"),
    Thing("butter", "butter", False, "g"), Thing("salted", "butter, salted", False, "g"),
    Thing("flour", "plain flour", False, "g", {"ml": Fraction(1, 2)}),
    Thing("leek-cream", "Leek cream", True, "ml", {}, Fraction(1500)), Thing("puree", "Celeriac purée", True, "g"),
])  # fmt: skip


@pytest.mark.parametrize(
    ("line", "thing", "quantity", "prep"),
    [
        ("500 g leeks, trimmed", "leeks", 500, "trimmed"),
        ("2 oz LEEKS", "leeks", 2 * OUNCE, ""),
        ("2 bunches leeks", "leeks", 800, ""),  # its own measure, in the plural
        ("3 eggs", "egg", 3, ""),  # a name in the plural
        ("30 g butter, salted, soft", "salted", 30, "soft"),  # the longest name that there is
        ("30 g butter, soft", "butter", 30, "soft"),
        ("1 cup plain flour", "flour", CUP / 2, ""),  # by its own density
        ("½ batch Leek cream", "leek-cream", 750, ""),
        ("2 batches leek cream", "leek-cream", 3000, ""),
        ("100 g CELERIAC PUREE", "puree", 100, ""),
    ],
)
def test_a_line_is_matched_and_measured(line: str, thing: str, quantity: Fraction, prep: str) -> None:
    read = KITCHEN.read(line)
    assert (read.thing.id, read.quantity, read.prep) == (thing, quantity, prep)


@pytest.mark.parametrize(
    ("line", "name", "near"),
    [("500 g leaks", "leaks", ["leeks"]), ("1 ea lobster", "lobster", []),
     ("100 g Celeriac pure, warm", "Celeriac pure", ["Celeriac purée"]),
     ("2 kg baby leeks", "baby leeks", ["leeks", "Leek cream"]), ("1 lb flour", "flour", ["plain flour"])],
)  # fmt: skip
def test_a_name_that_nothing_has_is_told_with_the_nearest(line: str, name: str, near: list[str]) -> None:
    """The name as far as it can be one; a word behind a unit is no other unit."""
    with pytest.raises(UnknownName) as caught:
        KITCHEN.read(line)
    error = caught.value
    assert (error.code, error.name, error.near) == ("name-unknown", name, near)
    assert error.what == f'there is no "{name}" in items or recipes'
    assert all(f'"{one}"' in error.why for one in near) and bool(error.why) == bool(near)


@pytest.mark.parametrize(
    ("line", "code", "words"),
    [("2 sheaves leeks", "unit-unknown", 'leeks: unknown unit "sheaves"'),
     ("1 cup leeks", "unit-no-measure", "leeks: nothing says what 1 cup of it is in g"),
     ("0 g leeks", "quantity-low", '"0 g leeks" is not above zero')],
)  # fmt: skip
def test_a_quantity_that_cannot_be_measured_is_told_with_its_thing(line: str, code: str, words: str) -> None:
    with pytest.raises(ReadError) as caught:
        KITCHEN.read(line)
    assert (caught.value.code, caught.value.what) == (code, words)


RENAMED = Names(
    [Thing("leek-cream", "Leek purée", True, "ml", {}, Fraction(1500)), Thing("egg", "egg", False, "each"),
     Thing("brill-plate", "Brill, leek ash", True, "each")],
    once=[("Leek cream", "leek-cream"), ("Egg", "leek-cream"), ("Turbot plate", "gone")],
)  # fmt: skip


def test_a_name_that_a_recipe_had_goes_on_meaning_it() -> None:
    """Unless something has it now; a recipe that is gone has none."""
    assert RENAMED.read("1 batch leek creams, warm").thing.name == "Leek purée"
    assert RENAMED.read("2 Eggs").thing.id == "egg"
    with pytest.raises(UnknownName) as caught:
        RENAMED.read("1 ea Turbot plate")
    assert caught.value.near == [] and RENAMED.near("Leek creme") == ["Leek purée"]


@pytest.mark.parametrize(
    ("name", "own", "held"),
    [("Leek puree", "leek-cream", None), ("Leek puree", "other", "Leek purée"), ("Leek cream", "leek-cream", None),
     ("LEEK CREAM", "other", "Leek purée"), ("Leek-cream", "other", "Leek purée"), ("Egg", "other", "egg"),
     ("Egg", "egg", "egg"), ("Eggs", "other", "egg"), ("EGGS", "other", "egg"),
     ("Brill leek ash", "other", None), ("Brill plate", "other", "Brill, leek ash"),
     ("Chard pie", "chard-pie", None)],
)  # fmt: skip
def test_a_name_is_held_by_what_has_it_or_had_it(name: str, own: str, held: str | None) -> None:
    """By accents and case alike, and by the id that it would make; an item's is no recipe's, whatever its id."""
    found = RENAMED.holder(name, own)
    assert (found.name if found else None) == held


@pytest.mark.parametrize(
    ("line", "said"),
    [("1 batch Leek purée, warm", "1 batch Leek foam, warm"), ("½ batch leek cream", "½ batch Leek foam"),
     ("1 batch of Leek creams", "1 batch of Leek foam"), ("half a batch leek PUREE", "half a batch Leek foam"),
     ("3 ea Brill, leek ash, hot", "3 ea Leek foam, hot")],
)  # fmt: skip
def test_a_line_is_told_again_by_another_name(line: str, said: str) -> None:
    assert RENAMED.retold(line, "Leek foam") == said


def test_a_file_gives_back_the_names_that_it_was_loaded_with(demo_db: Path) -> None:
    """Every item and recipe of the demonstration: unit, measures and batch, exactly."""
    with sqlite3.connect(f"file:{demo_db}?mode=ro", uri=True) as connection:
        kept = names_of(connection)
        promoted = {i for (i,) in connection.execute("select dish_id from standing_promotions")}
    said = line_names(check(DEMO))
    assert (kept.system, kept.mark) == (said.system, said.mark) and len(said.by_name) > 150
    assert {n: t for n, t in kept.by_name.items() if t.id not in promoted} == {
        n: t for n, t in said.by_name.items() if t.id not in promoted
    }
