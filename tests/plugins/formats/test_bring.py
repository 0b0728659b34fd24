"""Recipes out of saved pages: whatever shape they have, and whatever somebody has put into them."""

from __future__ import annotations

import json
import re
import time
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.db.recipe_lines import Names, Thing
from stillroom.plugins.formats.bounds import Refused
from stillroom.plugins.formats.bring import made_of, plain, recipes_of
from stillroom.plugins.formats.settle import perhaps

RECIPE = {
    "@context": "https://schema.org", "@type": "Recipe", "name": "Leek pie", "recipeYield": "4 servings",
    "recipeIngredient": ["1 kg leeks", "2 tbsp butter, salted"], "recipeInstructions": "Boil.\nBake.",
}  # fmt: skip


def page(*blocks: Any, kind: str = "application/ld+json") -> str:
    """A saved page."""
    scripts = "".join(f'<script type="{kind}">{b if isinstance(b, str) else json.dumps(b)}</script>' for b in blocks)
    return f"<!doctype html><html><head><title>x</title>{scripts}</head><body><p>pie</p></body></html>"


SHAPES = {
    "plain file": json.dumps(RECIPE),
    "with a mark before it": "\ufeff" + json.dumps(RECIPE),
    "page": page(RECIPE),
    "upper case and charset": page(RECIPE, kind="Application/LD+JSON; charset=utf-8"),
    "list": page([{"@type": "WebSite"}, RECIPE]),
    "graph": page({"@context": "https://schema.org", "@graph": [{"@type": "Person"}, RECIPE]}),
    "several types": page({**RECIPE, "@type": ["Recipe", "NewsArticle"]}),
    "full address of the type": page({**RECIPE, "@type": "http://schema.org/Recipe"}),
    "within another": page({"@type": "WebPage", "mainEntity": RECIPE}),
    "second block": page({"@type": "Organization"}, RECIPE),
    "first block broken": page("{not json", RECIPE),
    "line breaks within texts": page('{"@type": "Recipe", "name": "Leek\npie", "recipeYield": 4, "recipeIngredient":'
                                     ' "1 kg leeks\\n2 tbsp butter, salted", "recipeInstructions": "Boil.\\nBake."}'),
}  # fmt: skip


@pytest.mark.parametrize("shape", SHAPES)
def test_every_shape_comes_to_the_same_recipe(shape: str) -> None:
    """Name, yield, lines and steps."""
    (found,) = recipes_of(SHAPES[shape])
    assert (found.name, found.made) == ("Leek pie", "4 plates")
    assert found.lines == ("1 kg leeks", "2 tbsp butter, salted") and found.steps == ("Boil.", "Bake.")


def test_sections_and_steps_are_read_in_their_order() -> None:
    """HowToSection, HowToStep, ItemList, texts, one within another."""
    steps = [
        {"@type": "HowToSection", "name": "Pastry", "itemListElement": [
            {"@type": "HowToStep", "text": "Rub."}, {"@type": "HowToStep", "name": "Rest."}]},
        {"@type": "HowToSection", "name": "Filling", "itemListElement": {"@type": "ItemList", "itemListElement": [
            "Sweat.", {"@type": "HowToStep", "text": "<p>Bake.</p>"}]}},
        "Serve.<br>Hot.",
    ]  # fmt: skip
    (found,) = recipes_of(json.dumps({**RECIPE, "recipeInstructions": steps}))
    assert found.steps == ("Pastry:", "Rub.", "Rest.", "Filling:", "Sweat.", "Bake.", "Serve.", "Hot.")


def test_a_page_of_two_recipes_gives_both() -> None:
    """In their order."""
    found = recipes_of(page({"@graph": [RECIPE, {**RECIPE, "name": "Chard pie"}]}))
    assert [f.name for f in found] == ["Leek pie", "Chard pie"]


@pytest.mark.parametrize(
    ("text", "made"),
    [("4", "4 plates"), ("Serves 4", "4 plates"), ("4 servings", "4 plates"), ("Makes 4 portions.", "4 plates"),
     ("1 loaf", "1 loaf"), ("2 qt", "2 qt"), ("12 cookies", "12 cookies"), ("4 to 6 servings", "4 to 6 servings"),
     ("", "")],
)  # fmt: skip
def test_yields_are_read_where_they_are_plain(text: str, made: str) -> None:
    """A range, or a thing that is no plate, stands as it was written, for a person to settle."""
    assert made_of(text) == made


HOSTILE = {
    "no recipe": ("<html><body>Pie</body></html>", "no recipe in it"),
    "other data": (page({"@type": "WebSite"}), "no recipe among it"),
    "a script of another kind": (page(RECIPE, kind="text/javascript"), "no recipe in it"),
    "broken off": (json.dumps(RECIPE)[:-20], "broken off"),
    "deep": ("[" * 100_000 + "]" * 100_000, "nested 100000 deep"),
    "deep within a page": (page('{"a":' * 5000 + "1" + "}" * 5000), "nested 5000 deep"),
    "marks within texts": (json.dumps({"@type": "x", "name": "[[[{{{" * 100 + '\\"'}), "no recipe among it"),
    "deep and never closed": ("{" * 200, "nested 200 deep"),
    "large": (json.dumps({**RECIPE, "x": "y" * 4_000_001}), "larger than a page"),
    "many nodes": (json.dumps([{"@type": "x"}] * 200_001), "more data than"),
    "a number without end": ('{"@type": "Recipe", "name": ' + "9" * 5000 + "}", "broken off"),
    "empty list": ("[]", "no recipe among it"),
}


@pytest.mark.parametrize("kind", HOSTILE)
def test_what_is_not_to_be_read_is_refused_in_words(kind: str) -> None:
    """In less than the time that anybody would notice."""
    text, words = HOSTILE[kind]
    begun = time.process_time()
    with pytest.raises(Refused, match=words):
        recipes_of(text)
    assert time.process_time() - begun < 5


def test_all_that_comes_out_is_plain_text() -> None:
    """Tags, scripts, entities, marks that can't be seen: none of it is left; neither objects nor truth values."""
    evil = {
        "@type": "Recipe", "name": "<img src=x onerror=alert(1)>Pie &lt;script&gt;alert(1)&lt;/script&gt;\u202e\x00",
        "recipeYield": [True, {"x": 1}, "2 plates"], "recipeCategory": {"name": "Pies"}, "url": ["javascript:alert(1)"],
        "recipeIngredient": ["1 kg <b>leeks</b>", None, 5, {"name": "2 ea lemons"}, ["x"], {"@value": 1}, ""],
        "recipeInstructions": [None, 7, {"text": {"deep": 1}}, {"itemListElement": [{"text": "Cook &amp; serve"}]}],
    }  # fmt: skip
    (found,) = recipes_of(json.dumps(evil))
    assert "<" not in found.name and "\u202e" not in found.name and found.made == "2 plates"
    assert found.lines == ("1 kg leeks", "5", "2 ea lemons") and found.steps == ("Cook & serve",)
    assert found.section == "Pies"


def test_more_lines_than_any_recipe_has_are_cut_and_told() -> None:
    """Nothing vanishes in silence."""
    (found,) = recipes_of(json.dumps({**RECIPE, "recipeIngredient": [f"{n} g leeks" for n in range(1, 2001)]}))
    assert len(found.lines) == 500 and found.cut == ("2,000 lines, of which the first 500 were read",)


THINGS = [
    Thing("egg", "egg", False, "each"), Thing("butter", "butter, salted", False, "g"),
    Thing("leeks", "leeks", False, "g"), Thing("cream", "double cream", False, "ml"),
    Thing("sour", "sour cream", False, "ml"), Thing("flour", "plain flour", False, "g", {"ml": Fraction(1, 2)}),
]  # fmt: skip


@pytest.mark.parametrize(
    ("line", "meant"),
    [("2 large eggs", "2 ea egg, large"), ("500 g (1 lb) baby leeks, sliced", "500 g leeks, baby, sliced"),
     ("2 cups [250 g] plain flour", "2 cups plain flour"), ("100 g unsalted butter", ""), ("100 ml cream", ""),
     ("1-2 eggs", ""), ("a handful of leeks", ""), ("200 ml fresh double cream", "200 ml double cream, fresh"),
     ("3 eggplants", ""), ("100 g salted butter, soft", "100 g butter, salted, soft")],
)  # fmt: skip
def test_what_a_line_may_have_meant_is_offered_only_where_one_thing_can_be(line: str, meant: str) -> None:
    """Unsalted butter is never salted, an eggplant no egg, cream neither of two; what is offered can be read."""
    names = Names(THINGS, "metric")
    assert perhaps(line, names) == meant
    if meant:
        assert names.read(meant).quantity > 0


def test_a_million_empty_steps_take_no_time() -> None:
    """A list of nothing, and a list of texts, each as long as a file may be."""
    begun = time.process_time()
    for steps in (["a"] * 190_000, [None] * 600_000, [["x"]] * 190_000):
        (found,) = recipes_of(json.dumps({"@type": "Recipe", "name": "x", "recipeInstructions": steps}))
        assert len(found.steps) <= 500
    assert time.process_time() - begun < 20


ANY = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(
        st.sampled_from(["@type", "@graph", "name", "recipeIngredient", "itemListElement", "text"]), inner, max_size=4),
    max_leaves=20,
)  # fmt: skip


@given(ANY, ANY, ANY)
def test_no_data_makes_it_fail(name: Any, lines: Any, steps: Any) -> None:
    """Whatever stands where: texts come out, or words of refusal."""
    data = {"@type": "Recipe", "name": name, "recipeIngredient": lines, "recipeInstructions": steps}
    for found in recipes_of(json.dumps([data])):
        said = (found.name, found.made, *found.lines, *found.steps)
        assert all(isinstance(t, str) and t.isprintable() and not re.search(r"<\w+>", t) for t in said)


@given(st.text(max_size=200))
def test_no_text_makes_it_fail(text: str) -> None:
    """Any text is a recipe or is refused."""
    try:
        recipes_of(text)
    except Refused as error:
        assert str(error)
    assert plain(text).isprintable()
