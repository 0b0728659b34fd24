"""What a guest says, and what it is taken for: nothing said is dropped, nothing misspelt reads as not declared."""

from __future__ import annotations

import pytest
from stillroom.db.allergen_judging import Asked
from stillroom.db.allergen_words import Vocabulary, is_named, listed, split_words
from stillroom.db.names import words_of

MILK, ALMOND, SHRIMP = (Asked(w, frozenset({w})) for w in ("milk", "almond", "shrimp"))
WORDS = Vocabulary(
    codes={"milk": MILK, "almond": ALMOND, "shrimp": SHRIMP},
    names={words_of("milk"): MILK, words_of("almond"): ALMOND, words_of("shrimp"): SHRIMP},
    other_names=((words_of("dairy"), MILK), (words_of("prawn"), SHRIMP)),
    labels={words_of("marzipan"): (ALMOND,)},
    items={
        "garlic": (words_of("wild garlic"),),
        "coconut-milk": (words_of("coconut milk"),),
        "oil": (words_of("olive oil, extra"),),
    },
)


@pytest.mark.parametrize(("said", "asked"), [
    ("milk", {MILK}), ("MILK", {MILK}), ("dairy", {MILK}), ("Prawns", {SHRIMP}), ("marzipan", {ALMOND}),
    ("almond milk", {ALMOND, MILK}), ("olive oils", {Asked("olive oils", items=frozenset({"oil"}))}),
    ("garlic", {Asked("garlic", items=frozenset({"garlic"}))}),
])  # fmt: skip
def test_a_word_asks_for_all_that_it_names(said: str, asked: set[Asked]) -> None:
    """An id, a name in any case or number, another name, a label's word, a phrase, an ingredient."""
    assert set(WORDS.read(said)) == asked


@pytest.mark.parametrize("said", ["millk", "garlick", "no", "?!", "kiwi"])
def test_what_means_nothing_here_is_said_to(said: str) -> None:
    """One unknown thing, in the guest's own spelling."""
    assert WORDS.read(said) == (Asked(said, is_known=False),)


def test_an_allergens_own_name_means_the_allergen() -> None:
    """'Milk' does not take coconut milk for milk."""
    assert not any(asked.items for asked in WORDS.read("milk"))


def test_words_stand_together_in_one_entry_of_a_list() -> None:
    """Oil of olives is not in a list of olives and sunflower oil."""
    printed = listed("Olives (green), sunflower oil; salt")
    assert is_named(words_of("sunflower oil"), printed) and not is_named(words_of("olive oil"), printed)
    assert not is_named(words_of(""), printed)


def test_what_was_typed_is_taken_apart() -> None:
    """Commas, 'and' and signs part things; a word that holds 'and' stays whole."""
    assert split_words("garlic, brandy and rum; chard/kale ,") == ["garlic", "brandy", "rum", "chard", "kale"]
