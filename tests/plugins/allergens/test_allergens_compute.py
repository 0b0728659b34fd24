"""Verdicts: strongest presence, exact smallest change, cross-contact, unknown stays unknown."""

from __future__ import annotations

from itertools import chain, combinations

from hypothesis import given
from hypothesis import strategies as st
from stillroom.db.allergen_facts import Presence, Product, item_presence
from stillroom.plugins.allergens.compute import Asked, Dish, Facts, Way, judge, smallest_cover

MILK = Asked("milk", frozenset({"milk"}))
READ = Presence(True)
BUTTER = Presence(True, frozenset({"milk"}))

# Brill with brown butter (line 1, can be left off; holds butter by line 9) and leeks (line 2, stays).
BRILL = Dish("brill", "Brill", "", (
    Way("butter", ("Brown butter", "butter"), (1, 9), ("brown-butter",)), Way("leeks", ("leeks",), (2,), ()),
))  # fmt: skip


def facts(**more: object) -> Facts:
    """The kitchen of this file: butter contains milk, leeks were read."""
    base: dict[str, object] = {
        "dishes": (BRILL,), "presence": {"butter": BUTTER, "leeks": READ, "oil": READ},
        "recipe_items": {"brill": frozenset({"butter", "leeks"}), "brown-butter": frozenset({"butter"})},
        "recipe_names": {"brill": "Brill", "brown-butter": "Brown butter", "fritters": "Fritters"},
        "removable": frozenset({1}), "line_names": {1: "Brown butter", 2: "leeks"},
    }  # fmt: skip
    return Facts(**{**base, **more})  # type: ignore[arg-type]


def verdict(kitchen: Facts) -> object:
    """Milk asked of the brill."""
    return judge(BRILL, [MILK], kitchen, frozenset({"brill", "brown-butter", "fritters"}))


def test_what_can_be_left_off_is_left_off_with_its_path() -> None:
    """Milk comes by the brown butter only, and the note says what stands in for it."""
    found = verdict(facts(replacements={1: (("rapeseed oil", frozenset({"oil"})),)}))
    assert (found.verdict, found.leave_off) == ("leave off", ("Brown butter",))
    assert found.note == "Leave off: Brown butter; use rapeseed oil in its place."
    assert found.reasons[0].path == ("Brown butter", "butter")


def test_a_substitute_nobody_has_read_is_not_offered() -> None:
    """Unknown is not clean."""
    found = verdict(facts(replacements={1: (("rapeseed oil", frozenset({"unread oil"})),)}))
    assert found.note == "Leave off: Brown butter."


def test_what_cannot_be_left_off_is_contained() -> None:
    """Without a removable line the answer is contains."""
    assert verdict(facts(removable=frozenset())).verdict == "contains"


def test_a_label_nobody_has_read_is_never_not_declared() -> None:
    """Leeks without a review make the dish not reviewed, whatever else is left off."""
    found = verdict(facts(presence={"butter": BUTTER, "leeks": Presence(False)}))
    assert found.verdict == "contains" and {r.presence for r in found.reasons} == {"contains", "not reviewed"}
    found = verdict(facts(presence={"butter": READ, "leeks": Presence(False)}))
    assert found.verdict == "not reviewed"


def test_a_shared_surface_is_a_reason_of_its_own() -> None:
    """The brill passes over the fryer that fritters with milk pass over: may contain, and the path says so."""
    kitchen = facts(
        presence={"butter": READ, "leeks": READ, "cheese": BUTTER}, surfaces={"Fryer A": frozenset({"brill", "fritters"})},
        recipe_items={"fritters": frozenset({"cheese"})},
    )  # fmt: skip
    found = verdict(kitchen)
    assert found.verdict == "may contain"
    assert found.reasons[0].path == ("shares Fryer A with Fritters",) and found.reasons[0].surface == "Fryer A"


def test_only_what_is_cooked_today_leaves_something_behind() -> None:
    """Fritters off the menu do not touch the fryer."""
    kitchen = facts(
        presence={"butter": READ, "leeks": READ, "cheese": BUTTER}, surfaces={"Fryer A": frozenset({"brill", "fritters"})},
        recipe_items={"fritters": frozenset({"cheese"})},
    )  # fmt: skip
    assert judge(BRILL, [MILK], kitchen, frozenset({"brill"})).verdict == "not declared"


def test_an_ingredient_may_be_asked_for() -> None:
    """Garlic is no allergen of any list, and is found by the item's tags."""
    kitchen = facts(tags={"leeks": frozenset({"leeks", "garlic"})})
    found = judge(BRILL, [Asked("garlic", ingredient="garlic")], kitchen, frozenset())
    assert found.verdict == "contains" and found.reasons[0].path == ("leeks",)


@given(st.lists(st.frozensets(st.integers(0, 6), max_size=4), max_size=6))
def test_the_smallest_change_is_exact(needs: list[frozenset[int]]) -> None:
    """No set smaller than the one found meets every need; checked against all subsets."""
    everything = range(7)
    subsets = chain.from_iterable(combinations(everything, n) for n in range(8))
    least = next((len(s) for s in subsets if all(set(s) & n for n in needs)), None)
    found = smallest_cover(needs)
    assert (None if found is None else len(found)) == least
    assert found is None or all(set(found) & n for n in needs)


def test_an_item_is_as_strong_as_its_strongest_active_product() -> None:
    """Two mayonnaises: one contains mustard, nobody has read the other."""
    products = [Product("a", "mayo", "A", "2026-09-02"), Product("b", "mayo", "B", None)]
    found = item_presence(["mayo", "fat", "dust"], products, [("a", "mustard", "contains")], {"fat": frozenset({"mayo"})})
    assert found["mayo"].of({"mustard"}) == "contains" and found["mayo"].of({"egg"}) == "not reviewed"
    assert found["fat"].of({"mustard"}) == "contains", "a by-product declares what its primal does"
    assert found["dust"].of({"egg"}) == "not reviewed", "an item without product or primal is unknown"
