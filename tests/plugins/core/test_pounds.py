"""An American kitchen prices by the pound, the quart and the piece; data and money are those of any other kitchen."""

from __future__ import annotations

import re
from collections.abc import Awaitable, Callable
from typing import Any

import pytest
from stillroom.plugins.core.format import OWN_WAY, Way, large

LB = 0.45359237  # kg, exactly: NIST SP 811 (2008), appendix B.8
DISH = "brill-on-the-bone-buttered-samphire"


@pytest.fixture
async def pounds(house_with: Callable[[str, str], Awaitable[Any]]) -> Any:
    """The demonstration in US units."""
    return await house_with("units", "US")


def test_what_a_kitchen_prices_by() -> None:
    """lb and qt by their exact sizes; kg and l elsewhere; what is neither is its own unit."""
    before = OWN_WAY.set(Way(".", "US"))
    try:
        found = [(name, float(size)) for name, size in map(large, ("g", "ml", "each", "batch"))]
    finally:
        OWN_WAY.reset(before)
    assert found == [("lb", 453.59237), ("qt", 946.352946), ("ea", 1.0), ("batch", 1.0)]
    assert [large(unit)[0] for unit in ("g", "ml", "each")] == ["kg", "l", "ea"]


async def test_prices_are_by_the_pound_and_the_plate_costs_the_same(pounds: Any, house: Any) -> None:
    """Each price of an item by weight is 0.4536 of that of a kg; quantity times price is the cost of the line still."""
    here, there = [(await one.client.get(f"/cost/{DISH}.json")).json() for one in (pounds, house)]
    assert here["cost"] == there["cost"] and {x["unit"] for x in here["items"]} <= {"lb", "qt", "ea"}
    pairs = [(x, y) for x, y in zip(here["items"], there["items"], strict=True) if y["unit"] == "kg"]
    for x, y in pairs:
        assert x["price per unit"] == pytest.approx(y["price per unit"] * LB, abs=1e-4)
        assert x["as bought"] == pytest.approx(y["as bought"] / LB, abs=1e-5) and x["cost"] == y["cost"]
    page = (await pounds.client.get(f"/cost/{DISH}")).text
    assert pairs and " a lb" in page and " a kg" not in page


async def test_a_price_typed_for_a_pound_moves_what_it_moves_for_a_kilogram(pounds: Any, house: Any) -> None:
    """45.359237 for a kg of brill is 20.57460... for a lb: 100 a kg is 45.359237 a lb."""
    asked = "/cost/what-if{}?item=brill&price={}"
    here = (await pounds.client.get(asked.format(".json", "45.359237"))).json()["moved"]
    there = (await house.client.get(asked.format(".json", "100"))).json()["moved"]
    assert there and here == there
    page = (await pounds.client.get(asked.format("", "45.359237"))).text
    assert "Price of one lb, qt or piece" in page and "brill (lb)" in page


async def test_a_supplier_s_lines_are_in_pounds_too(pounds: Any, house: Any) -> None:
    """What came and its price, line by line."""
    here, there = [(await one.client.get("/suppliers/hollow-creek-boats.json")).json()["rows"]
                   for one in (pounds, house)]  # fmt: skip
    pairs = [(x, y) for x, y in zip(here, there, strict=True) if y["unit"] == "kg" and y["received"]]
    assert len(pairs) > 10 and {x["unit"] for x, _ in pairs} == {"lb"}
    for x, y in pairs:
        assert x["received"] == pytest.approx(y["received"] / LB, abs=1e-3)
        assert (x["price per unit"] is None) == (y["price per unit"] is None)
        assert x["price per unit"] is None or x["price per unit"] == pytest.approx(y["price per unit"] * LB, abs=1e-3)


async def test_ageing_lots_are_in_pounds_too(pounds: Any, house: Any) -> None:
    """What a usable lb costs; the space that a lb takes costs 0.4536 of that of a kg, and each lot the same."""
    kitchens = (pounds, "0.45359237"), (house, "1")
    pages = [(await one.client.get(f"/ageing?space={space}")).text for one, space in kitchens]
    assert [re.findall(r"Usable (\w+) costs", page) for page in pages] == [["lb"], ["kg"]]
    assert "GBP a lb and week" in pages[0] and "GBP a kg and week" in pages[1]
    lots = [(await one.client.get(f"/ageing.json?space={space}")).json()["lots"] for one, space in kitchens]
    costs = [[lot["cost_per_usable_kg"] for lot in some] for some in lots]
    assert costs[0] == costs[1] and any(cost[0] for cost in costs[0])
    files = [(await one.client.get(f"/ageing.csv?space={space}")).text.splitlines() for one, space in kitchens]
    column = files[0][0].split(",").index('"usable lb costs now')
    assert files[1][0].split(",")[column] == '"usable kg costs now'
