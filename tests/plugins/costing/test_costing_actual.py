"""Food cost between two counts on a kitchen small enough to reckon by hand."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

import pytest
from stillroom.db.build import create
from stillroom.loaders.commands import application

LOG = {"recorded_at": "2026-03-09T00:00:00Z", "actor": "Ines", "origin": "file"}


@pytest.fixture
async def client(tmp_path: Path) -> Any:
    """Flour at 1.00 a kg into dough (800 g a kg) into a plate of 100 g; a saddle hangs and is broken down."""
    path = tmp_path / "kitchen.db"
    db = sqlite3.connect(path, isolation_level=None)
    create(db)
    count = iter(range(1000))

    def put(table: str, **row: Any) -> None:
        row = {"request_id": f"r{next(count)}", **LOG, **row} if table in LOGS else row
        names, marks = ", ".join(row), ", ".join(f":{name}" for name in row)
        db.execute(f"insert into {table} ({names}) values ({marks})", row)

    put("kitchen", key="today", value="2026-03-09")
    put("suppliers", id="mill", name="Mill")
    for item, group in (("flour", "dry"), ("saddle", "meat"), ("bones", "meat")):
        put("items", id=item, name=item, category=group, unit="g")
    for recipe, kind, made, unit, price in (
        ("dough", "sub-recipe", "1000", "g", None), ("plate", "dish", "1", "each", "10"),
        ("chop", "cut", "1", "each", None)):  # fmt: skip
        put("recipes", id=recipe, name=recipe, kind=kind, yield_quantity=made, yield_unit=unit,
            yield_text="", origin="", menu_price=price, shrink="0", trim="0.5" if kind == "cut" else None,
            portion_quantity="100")  # fmt: skip
    for n, (recipe, item, sub, quantity) in enumerate(
        (("dough", "flour", None, "800"), ("plate", None, "dough", "100"), ("chop", "saddle", None, "200")), 1
    ):
        put("components", id=n, recipe_id=recipe, position=1, line="", item_id=item, sub_recipe_id=sub,
            quantity=quantity, amount=float(quantity), unit="g", said_quantity=quantity, said_unit="g")  # fmt: skip
    for item, grams, price in (("flour", "4000", "1"), ("saddle", "9000", "10"), ("bones", "100", "2")):
        put("deliveries", supplier_id="mill", item_id=item, received_on="2026-03-03", unit="g", received=grams,
            price=price, priced_quantity="1000")  # fmt: skip
    for on, of, thing, grams in (
        ("2026-03-02", "item_id", "flour", "5000"), ("2026-03-09", "item_id", "flour", "3000"),
        ("2026-03-02", "recipe_id", "dough", "1000"), ("2026-03-09", "recipe_id", "dough", "2000"),
        ("2026-03-09", "recipe_id", "chop", "9"),
        ("2026-03-02", "item_id", "saddle", "0"), ("2026-03-09", "item_id", "saddle", "0"),
        ("2026-03-02", "item_id", "bones", "0"), ("2026-03-09", "item_id", "bones", "700"),
    ):  # fmt: skip
        put("counts", counted_on=on, quantity=grams, unit="g", **{of: thing})
    put("plates_sold", recipe_id="plate", sold_on="2026-03-05", plates=30)
    put("batch_uses", item_id="flour", used_on="2026-03-06", quantity="500", unit="g", what="discarded")
    put("ageing_lots", lot_code="L1", item_id="saddle", started_on="2026-03-03", start_g="5000")
    put("ageing_lots", lot_code="L2", item_id="saddle", started_on="2026-03-03", start_g="4000")
    put("breakdowns", code="K1", cut_recipe_id="chop", lot_code="L2", broken_on="2026-03-08", input_g="3900")
    put("breakdown_outputs", breakdown_code="K1", recipe_id="chop", weight_g="1900", pieces=19)
    put("breakdown_outputs", breakdown_code="K1", item_id="bones", weight_g="1200")
    db.close()
    datasette = application(path)
    await datasette.invoke_startup()
    return datasette.client


LOGS = {"deliveries", "counts", "plates_sold", "batch_uses", "ageing_lots", "breakdowns", "breakdown_outputs"}


async def test_used_against_recipes_by_hand(client: Any) -> None:
    """Flour: 5 + 0.8 in dough + 4 bought - 3 - 1.6 in dough = 5.2 kg; by 30 plates 2.4 kg; 0.5 kg thrown away.

    Saddle: 9 kg bought, 5 still hang: 4 kg used. Bones: 0.1 bought and 1.2 from the block, 0.7 left: 0.6 kg used. Chops
    were counted on one day only, so they count on neither.
    """
    found = (await client.get("/cost/actual.json?from=2026-03-02")).json()
    rows = {r["item"]: r for r in found["items"]}
    assert (found["opened"], found["closed"], found["sales"]) == ("2026-03-02", "2026-03-09", 300.0)
    flour = rows["flour"]
    assert (flour["used"], flour["by recipes"], flour["thrown away"]) == (5200, 2400, 500)
    assert flour["money over"] == 2.8
    assert rows["saddle"]["used"] == 4000 and rows["bones"]["used"] == 600


async def test_groups_and_shares_of_sales(client: Any) -> None:
    """Meat 40 + 1.20 with no recipe sold that takes it, dry 2.80 beyond: the larger first; 46.40 are 15.5 % of 300."""
    page = (await client.get("/cost/actual?from=2026-03-02")).text
    assert page.index(">meat<") < page.index(">dry<")
    assert "15.5 %" in page and "+41.20" in page and "+2.80" in page
    assert "0.50" in page  # what the waste log says of it


async def test_without_sales_there_is_no_figure_beyond(client: Any) -> None:
    """Nothing sold is written down: what was used stands there, what should have been does not, nor a sum of it."""
    path = client.ds.get_database("kitchen").path
    db = sqlite3.connect(path, isolation_level=None)
    same = "recorded_at, actor, origin, recipe_id, sold_on, plates"
    db.execute(
        f"insert into plates_sold (request_id, voids, stands, {same}) select 'void', id, 0, {same} from plates_sold"
    )
    db.close()
    page = (await client.get("/cost/actual?from=2026-03-02")).text
    assert "No sales are written down on the 7 days between" in page
    assert "By the recipes</dt>" not in page and "+41.20" not in page and "not known of sales" not in page
    found = (await client.get("/cost/actual.json?from=2026-03-02")).json()
    flour = next(r for r in found["items"] if r["item"] == "flour")
    assert (found["sales"], found["days_with_sales"]) == (None, 0)
    assert (flour["used"], flour["by recipes"], flour["money over"]) == (5200, None, None)


async def test_days_without_sales_are_said(client: Any) -> None:
    """One of seven days has any."""
    page = (await client.get("/cost/actual?from=2026-03-02")).text
    assert "Sales are written down on 1 of the 7 days between" in page


async def test_goods_without_a_price_came_in_all_the_same(client: Any) -> None:
    """A kilogram of flour whose price nobody wrote down: it was used too, at the price of the others."""
    db = sqlite3.connect(client.ds.get_database("kitchen").path, isolation_level=None)
    db.execute(
        "insert into deliveries (request_id, recorded_at, actor, origin, supplier_id, item_id, received_on, unit,"
        " received) values ('x', '2026-03-09T00:00:00Z', 'Ines', 'file', 'mill', 'flour', '2026-03-04', 'g', '1000')"
    )
    db.close()
    found = (await client.get("/cost/actual.json?from=2026-03-02")).json()
    flour = next(r for r in found["items"] if r["item"] == "flour")
    assert (flour["bought"], flour["used"], flour["price"]) == (5000, 6200, 0.001)


async def test_a_recount_takes_the_place_of_the_first_count(client: Any) -> None:
    """3 kg of flour was a slip: 2 kg counted again that day, of dough 1 kg: 5 + 0.8 + 4 - 2 - 0.8 = 7 kg used.

    Both counts were added up, as if the flour stood there twice. Two stations are: 1 kg of bones beside 0.7 kg.
    """
    db = sqlite3.connect(client.ds.get_database("kitchen").path, isolation_level=None)
    db.execute("insert into stations (id, name) values ('larder', 'Larder'), ('grill', 'Grill')")
    again = (("item_id", "flour", "2000", None), ("recipe_id", "dough", "1000", None),
             ("item_id", "bones", "100", "larder"), ("item_id", "bones", "300", "grill"))  # fmt: skip
    for n, (of, thing, grams, station) in enumerate(again):
        db.execute(
            f"insert into counts (request_id, recorded_at, actor, origin, counted_on, {of}, quantity, unit, station_id)"
            " values (?, '2026-03-09T00:00:00Z', 'Ines', 'web', '2026-03-09', ?, ?, 'g', ?)",
            (f"again{n}", thing, grams, station),
        )
    db.close()
    rows = {r["item"]: r for r in (await client.get("/cost/actual.json?from=2026-03-02")).json()["items"]}
    assert rows["flour"]["used"] == 7000
    assert rows["bones"]["used"] == 100 + 1200 - 400
