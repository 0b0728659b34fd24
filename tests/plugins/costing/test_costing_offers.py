"""What cost adds to the first page, a dish and what is short: for chef and manager alone."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

import pytest
from stillroom.db.connect import tune

DISH = "/dish/brill-on-the-bone-buttered-samphire"
OFFICE = {"chef", "manager"}


@pytest.mark.parametrize("role", ["server", "cook", "station", "chef", "manager"])
@pytest.mark.parametrize(("path", "name"), [("/", "cost"), (DISH, "cost"), ("/short/brill", "substitute_cost")])
async def test_money_only_for_the_office(staffed: Any, role: str, path: str, name: str) -> None:
    """Neither page nor data of a server or cook holds the part, nor a figure of it."""
    page = await staffed.house.client.get(path, cookies=staffed.cookies[role])
    json = "/.json" if path == "/" else path + ".json"
    found = await staffed.house.client.get(json, cookies=staffed.cookies[role])
    data = found.json() if found.status_code == 200 and "json" in found.headers["content-type"] else {}
    if role in OFFICE:
        assert "/cost" in page.text and (name in data or path == "/")
    else:
        assert "GBP" not in page.text and "food cost" not in page.text.lower() and name not in data


async def test_a_dish_says_what_it_costs(house: Any) -> None:
    """The same figure as its cost page, the dearest items, and a link to why."""
    part = (await house.client.get(DISH + ".json")).json()["cost"]
    whole = (await house.client.get(DISH.replace("/dish", "/cost") + ".json")).json()
    assert part["cost"] == whole["cost"] and part["margin"] == whole["margin"] > 0
    page = (await house.client.get(DISH)).text
    assert "Dearest: brill" in page and 'href="/cost/brill-on-the-bone-buttered-samphire"' in page


async def test_a_substitute_in_money(house: Any) -> None:
    """Turbot for brill moves the brill dish by 433 g and a third of the difference of the two prices, on both pages."""
    (part,) = (await house.client.get("/short/brill.json")).json()["substitute_cost"]
    assert (part["instead_of"], part["use"], part["cannot"]) == ("brill", "turbot", None)
    (dish,) = part["dishes"]
    tried = (await house.client.get("/cost/what-if.json?item=brill&instead=turbot&ratio=1")).json()["moved"]
    assert [(m["id"], m["by"]) for m in tried] == [(dish["id"], dish["by"])]
    prices = {}
    for cut in ("brill-portion", "turbot-portion"):
        items = (await house.client.get(f"/cost/{cut}.json")).json()["items"]
        prices[cut] = next(i["price per unit"] for i in items if i["cost"] > 0)
    assert dish["by"] == pytest.approx((prices["turbot-portion"] - prices["brill-portion"]) * 0.260 / 0.6, abs=0.001)


async def test_sub_recipes_stand_in_too(house: Any) -> None:
    """Seed crumb for walnut crumb, and hazelnuts for walnuts within it: each moves the leek dish."""
    found = {x["use"]: x for x in (await house.client.get("/short/walnut-pieces.json")).json()["substitute_cost"]}
    assert set(found) == {"Toasted seed crumb", "hazelnuts"}
    for exchange in found.values():
        assert [d["id"] for d in exchange["dishes"]] == ["grilled-leeks-egg-yolk-walnut-crumb"]
    assert found["hazelnuts"]["in"] == "Walnut crumb"


async def test_within_one_dish_no_other_moves(house: Any) -> None:
    """A substitute listed for one recipe alone moves that recipe alone."""
    found = (await house.client.get("/short/double-cream.json")).json()["substitute_cost"]
    inside = next(x for x in found if x["use"] == "crème fraîche")
    assert {d["id"] for d in inside["dishes"]} <= {"mussels-in-cider"} or inside["in"]


@pytest.fixture
async def dear(own_db: Path) -> Any:
    """The demonstration after one delivery of brill at some hundred times its price."""
    from stillroom.loaders.commands import application

    connection = sqlite3.connect(own_db)
    tune(connection)
    with connection:
        connection.execute(
            "insert into deliveries (request_id, recorded_at, actor, origin, supplier_id, item_id, product_id,"
            " received_on, unit, received, price, priced_quantity)"
            " select 'slip', recorded_at, actor, 'web', supplier_id, item_id, product_id, '2026-11-25', unit, received,"
            " '2600', priced_quantity from deliveries"
            " where item_id = 'brill' and kind = 'goods' order by id desc limit 1"
        )
    connection.close()
    datasette = application(own_db)
    await datasette.invoke_startup()
    return datasette


async def test_a_plate_over_its_target_stands_on_the_first_page(dear: Any) -> None:
    """With the item that did it, and the price that wants to be looked at."""
    page = (await dear.client.get("/")).text
    over = page[page.index("Plates over target") :]
    assert "Brill on the bone, buttered samphire" in over and "<b>brill</b>" in over
    assert "Prices to check" in over and "times what it usually costs" in over
    rows = (await dear.client.get("/cost.json")).json()["over_target"]
    assert all(1 <= len(r["items"]) <= 3 for r in rows)
    assert rows[0]["id"] == "brill-on-the-bone-buttered-samphire" and rows[0]["items"][0]["name"] == "brill"


async def test_a_price_to_check_is_said_where_its_plate_stands(dear: Any) -> None:
    """On /cost, on the dish, on its cost and as data; a plate that has none of it says nothing."""
    brill = "brill-on-the-bone-buttered-samphire"
    for path in ("/cost", f"/cost/{brill}", f"/dish/{brill}"):
        page = (await dear.client.get(path)).text
        assert "heck the price of brill" in page, path
    found = (await dear.client.get("/cost.json")).json()
    assert [o["id"] for o in found["prices_to_check"]] == ["brill"]
    assert {p["id"] for p in found["plates"] if p["prices_to_check"]} == {brill}


async def test_a_what_if_far_from_the_usual_price_is_asked(house: Any) -> None:
    """A hundred times and ten times the price; a third more is not."""
    for price, times in (("1800", "times what brill usually costs"), ("180", "times what brill"), ("24", None)):
        found = (await house.client.get(f"/cost/what-if.json?item=brill&price={price}")).json()
        assert found["moved"] and (times in found["ask"] if times else found["ask"] is None)
    page = (await house.client.get("/cost/what-if?item=brill&price=1800")).text
    assert "Is it so? It is reckoned as typed." in page


async def test_an_empty_kitchen_has_none_of_it(tmp_path: Path) -> None:
    """Pages of a kitchen without a dish answer, and say what to do."""
    from stillroom.loaders.blank import write_folder
    from stillroom.loaders.build import build
    from stillroom.loaders.commands import application

    write_folder(tmp_path / "new")
    assert build(tmp_path / "new", tmp_path / "kitchen.db").errors == 0
    datasette = application(tmp_path / "kitchen.db")
    await datasette.invoke_startup()
    costing = ("/cost", "/cost/cuts", "/cost/what-if", "/cost/butcher", "/cost/actual", "/menu")
    for path in ("/", *costing, "/ageing", "/ageing/plan"):
        answer = await datasette.client.get(path)
        assert answer.status_code == 200 and "Plates over target" not in answer.text, path
