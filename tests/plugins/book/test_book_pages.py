"""The recipe book's pages: what they answer, to whom, and what they say to wrong input."""

from __future__ import annotations

from typing import Any

import pytest

SAUCE = "/recipe/oyster-cream"


async def data(house: Any, path: str) -> Any:
    response = await house.client.get(path)
    assert response.status_code == 200, response.text[:400]
    return response.json()


async def test_the_list_has_every_recipe_and_narrows(house: Any) -> None:
    every = (await data(house, "/recipes.json"))["recipes"]
    assert len(every) > 100 and {"dish", "sub-recipe", "cut"} == {one["kind"] for one in every}
    found = (await data(house, "/recipes.json?find=CRÈME+mustard"))["recipes"]
    assert not found
    found = (await data(house, "/recipes.json?find=butter&station=sauce"))["recipes"]
    assert {"brown-butter", "clarified-butter"} <= {one["id"] for one in found} and len(found) < 12
    page = (await house.client.get("/recipes?find=zzz")).text
    assert "No recipe of that name" in page


async def test_a_card_scales_and_its_quantities_stay_exact(house: Any) -> None:
    one, many = await data(house, f"{SAUCE}.json"), await data(house, f"{SAUCE}.json?to=3+l")
    assert (one["yield"], many["yield"], many["batches"]) == ("800", "3000", "3.75")
    stock = next(c for c in many["components"] if c["recipe"] == "fish-stock")
    assert (stock["quantity"], stock["said"], stock["rounding"]) == ("1125", "1.12 l", "rounded, 0.4 % under")
    assert stock["inside"]["yield"] == "1125" and stock["inside"]["components"]
    page = (await house.client.get(f"{SAUCE}?to=3+l")).text
    assert "For 3 l." in page and "4 make 3.2 l" in page and "confirm with the chef" in page


@pytest.mark.parametrize(
    ("target", "words"),
    [
        ("to=0", "Say the unit too"), ("to=0+l", "makes nothing"), ("to=-3+l", "makes nothing"),
        ("to=999999999+l", "Nobody makes so many"), ("to=3+kg", "measured in volume"),
        ("to=%3Cscript%3E", "not a number"), ("batches=1e9", "not a number"),
        ("plates=10&of=nobody", "Choose the dish"),
        ("have=3+kg&thing=x", "Choose the component"),
    ],
)  # fmt: skip
async def test_a_target_that_cannot_be_met_is_told_beside_its_field(house: Any, target: str, words: str) -> None:
    """The card stays, at one batch; what was typed stays in its field; nothing typed runs."""
    page = (await house.client.get(f"{SAUCE}?{target}")).text
    assert words in page and 'aria-invalid="true"' in page and 'role="alert"' in page and "<script>" not in page
    said = await data(house, f"{SAUCE}.json?{target}")
    assert words in said["problem"]["words"] and said["batches"] == "1"


async def test_a_dish_links_to_its_cards_and_a_card_to_its_users(house: Any) -> None:
    page = (await house.client.get("/dish/brill-on-the-bone-buttered-samphire")).text
    assert 'href="/recipe/brill-on-the-bone-buttered-samphire"' in page and 'href="/recipe/brown-butter"' in page
    card = (await house.client.get("/recipe/brown-butter")).text
    assert 'href="/recipe/hay-baked-celeriac"' in card and "Goes into" in card


async def test_every_recipe_of_the_demonstration_has_a_card_at_any_size(house: Any) -> None:
    """A hundred and more cards, at one and at seven thirds of a batch; each says its allergens with the caution."""
    for one in (await data(house, "/recipes.json"))["recipes"]:
        for size in ("", "?batches=7/3"):
            response = await house.client.get(f"/recipe/{one['id']}{size}")
            assert response.status_code == 200 and "shared kitchen, confirm with the chef" in response.text
            assert 'class="allergens"' in response.text


async def test_cooking_and_its_minimum_name_rule_and_edition(house: Any) -> None:
    page = (await house.client.get("/recipe/mutton-loin-chop")).text
    assert "Core minimum" in page and "Food Code" in page and "edition" in page and "confirm with a probe" in page
    assert "bath, at 57 °C, 2 h 30 min" in page
    # Food Code 2022, 3-401.11(A)(1)(b), as read in the sources of db/reference/cooking_minimums.csv: 145 °F for 15 s
    (minimum,) = (await data(house, "/recipe/mutton-loin-chop.json"))["minimums"]
    assert (minimum["temp_f"], minimum["hold_s"], minimum["section"]) == (145, 15, "3-401.11(A)(1)(b)")


async def test_what_does_not_scale_straight_says_so(house: Any) -> None:
    sql = "select recipe_id from components where scales = 'leavening' limit 1"
    (recipe,) = (await house.get_database("kitchen").execute(sql)).first()
    page = (await house.client.get(f"/recipe/{recipe}?batches=3")).text
    assert "leavening: does not scale straight" in page
    said = (await data(house, f"/recipe/{recipe}.json?batches=3"))["components"]
    assert "leavening" in [c["does_not_scale_straight"] for c in said]


async def test_reading_view_keeps_the_size_and_asks_for_no_form(house: Any) -> None:
    page = (await house.client.get(f"{SAUCE}/read?to=3+l")).text
    assert "1.12 l" in page and "awake.js" in page and 'name="to"' not in page


@pytest.mark.parametrize("path", ["/recipe/nothing", "/recipe/nothing/read"])
async def test_an_unknown_recipe_is_told_in_words(house: Any, path: str) -> None:
    response = await house.client.get(path)
    assert response.status_code == 404 and "The page Recipes lists them all" in response.text


async def test_cards_show_no_money_and_servers_no_way_to_pages_that_are_not_theirs(staffed: Any) -> None:
    server = {"cookies": staffed.cookies["server"]}
    page = await staffed.house.client.get("/recipe/brown-butter", **server)
    assert page.status_code == 200 and "/short/" not in page.text and "/labels" not in page.text
    anonymous = await staffed.house.client.get("/recipe/brown-butter.json")
    assert anonymous.status_code in {302, 401, 403}


async def test_a_card_shows_the_kitchens_picture(house: Any) -> None:
    """From the file itself, as a JPEG that a browser may keep; its address changes with the picture."""
    import re

    page = (await house.client.get("/recipe/brill-on-the-bone-buttered-samphire")).text
    address = re.search(r'src="(/photo/[^"]+)"', page)
    assert address and "?" in address[1] and 'alt="Brill on the bone' in page
    picture = await house.client.get(address[1])
    assert picture.headers["content-type"] == "image/jpeg" and picture.content.startswith(b"\xff\xd8")
    assert picture.headers["x-content-type-options"] == "nosniff"
    assert (await house.client.get("/photo/brown-butter.jpg")).status_code == 404
