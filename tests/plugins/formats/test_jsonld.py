"""Recipes and menus held against the vocabulary itself, and against what must never be in them."""

from __future__ import annotations

import json
import re
from datetime import date
from decimal import Decimal
from html.parser import HTMLParser
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.plugins.formats.bring import recipes_of
from stillroom.plugins.formats.jsonld import Card, Dish, as_text, duration, menu, recipe

CARD = Card(
    "Brown butter", "The Staithe", "Sauces", "400 g", ("500 g butter, salted",), ("Cook.", "Strain."),
    ("Stove",), 1200, 600, date(2026, 11, 25),
)  # fmt: skip


def valid(thing: dict[str, Any]) -> Any:
    """The thing as the generated models of the schema.org vocabulary (schema_org-py) take it; unknown words raise."""
    import schema_org

    fields = {}
    for key, value in thing.items():
        if not key.startswith("@"):
            built = [valid(v) if isinstance(v, dict) else v for v in (value if isinstance(value, list) else [value])]
            fields[key] = _typed(key, built if isinstance(value, list) else built[0])
    return getattr(schema_org, thing["@type"])(**fields)


def _typed(key: str, value: Any) -> Any:
    """Dates and spans are texts in JSON; the models ask for what the texts say."""
    return date.fromisoformat(value) if key == "dateModified" else value


def test_a_recipe_is_of_the_vocabulary() -> None:
    """Every type and property is schema.org's, every value of a type that it allows there."""
    thing = recipe(CARD)
    assert thing["@context"] == "https://schema.org" and valid(thing).name == "Brown butter"
    assert [s["text"] for s in thing["recipeInstructions"]] == ["Cook.", "Strain."]
    assert (thing["prepTime"], thing["totalTime"]) == ("PT20M", "PT30M")


def test_a_word_that_is_not_in_the_vocabulary_fails() -> None:
    """The check can fail: a property of our own making is refused, and one of another type."""
    for wrong in ({"allergenFree": "milk"}, {"hasMenuItem": "x"}):
        (word,) = wrong
        with pytest.raises(ValueError, match=word):
            valid({**recipe(CARD), **wrong})
    with pytest.raises(ValueError, match=r"recipeIngredient|recipe_ingredient"):
        valid({**recipe(CARD), "recipeIngredient": [{"@type": "MenuItem", "name": "x"}]})


def test_a_menu_is_of_the_vocabulary() -> None:
    """Sections in order, prices without tax said so; without a price no offer at all."""
    day = date(2026, 11, 25)
    thing = menu("The Staithe", day, [Dish("Brill", "Fire", Decimal("34")), Dish("Leeks", "", None)], "GBP")
    valid(thing)
    items = [s["hasMenuItem"][0] for s in thing["hasMenuSection"]]
    assert items[0]["offers"]["priceSpecification"] == {
        "@type": "PriceSpecification", "price": "34", "priceCurrency": "GBP", "valueAddedTaxIncluded": False,
    }  # fmt: skip
    assert "offers" not in items[1] and thing["temporalCoverage"] == "2026-11-25"


def test_what_is_not_known_is_left_out() -> None:
    """No empty text, no list without members, no diet."""
    bare = recipe(Card("X", "K", "", "1 plate", (), (), (), None, None, None))
    assert set(bare) == {"@context", "@type", "name", "author", "recipeYield"}
    assert "suitableForDiet" not in json.dumps(recipe(CARD))


@given(st.text(max_size=60), st.text(max_size=60))
def test_nothing_in_a_recipe_can_end_the_element_that_it_stands_in(name: str, line: str) -> None:
    """Whatever a recipe is called, the text has no mark of a page in it, and reads back as it was."""
    text = as_text(recipe(Card(name or "x", "K", "", "1 l", (line,), (), (), None, None, None)))
    assert not re.search("[<>&\u2028\u2029]", text)
    assert json.loads(text).get("recipeIngredient", [""])[0] == line


@pytest.mark.parametrize("evil", ["</script><script>x()</script>", "<!--", "]]>", "\u2028", '"', "&lt;/script&gt;"])
def test_a_page_with_hostile_names_has_one_element_and_the_name_whole(evil: str) -> None:
    """Read back out of the page by our own reader."""
    text = as_text(recipe(Card(f"a{evil}b", "K", "", "1 l", ("1 kg leeks",), (), (), None, None, None)))
    page = f'<html><head><script type="application/ld+json">{text}</script></head></html>'
    tags: list[str] = []

    class Tags(HTMLParser):
        def handle_starttag(self, tag: str, attrs: Any) -> None:
            tags.append(tag)

    Tags().feed(page)
    assert tags == ["html", "head", "script"] and recipes_of(page)[0].lines == ("1 kg leeks",)


@given(st.integers(0, 10**6))
def test_durations_add_up(seconds: int) -> None:
    """ISO 8601 hours, minutes and seconds come to what went in."""
    found = re.fullmatch(r"PT(?:(\d+)H)?(?:(\d+)M)?(?:(\d+)S)?", duration(seconds))
    assert found and sum(int(n or 0) * unit for n, unit in zip(found.groups(), (3600, 60, 1), strict=True)) == seconds


async def test_every_recipe_of_the_demonstration_and_three_menus_are_of_the_vocabulary(house: Any) -> None:
    """Through the front door, with the right content type."""
    names = [r["id"] for r in (await house.client.get("/recipes.json")).json()["recipes"]]
    assert len(names) > 100
    for name in names:
        answer = await house.client.get(f"/recipe/{name}.jsonld")
        assert answer.headers["content-type"].startswith("application/ld+json"), name
        assert valid(answer.json()).name
    for day in ("2026-07-01", "2026-11-25", "2027-02-01"):
        found = (await house.client.get(f"/menu-on/{day}.jsonld")).json()
        valid(found)
        assert sum(len(s["hasMenuItem"]) for s in found["hasMenuSection"]) > 10


async def test_the_page_of_a_recipe_holds_it(house: Any) -> None:
    """In the head, as data and as a link; the policy of the page is as strict as ever."""
    page = await house.client.get("/recipe/brown-butter")
    head = page.text.split("</head>")[0]
    assert '<link rel="alternate" type="application/ld+json" href="/recipe/brown-butter.jsonld">' in head
    assert recipes_of(page.text)[0].name == "Brown butter"
    assert "unsafe-inline" not in page.headers["content-security-policy"]


async def test_a_server_gets_a_menu_without_prices(staffed: Any) -> None:
    """The office gets them."""
    for role, has in (("server", False), ("cook", False), ("chef", True)):
        answer = await staffed.house.client.get("/menu-on/2026-11-25.jsonld", cookies=staffed.cookies[role])
        assert answer.status_code == 200 and ("price" in answer.text) is has, role
    for path in ("/recipe/nothing.jsonld", "/menu-on/2026-02-30.jsonld"):
        assert (await staffed.house.client.get(path, cookies=staffed.cookies["chef"])).status_code == 404
