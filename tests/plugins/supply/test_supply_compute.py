"""On hand, plates left and what a substitute changes, by hand."""

from __future__ import annotations

from fractions import Fraction as F

from hypothesis import given
from hypothesis import strategies as st
from stillroom.db.allergen_facts import Presence
from stillroom.db.units import substitute_quantity
from stillroom.plugins.supply.compute import (
    Part,
    Plates,
    Supply,
    Way,
    allergen_change,
    held,
    needed,
    plates_left,
    remaining,
    supply,
)

MILK = Presence(True, frozenset({"milk"}))
CLEAN, UNREAD = Presence(True), Presence(False)


def brown_butter(loose: F | None, ready: F | None) -> Supply:
    """A dish takes 10 g of butter on the plate and 5 g of brown butter, of which 1 g takes 5/4 g of butter."""
    parts = [Part("dish", "butter", F(10)), Part("dish", "brown", F(5)), Part("brown", "butter", F(5, 4))]
    return supply("butter", parts, loose, {"brown": ready})


def test_a_batch_serves_only_the_lines_that_use_it() -> None:
    """1 kg of brown butter and no butter: nothing to put on the plate, so no plate."""
    assert plates_left("dish", brown_butter(F(0), F(1000))) == Plates(0)


def test_plates_take_from_batches_first_and_make_the_rest() -> None:
    """100 g of brown butter serve 20 plates, those after take 10 + 5 x 5/4 g: 20 + (362.5 - 200) / 16.25 = 30."""
    assert plates_left("dish", brown_butter(F("362.5"), F(100))) == Plates(30)
    assert plates_left("dish", brown_butter(F("362.4"), F(100))) == Plates(29)


def test_unknown_stock_is_not_zero_plates() -> None:
    """Butter never counted: not known; where the batches alone make plates: at least those."""
    assert plates_left("dish", brown_butter(None, F(100))) == Plates(None)
    only = supply("butter", [Part("dish", "brown", F(5)), Part("brown", "butter", F(5, 4))], None, {"brown": F(100)})
    assert plates_left("dish", only) == Plates(20, True)
    assert plates_left("other", only) == Plates(None)


def test_a_sub_recipe_on_two_paths_is_netted_once() -> None:
    """Sauce (holding 1 stock) and 1 stock beside it: 4 of stock on hand and 2 loose bones at 1 a stock are 3 plates."""
    parts = [
        Part("dish", "sauce", F(1)),
        Part("dish", "stock", F(1)),
        Part("sauce", "stock", F(1)),
        Part("stock", "bones", F(1)),
    ]
    of = supply("bones", parts, F(2), {"sauce": None, "stock": F(4)})
    assert needed("dish", F(3), of)["bones"] == 2 and plates_left("dish", of) == Plates(3)
    assert held(of) == {"stock": 4}


QUANTITY = st.fractions(min_value=0, max_value=50, max_denominator=8)


@given(QUANTITY, QUANTITY, st.tuples(*[st.fractions(min_value="1/8", max_value=4, max_denominator=8)] * 3))
def test_plates_left_is_the_last_number_that_can_be_made(loose: F, ready: F, each: tuple[F, F, F]) -> None:
    """So many plates need no more than is there, and one more needs more."""
    parts = [Part("dish", "item", each[0]), Part("dish", "sub", each[1]), Part("sub", "item", each[2])]
    of = supply("item", parts, loose, {"sub": ready})
    plates = plates_left("dish", of).number
    assert plates is not None
    assert needed("dish", F(plates), of).get("item", F(0)) <= loose < needed("dish", F(plates + 1), of)["item"]


def test_what_stays_by_another_path_is_not_lost() -> None:
    """Brown butter leaves, but butter is on the plate too: milk stays."""
    ways = [Way("butter", ("brown",)), Way("butter"), Way("brill")]
    kept = remaining("dish", ways, "brown")
    assert kept == {"butter", "brill"}
    presence = {"butter": MILK, "brill": CLEAN, "oil": CLEAN}
    change = allergen_change(frozenset({"butter", "brill"}), kept | {"oil"}, presence)
    assert (change.gained, change.lost, change.weaker, change.unknown) == ((), (), (), ())


def test_a_swap_in_one_recipe_leaves_the_others() -> None:
    """Cream replaced in the sauce only stays in the mash; a dish without the sauce isn't touched."""
    ways = [Way("cream", ("sauce",)), Way("cream", ("mash",))]
    assert remaining("dish", ways, "cream", "sauce") == {"cream"}
    assert remaining("dish", ways, "cream", "dish") == frozenset()
    assert remaining("dish", [Way("cream", ("mash",))], "cream", "sauce") is None


def test_a_substitute_gains_and_loses() -> None:
    """Butter for walnut oil: gains walnut, loses milk."""
    presence = {"butter": MILK, "walnut oil": Presence(True, frozenset({"walnut"}))}
    change = allergen_change(frozenset({"butter"}), frozenset({"walnut oil"}), presence)
    assert (change.gained, change.lost) == ((("walnut", "contains"),), (("milk", "contains"),))


def test_an_unread_label_loses_nothing() -> None:
    """Butter for an oil that nobody has read: milk is not known, and the oil is named."""
    change = allergen_change(frozenset({"butter"}), frozenset({"oil"}), {"butter": MILK, "oil": UNREAD})
    assert (change.lost, change.unknown, change.unread) == ((), ("milk",), ("oil",))


def test_contains_that_becomes_may_contain_is_not_lost() -> None:
    """Butter for a margarine that may contain milk: weaker, not gone; the other way round it is gained."""
    presence = {"butter": MILK, "margarine": Presence(True, may=frozenset({"milk"}))}
    change = allergen_change(frozenset({"butter"}), frozenset({"margarine"}), presence)
    assert (change.weaker, change.lost) == (("milk",), ())
    back = allergen_change(frozenset({"margarine"}), frozenset({"butter"}), presence)
    assert back.gained == (("milk", "contains"),)


def test_a_narrow_allergen_is_not_lost_while_its_family_is_declared() -> None:
    """Walnut leaves, but a label that stays says only 'tree nut', which may be walnut."""
    presence = {"crumb": Presence(True, frozenset({"walnut"})), "mix": Presence(True, frozenset({"tree_nut"}))}
    families = {"walnut": frozenset({"tree_nut"}), "tree_nut": frozenset({"walnut"})}
    change = allergen_change(frozenset({"crumb", "mix"}), frozenset({"mix"}), presence, families)
    assert (change.lost, change.unknown) == ((), ("walnut",))


def test_a_ratio_converts_only_through_the_substitutes_own_measure() -> None:
    """0.9 ml for 1 g is said; 1 g for 1 g of a thing kept in ml needs what 1 g of it is; without that, None."""
    assert substitute_quantity(F("0.9"), "g", "ml", "ml", {}) == F("0.9")
    assert substitute_quantity(F(1), "g", "ml", "", {"g": F(100, 92)}) == F(100, 92)
    assert substitute_quantity(F(1), "g", "ml", "", {}) is None
    assert substitute_quantity(F(2), "each", "each", "", {}) == 2
