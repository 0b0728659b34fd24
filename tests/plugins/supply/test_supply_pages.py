"""/short on the demonstration kitchen with a few rows written by hand."""

from __future__ import annotations

import shutil
import sqlite3
from fractions import Fraction as F
from pathlib import Path
from typing import Any

import pytest
from stillroom.db.connect import tune
from stillroom.plugins.core.margins import margins
from stillroom.plugins.supply.pages import _short
from stillroom.plugins.supply.rows import read_stock

TODAY = "2026-11-25"
FRAME = "request_id, recorded_at, actor, origin"


@pytest.fixture
def kitchen(demo_db: Path, tmp_path: Path) -> sqlite3.Connection:
    """A copy of the demonstration kitchen that may be written to."""
    path = tmp_path / "kitchen.db"
    shutil.copy(demo_db, path)
    connection = sqlite3.connect(path)
    tune(connection)
    return connection


def write(connection: sqlite3.Connection, table: str, **values: object) -> None:
    """One row of a log."""
    number = connection.execute(f"select count(*) from {table}").fetchone()[0]
    frame = (f"{table}-{number}", "2026-11-25T00:00:00Z", "Ines", "file")
    marks = ", ".join("?" * (4 + len(values)))
    with connection:
        connection.execute(
            f"insert into {table} ({FRAME}, {', '.join(values)}) values ({marks})", (*frame, *values.values())
        )


def counted(connection: sqlite3.Connection, grams: int) -> None:
    """A count of salted butter at the end of the day before."""
    write(connection, "counts", item_id="butter-salted", counted_on="2026-11-24", quantity=str(grams), unit="g")


async def client(connection: sqlite3.Connection) -> Any:
    """A browser's stand-in on the same file."""
    from stillroom.loaders.commands import application

    path = connection.execute("pragma database_list").fetchone()[2]
    connection.close()
    datasette = application(Path(path))
    await datasette.invoke_startup()
    return datasette.client


def test_deliveries_after_the_count_come_in_less_what_was_sent_back(kitchen: sqlite3.Connection) -> None:
    """5,000 g counted, 2,000 came of which 500 went back; a delivery of the day of the count is in the count."""
    counted(kitchen, 5000)
    goods = {
        "supplier_id": "saltby-dairy",
        "item_id": "butter-salted",
        "unit": "g",
        "received": "2000",
        "rejected": "500",
    }
    before = read_stock(kitchen, ["butter-salted"], TODAY)["butter-salted"].on_hand
    assert before is not None
    write(kitchen, "deliveries", received_on=TODAY, **goods)
    write(kitchen, "deliveries", received_on="2026-11-24", **goods)
    write(kitchen, "deliveries", received_on=TODAY, kind="credit", **goods)
    assert read_stock(kitchen, ["butter-salted"], TODAY)["butter-salted"].on_hand == before + 1500


def test_what_a_batch_took_is_not_counted_twice(kitchen: sqlite3.Connection) -> None:
    """Brown butter made after the count holds its butter: loose goes down by as much as the batch holds."""
    counted(kitchen, 5000)
    loose = read_stock(kitchen, ["butter-salted"], TODAY)["butter-salted"].on_hand
    held = {b.name: b.holds for b in _short(kitchen, "butter-salted").batches}
    assert loose is not None
    write(kitchen, "batches", recipe_id="brown-butter", made_on=TODAY, quantity="400", unit="g", use_by="2026-12-01")
    after = read_stock(kitchen, ["butter-salted"], TODAY)["butter-salted"].on_hand
    part = kitchen.execute(
        "select c.quantity, r.yield_quantity from components as c join recipes as r on r.id = c.recipe_id"
        " where r.id = 'brown-butter' and c.item_id = 'butter-salted'"
    ).fetchone()
    assert after == loose - 400 * F(part[0]) / F(part[1])
    assert {b.name: b.holds for b in _short(kitchen, "butter-salted").batches}["Brown butter"] != held.get(
        "Brown butter"
    )


def test_a_batch_past_its_use_by_is_not_on_hand(kitchen: sqlite3.Connection) -> None:
    """Made and out of date yesterday: nothing; its last day of use is today: all of it."""
    before = read_stock(kitchen, ["dulse-butter"], TODAY)["dulse-butter"].on_hand or F(0)
    write(
        kitchen,
        "batches",
        recipe_id="dulse-butter",
        made_on="2026-11-20",
        quantity="700",
        unit="g",
        use_by="2026-11-24",
    )
    assert (read_stock(kitchen, ["dulse-butter"], TODAY)["dulse-butter"].on_hand or F(0)) == before
    write(kitchen, "batches", recipe_id="dulse-butter", made_on="2026-11-20", quantity="300", unit="g", use_by=TODAY)
    assert read_stock(kitchen, ["dulse-butter"], TODAY)["dulse-butter"].on_hand == before + 300


def test_a_use_that_names_its_batch_only_is_taken_off(kitchen: sqlite3.Connection) -> None:
    """A use written against the batch, without the recipe's name, comes off that recipe."""
    write(kitchen, "batches", recipe_id="dulse-butter", made_on=TODAY, quantity="300", unit="g", use_by="2026-12-01")
    before = read_stock(kitchen, ["dulse-butter"], TODAY)["dulse-butter"].on_hand
    batch = kitchen.execute("select max(id) from batches").fetchone()[0]
    write(kitchen, "batch_uses", batch_id=batch, used_on=TODAY, quantity="100", unit="g", what="discarded")
    assert before is not None
    assert read_stock(kitchen, ["dulse-butter"], TODAY)["dulse-butter"].on_hand == before - 100


def test_a_voided_count_does_not_count(kitchen: sqlite3.Connection) -> None:
    """A count that a later row voids gives way to the row that corrects it."""
    counted(kitchen, 9000)
    wrong = kitchen.execute("select max(id) from counts").fetchone()[0]
    day = {"item_id": "butter-salted", "counted_on": "2026-11-24", "unit": "g"}
    with_wrong = read_stock(kitchen, ["butter-salted"], TODAY)["butter-salted"].on_hand
    write(kitchen, "counts", voids=wrong, quantity="8000", **day)
    assert with_wrong is not None
    assert read_stock(kitchen, ["butter-salted"], TODAY)["butter-salted"].on_hand == with_wrong - 1000


def test_every_dish_that_holds_the_item_is_listed_with_every_path(kitchen: sqlite3.Connection) -> None:
    """Dishes, paths and quantity are those of the explosion's positive lines."""
    answer = _short(kitchen, "butter-unsalted")
    rows = kitchen.execute(
        "select r.id, count(*) from explosion as e join recipes as r on r.id = e.recipe_id"
        " where e.item_id = 'butter-unsalted' and e.amount > 0 and r.kind = 'dish' group by 1"
    ).fetchall()
    assert {d.at.id: len(d.at.paths) for d in answer.dishes} == dict(rows) and len(rows) > 5


async def test_things_written_down_as_short_are_listed_until_they_are_back(kitchen: sqlite3.Connection) -> None:
    """Brill is short, a dish is out with its note as text; quinces came back and are gone from the list."""
    write(kitchen, "shortages", recipe_id="mussels-in-cider", state="out", since_on=TODAY, note="<b>no mussels</b>")
    house = await client(kitchen)
    short = {s["id"]: s for s in (await house.get("/short.json")).json()["short"]}
    assert set(short) == {"brill", "mussels-in-cider"}
    assert (short["mussels-in-cider"]["kind"], short["mussels-in-cider"]["state"]) == ("dish", "out")
    assert "&lt;b&gt;no mussels&lt;/b&gt;" in (await house.get("/short")).text


async def test_a_thing_never_counted_is_said_to_be_unknown(kitchen: sqlite3.Connection) -> None:
    """No count: 'never counted' and 'not known', null in the data, and no zero."""
    never = kitchen.execute(
        "select e.item_id from explosion as e join recipes as r on r.id = e.recipe_id"
        " where r.kind = 'dish' and r.status = 'active'"
        " and coalesce(r.from_on, '0') <= ? and coalesce(r.to_on, '9') >= ? and e.amount > 0 and e.level = 1 limit 1",
        (TODAY, TODAY),
    ).fetchone()[0]
    kitchen.execute("drop trigger if exists counts_no_delete")
    with kitchen:
        kitchen.execute("delete from counts where item_id = ? and origin = 'file'", (never,))
    house = await client(kitchen)
    answer = (await house.get(f"/short/{never}.json")).json()
    assert answer["on_hand"] is None and any(d["plates_left"] is None for d in answer["dishes"])
    page = (await house.get(f"/short/{never}")).text
    assert "never counted" in page and "plates left not known" in page


@pytest.mark.parametrize("wanted", ["CREME", "crème", "me fra"])
async def test_search_folds_accents_and_takes_any_part(house: Any, wanted: str) -> None:
    """Three ways to look for crème fraîche."""
    found = (await house.client.get("/short.json", params={"find": wanted})).json()
    assert "creme-fraiche" in {i["id"] for i in found["items"]}


async def test_search_says_what_to_do_when_nothing_is_found(house: Any) -> None:
    """Nothing found, hostile text and an accent alone: an answer in words, never everything."""
    page = (await house.client.get("/short", params={"find": "<script>x"})).text
    assert "Try fewer letters" in page and "<script>x" not in page and "&lt;script&gt;x" in page
    assert (await house.client.get("/short.json", params={"find": "\u0301"})).json()["items"] == []


@pytest.mark.parametrize(("role", "status"), [("server", 403), ("cook", 200), ("chef", 200), ("manager", 200)])
async def test_cook_chef_and_manager_see_short(staffed: Any, role: str, status: int) -> None:
    """A server is refused; a cook finds no price on it, chef and manager what a substitute does to cost."""
    answer = await staffed.house.client.get("/short/butter-salted", cookies=staffed.cookies[role])
    assert answer.status_code == status
    assert ("GBP" in answer.text) == (role in {"chef", "manager"})


async def test_a_substitute_says_what_it_does_to_each_dish(house: Any) -> None:
    """Rapeseed oil for brown butter, 90 ml for 100 g: the brill has its milk by brown butter alone."""
    answer = (await house.client.get("/short/butter-salted.json")).json()
    oil = next(s for s in answer["substitutes"] if s["use"] == "rapeseed oil" and s["for"] == "Brown butter")
    assert oil["converts"] and oil["how_much"] == "90 ml for 100 g"
    assert all({"id", "name", "gained", "lost", "weaker", "unknown", "unread"} <= set(d) for d in oil["dishes"])
    dishes = {d["id"]: d for d in oil["dishes"]}
    assert dishes["brill-on-the-bone-buttered-samphire"]["lost"] == ["milk"]


async def test_the_margin_is_that_of_cost(house: Any) -> None:
    """Every dish on the menu earns here what /cost says, and no dish is without a margin there and with one here."""
    plates = {p["id"]: p for p in (await house.client.get("/cost.json")).json()["plates"]}
    assert len(plates) > 20 and sum(p["margin"] is not None for p in plates.values()) > 15
    connection = sqlite3.connect(house.get_database("kitchen").path)
    tune(connection)
    handed = margins(connection)
    connection.close()
    assert {d: None if m.each is None else float(m.each) for d, m in handed.items()} == {
        d: p["margin"] for d, p in plates.items()
    }
    assert {d: list(m.lacks) for d, m in handed.items() if m.each is None} == {
        d: p["incomplete"] for d, p in plates.items() if p["margin"] is None
    }


@pytest.mark.parametrize("item", ["brill", "celeriac", "butter-salted", "potatoes", "leeks", "double-cream"])
async def test_most_margin_is_reckoned_with_the_margins_of_cost(house: Any, item: str) -> None:
    """Each dish of the sharing with its margin of /cost, and their sum over the plates shared out."""
    plates = {p["id"]: p for p in (await house.client.get("/cost.json")).json()["plates"]}
    shared = (await house.client.get(f"/short/{item}.json")).json()["shared"]
    ways = {way["by"]: way for way in shared["ways"]}
    dishes = ways["margin"]["dishes"]
    assert dishes and all(d["margin"] == f"{plates[d['id']]['margin']:.2f}" for d in dishes)
    worth = sum(F(d["margin"]) * d["plates"] for d in dishes)
    assert F(ways["margin"]["total"].replace(",", "")) == worth
    assert {name for name, _ in shared["unpriced"]} == {
        p["name"] for d in ways["plates"]["dishes"] if (p := plates[d["id"]])["margin"] is None
    }


async def test_a_cook_sees_no_margin(staffed: Any) -> None:
    """The sharing by plates, and no money."""
    answer = await staffed.house.client.get("/short/brill.json", cookies=staffed.cookies["cook"])
    shared = answer.json()["shared"]
    assert [way["by"] for way in shared["ways"]] == ["plates"] and "unpriced" not in shared
    assert all("margin" not in d for way in shared["ways"] for d in way["dishes"])
