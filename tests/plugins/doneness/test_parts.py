"""Heat on the pages of recipes and dishes."""

from __future__ import annotations

import re
from typing import Any

from stillroom.plugins.core.parts import offered


async def test_a_dish_shows_the_programme_of_a_cut_on_it(house: Any) -> None:
    """The chop on the plate: its name and link, the pull, the rule with its section; the data says the same."""
    dishes = re.findall(r'href="/dish/([a-z0-9-]+)"', (await house.client.get("/allergens")).text)
    mutton = next(one for one in dishes if "mutton" in one)
    text = (await house.client.get(f"/dish/{mutton}")).text
    heat = text[text.index("<h2>Heat") :]
    assert 'href="/doneness/mutton-loin-chop"' in heat and "Food Code 3-401.11" in heat and "°C</b> core" in heat
    (piece,) = (await house.client.get(f"/dish/{mutton}.json")).json()["heat"]["pieces"]
    programme = (await house.client.get("/doneness/mutton-loin-chop.json")).json()
    assert piece["id"] == "mutton-loin-chop" and (piece["core"], piece["unit"]) == (programme["pull"]["core"], "°C")
    assert piece["law"][0]["verdict"] == programme["rules"][0]["verdict"]


async def test_a_recipe_shows_its_own_programme(house: Any) -> None:
    """The card of a cut; a recipe without a piece shows nothing of the kind."""
    card = (await house.client.get("/recipe/beef-rib-steak")).text
    assert 'href="/doneness/beef-rib-steak"' in card and "predicted; a probe confirms" in card
    assert "<h2>Heat" not in (await house.client.get("/recipe/brown-butter")).text


def test_who_may_not_see_heat_gets_no_part() -> None:
    """A server's dish page has no heat on it; a cook's has."""
    names = {role: [part.name for part in offered("dish", role)] for role in ("server", "cook")}
    assert "heat" in names["cook"] and "heat" not in names["server"]
