"""Names that may be meant: every word of what was typed, then what is spelt alike, then a word that is shared."""

from __future__ import annotations

import pytest
from stillroom.db.names import near_hint, near_names

KITCHEN = [
    "butter, salted", "butter, unsalted", "brown butter", "buttermilk", "white butter sauce", "ale batter", "leeks",
    "leek vinaigrette", "creme fraiche", "double cream", "oyster cream", "celeriac puree",
]  # fmt: skip


@pytest.mark.parametrize(
    ("typed", "near"),
    [
        ("butter", ["butter, salted", "butter, unsalted", "brown butter"]),
        ("salted butter", ["butter, salted"]),
        ("Crème", ["creme fraiche"]),
        ("Buttermlik", ["buttermilk"]),
        ("leek", ["leeks", "leek vinaigrette"]),
        ("baby leeks", ["leeks", "leek vinaigrette"]),
        ("whipping creams", ["double cream", "oyster cream"]),
        ("leek cremes", ["leeks", "leek vinaigrette", "creme fraiche"]),
        ("lobster", []),
        ("", []),
        ("?", []),
    ],
)  # fmt: skip
def test_what_may_be_meant(typed: str, near: list[str]) -> None:
    assert near_names(typed, KITCHEN) == near


def test_the_hint_in_words() -> None:
    assert near_hint([]) == "" and near_hint(["leeks"]) == 'Nearest: "leeks".'
    assert near_hint(["butter, salted", "brown butter"]) == 'It may be "butter, salted" or "brown butter".'
