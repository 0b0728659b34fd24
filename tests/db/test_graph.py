"""The recipe graph: exact sums, every path, loops named."""

from __future__ import annotations

from fractions import Fraction as F
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.db.graph import BY_PRODUCT, Line, LoopError, explode, low_levels, order, paths, users

# A plate takes 30 g of brown butter and 200 g of leeks; brown butter is 400 g made from 500 g of butter.
YIELDS = {"plate": F(1), "brown-butter": F(400)}
LINES = [
    Line("plate", 1, None, "brown-butter", F(30), is_removable=True),
    Line("plate", 2, "leeks", None, F(200), F(85, 100)),
    Line("brown-butter", 3, "butter", None, F(500)),
]


def test_one_plate_worked_by_hand() -> None:
    """30 g of 400 g made from 500 g is 37.5 g of butter."""
    assert explode(YIELDS, LINES)["plate"] == {"butter": F(75, 2), "leeks": F(200)}


def test_every_path_is_kept_with_what_can_be_left_off() -> None:
    """The path to butter goes through the brown butter, which can be left off; leeks cannot."""
    butter, leeks = paths(YIELDS, LINES)["plate"]
    assert (butter.steps, butter.component_ids, butter.removable) == (("brown-butter", "butter"), (1, 3), 1)
    assert (leeks.quantity, leeks.removable, leeks.edible_yield) == (F(200), None, F(85, 100))


def test_by_products_are_negative_lines() -> None:
    """A chop of 200 g from 250 g of loin that leaves 30 g of fat."""
    lines = [Line("chop", 1, "loin", None, F(250)), Line("chop", BY_PRODUCT, "fat", None, F(-30))]
    assert explode({"chop": F(1)}, lines)["chop"] == {"loin": F(250), "fat": F(-30)}


def test_a_loop_is_named() -> None:
    """The error says which recipes form the loop, the first again at the end."""
    lines = [Line("a", 1, None, "b", F(1)), Line("b", 2, None, "c", F(1)), Line("c", 3, None, "a", F(1))]
    with pytest.raises(LoopError) as caught:
        order("abc", lines)
    loop = caught.value.loop
    assert loop[0] == loop[-1] and set(loop) == set("abc")
    assert all(any(x.recipe == a and x.sub_recipe == b for x in lines) for a, b in pairwise(loop))


def test_low_levels_count_the_deepest_use() -> None:
    """Butter used on the plate and in the brown butter stands at the deeper level."""
    lines = [*LINES, Line("plate", 4, "butter", None, F(5))]
    assert low_levels(YIELDS, lines) == {"plate": 0, "brown-butter": 1, "leeks": 1, "butter": 2}


def test_missing_worth_is_never_zero() -> None:
    """A value without a price for each item is an error, not a smaller sum."""
    amounts = explode(YIELDS, LINES)
    assert amounts.value("plate", {"butter": F(1), "leeks": F(2)}) == F(75, 2) + 400
    with pytest.raises(KeyError):
        amounts.value("plate", {"butter": F(1)})


def test_users_lead_upwards() -> None:
    """What uses butter is the brown butter; what uses that is the plate."""
    up = users(LINES)
    assert [x.recipe for x in up["butter"]] == ["brown-butter"]
    assert [x.recipe for x in up["brown-butter"]] == ["plate"]


@st.composite
def kitchens(draw: st.DrawFn) -> tuple[dict[str, F], list[Line]]:
    """Recipes r0..rn in which each may use items and earlier recipes."""
    count = draw(st.integers(1, 7))
    number = st.fractions(min_value=F(1, 50), max_value=50, max_denominator=60)
    yields = {f"r{i}": draw(number) for i in range(count)}
    lines: list[Line] = []
    for i in range(count):
        for _ in range(draw(st.integers(1, 4))):
            sub = draw(st.integers(0, i - 1)) if i and draw(st.booleans()) else None
            item = None if sub is not None else f"i{draw(st.integers(0, 4))}"
            lines.append(Line(f"r{i}", len(lines), item, None if sub is None else f"r{sub}", draw(number)))
    return yields, lines


@given(kitchens())
def test_paths_add_up_to_the_explosion(kitchen: tuple[dict[str, F], list[Line]]) -> None:
    """Summed over its paths each item has exactly the exploded quantity, for every recipe."""
    yields, lines = kitchen
    amounts = explode(yields, lines)
    for recipe, found in paths(yields, lines).items():
        summed: dict[str, F] = {}
        for path in found:
            summed[path.item] = summed.get(path.item, F(0)) + path.quantity
        assert summed == amounts[recipe]
