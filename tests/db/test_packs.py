"""A supplier's pack: count, size and unit, or refused; never guessed."""

from __future__ import annotations

from fractions import Fraction

import pytest
from stillroom.db.number import ReadError
from stillroom.db.packs import Pack, read_pack


def refused(text: str) -> ReadError:
    """The error that a pack meets."""
    with pytest.raises(ReadError) as caught:
        read_pack(text)
    return caught.value


PACKS = [
    ("6/#10", 6, "1", "#10 can"), ("6/#10 cans", 6, "1", "#10 can"), ("6x#10", 6, "1", "#10 can"),
    ("6/No. 10", 6, "1", "#10 can"), ("24/#2½", 24, "1", "#2½ can"), ("4/1 gal", 4, "1", "gal"),
    ("24/12 ct", 24, "12", "ct"), ("2/5#", 2, "5", "lb"), ("6/10#", 6, "10", "lb"), ("4/5 lb", 4, "5", "lb"),
    ("20/250 g", 20, "250", "g"), ("12/1 qt", 12, "1", "qt"), ("12 x 750 ml", 12, "750", "ml"),
    ("12×750ml", 12, "750", "ml"), ("4/1 1/2 lb", 4, "3/2", "lb"), ("6/1/2 gal", 6, "1/2", "gal"),
    ("6/½ gal", 6, "1/2", "gal"), ("10 kg", 1, "10", "kg"), ("88 ct", 1, "88", "ct"),
    ("½ gal", 1, "1/2", "gal"), ("1 case", 1, "1", "case"), ("cs", 1, "1", "cs"), ("1/50 lb", 1, "50", "lb"),
    ("1/2#", 1, "2", "lb"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "count", "size", "unit"), PACKS)
def test_a_pack_is_count_size_and_unit(text: str, count: int, size: str, unit: str) -> None:
    """Trade habit: '#' before a number is a can, behind it a pound."""
    assert read_pack(text) == Pack(Fraction(count), Fraction(size), unit)


@pytest.mark.parametrize("text", ["catch weight", "Catch-Weight", "CW", "random weight"])
def test_catch_weight_has_no_content(text: str) -> None:
    """It is billed by what it weighs."""
    assert read_pack(text).is_catch_weight


@pytest.mark.parametrize(
    "text", ["", "/", "4/", "a/b", "0/1 gal", "4/0 lb", "-4/1 lb", "4/6/5 lb", "6/#0", "12", "4/6 x 1 l"]
)
def test_what_is_no_pack_is_refused(text: str) -> None:
    """Nothing, no unit, three numbers, or a count of none."""
    assert refused(text).code in {"pack-bad", "number-bad"}


def test_half_a_gallon_or_one_of_two_gallons_is_asked() -> None:
    """'1/2 gal' is read both ways in the trade, four times apart."""
    error = refused("1/2 gal")
    assert (error.what, error.fix) == ('"1/2 gal" can be read two ways', "write ½ gal, or 1 x 2 gal")
