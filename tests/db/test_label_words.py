"""Ingredient lists read for suggestions, with the shipped list of label words."""

from __future__ import annotations

import sqlite3

import pytest
from stillroom.db.build import create
from stillroom.db.label_words import LabelReader, LabelWord, phrases, strongest
from stillroom.db.reference_data import load_reference


@pytest.fixture(scope="module")
def reader() -> LabelReader:
    connection = sqlite3.connect(":memory:", isolation_level=None)
    create(connection)
    load_reference(connection)
    rows = connection.execute("select word, allergen_id, presence, why, source, basis from label_words")
    return LabelReader(LabelWord(*row) for row in rows)


def said(reader: LabelReader, text: str) -> dict[str, str]:
    return {allergen: one.presence for allergen, one in strongest(reader.read(text)).items()}


# Words of the hidden-allergen list of the Minnesota Department of Agriculture (mda.state.mn.us).
@pytest.mark.parametrize(
    ("word", "allergen"),
    [
        ("casein", "milk"), ("ghee", "milk"), ("lactalbumin", "milk"), ("whey", "milk"), ("albumin", "egg"),
        ("surimi", "fish"), ("tahini", "sesame"), ("tofu", "soy"), ("marzipan", "almond"), ("semolina", "wheat"),
    ],
)  # fmt: skip
def test_hidden_words(reader: LabelReader, word: str, allergen: str) -> None:
    """A hidden word points to its allergen, in the plural and between other words too."""
    assert allergen in said(reader, f"Water, {word.upper()} (dried), salt")


def test_traces_are_may_contain(reader: LabelReader) -> None:
    """What stands after 'may contain' is not in it, and the sentence ends at its full stop."""
    found = said(reader, "Sugar, hazelnuts. May contain traces of milk, egg. Packed in Leeds")
    assert found["hazelnut"] == "contains" and found["milk"] == found["egg"] == "may contain"
    assert said(reader, "Made in a kitchen that handles sesame. Milk.")["milk"] == "contains"


@pytest.mark.parametrize("name", ["coconut milk", "cocoa butter", "shea butter", "cream of tartar", "peanut butter"])
def test_other_things_are_not_milk(reader: LabelReader, name: str) -> None:
    """The longer name counts."""
    assert "milk" not in said(reader, f"Sugar, {name}, salt")


def test_denied_words_are_shown_but_not_counted(reader: LabelReader) -> None:
    """A phrase about being without something is for a person to read; what else it names still counts."""
    for text in ("gluten-free oats", "no milk, oats", "free from milk, oats", "oats without gluten"):
        assert any(one.is_denied for one in reader.read(text)), text
        assert set(said(reader, text)) == {"oats"}, text
    assert said(reader, "Nonpareil capers, nougat with almonds")["almond"] == "contains"


def test_an_unknown_word_points_to_nothing(reader: LabelReader) -> None:
    """Nothing found says nothing, whatever is pasted."""
    assert reader.read("Xyzzy, \x00\u202e quux") == [] == reader.read("")
    assert len(reader.read("milk, " * 20_000)) == 1


def test_numbers_do_not_end_a_phrase() -> None:
    """A point within a number is no full stop."""
    assert list(phrases("Butter (milk), salt 1.6 %")) == [("Butter", False), ("milk", False), ("salt 1.6 %", False)]
