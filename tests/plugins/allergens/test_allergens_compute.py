"""Verdicts: strongest presence, exact smallest change, cross-contact, unknown stays unknown."""

from __future__ import annotations

from itertools import chain, combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from stillroom.db.allergen_cover import smallest_cover
from stillroom.db.allergen_facts import STRENGTH, Presence
from stillroom.db.allergen_judging import Asked, Dish, Facts, Replacement, Verdict, Way, cooked_today, judge

MILK = Asked("milk", frozenset({"milk"}))
READ = Presence(True)
BUTTER = Presence(True, frozenset({"milk"}))
NOTHING: frozenset[str] = frozenset()

# Brill with brown butter (line 1, can be left off; holds butter by line 9) and leeks (line 2, stays).
BRILL = Dish("brill", "Brill", "", (
    Way("butter", ("Brown butter", "butter"), (1, 9), ("brown-butter",)), Way("leeks", ("leeks",), (2,), ()),
))  # fmt: skip
FRYER = {"Fryer A": frozenset({"brill", "fritters"})}


def facts(**more: object) -> Facts:
    """The kitchen of this file: butter contains milk, leeks were read, fritters hold cheese."""
    base: dict[str, object] = {
        "dishes": (BRILL,), "presence": {"butter": BUTTER, "leeks": READ, "oil": READ, "cheese": BUTTER},
        "recipe_items": {"brill": frozenset({"butter", "leeks"}), "brown-butter": frozenset({"butter"}),
                         "fritters": frozenset({"cheese"})},
        "recipe_names": {"brill": "Brill", "brown-butter": "Brown butter", "fritters": "Fritters"},
        "removable": frozenset({1}), "line_names": {1: "Brown butter", 2: "leeks"},
    }  # fmt: skip
    return Facts(**{**base, **more})  # type: ignore[arg-type]


def verdict(kitchen: Facts, asked: Asked = MILK) -> Verdict:
    """One thing asked of the brill, all dishes of the kitchen on the menu."""
    return judge(BRILL, [asked], kitchen, frozenset({"brill", "brown-butter", "fritters", "chips"}))


def oil(name: str = "oil", recipe: str = "") -> dict[int, tuple[Replacement, ...]]:
    """Rapeseed oil may stand in for line 1."""
    return {1: (Replacement("rapeseed oil", frozenset({name}), frozenset({recipe} if recipe else ())),)}


def test_what_can_be_left_off_is_left_off_with_its_path() -> None:
    """Milk comes by the brown butter only, and the note says what stands in for it."""
    found = verdict(facts(replacements=oil()))
    assert (found.verdict, found.leave_off) == ("leave off", ("Brown butter",))
    assert found.note == "Leave off: Brown butter; use rapeseed oil in its place."
    assert found.reasons[0].path == ("Brown butter", "butter")


def test_what_stays_may_be_replaced() -> None:
    """A line that stays on the plate is cleared by a listed substitute, and only by one."""
    found = verdict(facts(removable=frozenset(), replacements=oil()))
    assert found.verdict == "leave off" and found.note == "In place of Brown butter use rapeseed oil."
    assert verdict(facts(removable=frozenset())).verdict == "contains"


@pytest.mark.parametrize(("item", "recipe"), [("unread oil", ""), ("butter", ""), ("oil", "fried-oil")])
def test_a_substitute_must_be_read_clean_and_cooked_apart(item: str, recipe: str) -> None:
    """Not one nobody has read, nor one that declares milk, nor one cooked on a surface that carries milk."""
    fryer = {"Fryer A": frozenset({"fritters", "fried-oil"})}
    found = verdict(facts(replacements=oil(item, recipe), surfaces=fryer))
    assert found.note == "Leave off: Brown butter."


def test_a_label_nobody_has_read_is_never_not_declared() -> None:
    """Leeks without a review make the dish not reviewed, whatever else is left off."""
    found = verdict(facts(presence={"butter": BUTTER, "leeks": Presence(False)}))
    assert found.verdict == "contains" and {r.presence for r in found.reasons} == {"contains", "not reviewed"}
    assert verdict(facts(presence={"butter": READ, "leeks": Presence(False)})).verdict == "not reviewed"
    assert verdict(facts(presence={"butter": READ})).verdict == "not reviewed", "an item the facts do not know"


def test_a_dish_with_nothing_written_down_is_not_reviewed() -> None:
    """No path is no answer."""
    assert judge(Dish("x", "X", "", ()), [MILK], facts(), NOTHING).verdict == "not reviewed"


def test_a_word_unknown_here_clears_no_dish() -> None:
    """A misspelt allergen must not read as not declared."""
    found = judge(BRILL, [Asked("millk", is_known=False)], facts(presence={"butter": READ, "leeks": READ}), NOTHING)
    assert found.verdict == "not reviewed" and found.reasons[0].path == ()


def test_a_shared_surface_is_a_reason_of_its_own() -> None:
    """The brill passes over the fryer that fritters with milk pass over: may contain, and the path says so."""
    found = verdict(facts(presence={"butter": READ, "leeks": READ, "cheese": BUTTER}, surfaces=FRYER))
    assert found.verdict == "may contain"
    assert found.reasons[0].path == ("shares Fryer A with Fritters",) and found.reasons[0].surface == "Fryer A"


def test_leaving_off_what_touched_the_surface_clears_it() -> None:
    """Only the brown butter passes over the fryer, and it can be left off."""
    fryer = {"Fryer A": frozenset({"brown-butter", "fritters"})}
    found = verdict(facts(presence={"butter": READ, "leeks": READ, "cheese": BUTTER}, surfaces=fryer))
    assert (found.verdict, found.leave_off) == ("leave off", ("Brown butter",))


def test_other_plates_of_the_same_dish_touch_the_surface_too() -> None:
    """Butter left off this plate still comes over the pan from the next one."""
    found = verdict(facts(surfaces={"Pan": frozenset({"brill"})}))
    assert found.verdict == "contains", "the label's reason can be left off, the pan's cannot"
    assert ("shares Pan with other plates of this dish",) in {r.path for r in found.reasons}
    assert verdict(facts(surfaces={"Pan": frozenset({"brown-butter"})})).verdict == "leave off"


def test_an_unread_label_on_a_surface_is_not_hidden_by_a_label_that_says_may_contain() -> None:
    """Chips (may contain milk) and an unread fritter share the fryer: not reviewed."""
    kitchen = facts(
        presence={"butter": READ, "leeks": READ, "chips": Presence(True, NOTHING, frozenset({"milk"}))},
        recipe_items={"brill": frozenset({"leeks"}), "chips": frozenset({"chips"}),
                      "fritters": frozenset({"dust", "chips"})},
        surfaces={"Fryer A": frozenset({"brill", "fritters", "chips"})},
    )  # fmt: skip
    found = verdict(kitchen)
    assert found.verdict == "not reviewed" and found.reasons[0].path == ("shares Fryer A with Fritters",)


def test_only_what_is_cooked_today_leaves_something_behind() -> None:
    """Fritters off the menu do not touch the fryer."""
    kitchen = facts(presence={"butter": READ, "leeks": READ, "cheese": BUTTER}, surfaces=FRYER)
    assert judge(BRILL, [MILK], kitchen, frozenset({"brill"})).verdict == "not declared"


def test_an_ingredient_may_be_asked_for() -> None:
    """Garlic is no allergen of any list; an item whose label nobody has read may hold it."""
    garlic = Asked("garlic", items=frozenset({"leeks"}))
    found = verdict(facts(), garlic)
    assert found.verdict == "contains" and found.reasons[0].path == ("leeks",)
    elsewhere = Asked("garlic", items=frozenset({"oil"}))
    assert verdict(facts(), elsewhere).verdict == "not declared"
    assert verdict(facts(presence={"butter": READ}), elsewhere).verdict == "not reviewed"


@given(st.lists(st.frozensets(st.integers(0, 6), max_size=4), max_size=6))
def test_the_smallest_change_is_exact(needs: list[frozenset[int]]) -> None:
    """No set smaller than the one found meets every need; checked against all subsets."""
    everything = range(7)
    subsets = chain.from_iterable(combinations(everything, n) for n in range(8))
    least = next((len(s) for s in subsets if all(set(s) & n for n in needs)), None)
    found = smallest_cover(needs)
    assert (None if found is None else len(found)) == least
    assert found is None or all(set(found) & n for n in needs)


def test_a_greedy_choice_would_leave_off_too_much() -> None:
    """Line 5 meets most needs but not the least set: 1 and 2 meet all, 5 with any other line does not."""
    needs = [frozenset(n) for n in ({1, 5}, {1, 5}, {1, 3}, {2, 5}, {2, 4}, {2, 5})]
    assert smallest_cover(needs) == (1, 2)


def test_many_needs_that_share_nothing_are_met_at_once() -> None:
    """Forty pairs of lines need forty lines; trying all sets by size would never end."""
    assert len(smallest_cover([frozenset({2 * n, 2 * n + 1}) for n in range(40)]) or ()) == 40


ITEMS = ("clean", "milk", "may", "unread")
PRESENCE = {
    "clean": READ,
    "milk": BUTTER,
    "may": Presence(True, NOTHING, frozenset({"milk"})),
    "unread": Presence(False),
}
RECIPES = ("r0", "r1", "r2")


@st.composite
def kitchens(draw: st.DrawFn) -> tuple[Dish, Facts, frozenset[str]]:
    """A dish of two levels over shared surfaces, beside another dish `z` on the menu."""
    lines = [
        draw(st.tuples(st.sampled_from(ITEMS), st.sampled_from((*RECIPES, "")))) for _ in range(draw(st.integers(1, 5)))
    ]
    ways = tuple(
        Way(item, (recipe, item), (RECIPES.index(recipe), 10 + n), (recipe,))
        if recipe
        else Way(item, (item,), (10 + n,), ())
        for n, (item, recipe) in enumerate(lines)
    )
    dish = Dish("d", "D", "", ways)
    inside = {"d": frozenset(w.item for w in ways), "z": frozenset({draw(st.sampled_from(ITEMS))})}
    inside |= {r: frozenset(w.item for w in ways if r in w.recipes) for r in RECIPES}
    surfaces = draw(
        st.dictionaries(st.sampled_from(("s", "t")), st.frozensets(st.sampled_from((*RECIPES, "d", "z")), max_size=3))
    )
    removable = frozenset(draw(st.lists(st.sampled_from([c for w in ways for c in w.components]))))
    names = {c: str(c) for w in ways for c in w.components}
    cooked = cooked_today([dish, Dish("z", "Z", "", ())])
    return dish, Facts((dish,), PRESENCE, inside, {}, removable, names, {}, surfaces), cooked


def plainly(dish: Dish, kitchen: Facts, cooked: frozenset[str], off: frozenset[int]) -> str:
    """The rule said plainly: the dish without the lines that are left off, on the surfaces as all plates leave them."""
    ways = [w for w in dish.ways if not off & set(w.components)]
    found = [PRESENCE[w.item].of({"milk"}) for w in ways]
    touching = {"d", *(r for w in dish.ways for r in w.recipes if RECIPES.index(r) not in off)}
    for users in kitchen.surfaces.values():
        inside = [PRESENCE[i].of({"milk"}) for r in users & cooked for i in kitchen.recipe_items[r]]
        if touching & users:
            found += [
                {"contains": "may contain", "not reviewed": "not reviewed"}.get(p, "not declared") for p in inside
            ]
    return min(found, key=STRENGTH.index, default="not declared")


@settings(max_examples=150)
@given(kitchens())
def test_verdicts_agree_with_the_rule_said_plainly(drawn: tuple[Dish, Facts, frozenset[str]]) -> None:
    """Over random kitchens: the same word, and no smaller set of lines than the one found clears the dish."""
    dish, kitchen, cooked = drawn
    found = judge(dish, [MILK], kitchen, cooked)
    lines = sorted(kitchen.removable)
    subsets = chain.from_iterable(combinations(lines, n) for n in range(len(lines) + 1))
    clearing = (s for s in subsets if plainly(dish, kitchen, cooked, frozenset(s)) == "not declared")
    least = next(clearing, None)
    if least is None:
        assert found.verdict == plainly(dish, kitchen, cooked, frozenset())
    else:
        assert found.verdict == ("leave off" if least else "not declared")
        assert len(found.leave_off) == len(least)
        assert plainly(dish, kitchen, cooked, frozenset(map(int, found.leave_off))) == "not declared"
