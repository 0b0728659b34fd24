"""Pages of cost, menu and ageing on the demonstration kitchen: who may see them, what they say, files that agree."""

from __future__ import annotations

import csv
import io
import sqlite3
from dataclasses import dataclass
from fractions import Fraction as F
from pathlib import Path
from typing import Any

import pytest
from stillroom.db.connect import tune
from stillroom.plugins.core.auth import decide

PAGES = (
    "/cost", "/cost/{dish}", "/cost/{cut}", "/cost/what-if", "/cost/butcher", "/cost/actual", "/cost/cuts",
    "/cost/breakdown/K-053",
    "/menu", "/ageing", "/ageing/{lot}", "/ageing/plan",
)  # fmt: skip


async def named(house: Any, path: str) -> str:
    """The path with names of the demonstration: a dish whose cost is whole, a cut, a lot that hangs."""
    plates = (await house.client.get("/cost.json")).json()["plates"]
    lots = (await house.client.get("/ageing.json")).json()["lots"]
    cut = (await house.get_database("kitchen").execute("select min(id) from recipes where kind = 'cut'")).first()[0]
    dish = next(p["id"] for p in plates if p["cost"])
    return path.format(dish=dish, cut=cut, lot=lots[0]["lot"])


@pytest.mark.parametrize("path", PAGES)
async def test_pages_answer(house: Any, path: str) -> None:
    """Every page answers as HTML and as data."""
    path = await named(house, path)
    assert (await house.client.get(path)).status_code == 200
    assert (await house.client.get(path + ".json")).json()


@pytest.mark.parametrize("action", ["cost", "ageing"])
def test_money_is_for_chef_and_manager(action: str) -> None:
    """Servers and cooks, and roles that nobody knows, are refused."""
    assert [decide(role, action) for role in ("server", "cook", "chef", "manager", "")] == [
        False,
        False,
        True,
        True,
        False,
    ]


@pytest.mark.parametrize("role", ["server", "cook"])
@pytest.mark.parametrize("path", [*PAGES, "/cost.csv", "/menu.xlsx", "/ageing.json"])
async def test_servers_and_cooks_get_no_figure(house: Any, staffed: Any, role: str, path: str) -> None:
    """A server or cook gets the refusal and nothing else."""
    path = await named(house, path)
    answer = await staffed.house.client.get(path, cookies=staffed.cookies[role])
    assert answer.status_code == 403 and "GBP" not in answer.text


@pytest.mark.parametrize("path", ["/cost/no-such-dish", "/ageing/none", "/cost/no-such-dish.json"])
async def test_unknown_is_said(house: Any, path: str) -> None:
    """What is not there is 404, with words."""
    answer = await house.client.get(path)
    assert answer.status_code == 404 and "There is no" in answer.text


async def test_items_and_bridge_add_up(house: Any) -> None:
    """On the page's own data: items make the cost, the bridge makes the difference, exactly, for every whole plate."""
    plates = (await house.client.get("/cost.json?from=2026-09-20")).json()["plates"]
    moved = 0
    for plate in [p for p in plates if p["cost"]]:
        path = f"/cost/{plate['id']}.json"
        found = (await house.client.get(f"{path}?from=2026-09-20")).json()
        before = (await house.client.get(f"{path}?on=2026-09-20")).json()
        assert sum(i["cost"] for i in found["items"]) == pytest.approx(found["cost"], abs=0.006)
        if before["exact"] is not None:
            assert sum(F(s["money"]) for s in found["bridge"]) == F(found["exact"]) - F(before["exact"])
            moved += bool(found["bridge"])
    assert moved > 0


async def test_what_is_weighed_or_poured_costs_by_the_kg_or_litre_and_by_the_batch(house: Any) -> None:
    """Nobody reads the cost of one gram: the page and the card tell a kg or a litre, the card a whole batch too."""
    rows = await house.get_database("kitchen").execute(
        "select id, yield_quantity, yield_unit from recipes where kind = 'sub-recipe' and status = 'active'"
    )
    told = 0
    for recipe, made, unit in rows.rows:
        found = (await house.client.get(f"/cost/{recipe}.json")).json()
        word, size = {"g": ("kg", 1000), "ml": ("l", 1000), "each": ("piece", 1)}[unit]
        assert found["of"] == f"1 {word}", recipe
        if found["cost"] is None:
            continue
        told += 1
        assert sum(i["cost"] for i in found["items"]) == pytest.approx(found["cost"], abs=0.006), recipe
        card = (await house.client.get(f"/recipe/{recipe}.json")).json()["cost"]
        assert (card["cost"], card["of"]) == (found["cost"], found["of"])
        assert card["batch"] == pytest.approx(float(F(found["exact"]) * F(made) / size), abs=0.006), recipe
    assert told > 30
    page = (await house.client.get("/recipe/brown-butter")).text
    assert "of 1 kg, GBP" in page and "A batch, 400 g" in page


async def test_a_gap_is_said_and_never_a_figure(changed: Any) -> None:
    """An item of a plate is only quoted: incomplete, a range, no food cost; by quote that item is no gap."""
    found = (await changed.client.get(f"/cost/{changed.dish}.json")).json()
    assert f"no price for {changed.name}" in found["incomplete"] and found["cost"] is found["food_cost_pct"] is None
    assert found["range"]["low"] <= (found["range"]["high"] or found["range"]["low"])
    page = (await changed.client.get(f"/cost/{changed.dish}")).text
    assert "incomplete" in page and f'<a href="/cost/{changed.dish}?basis=quote">' in page
    quoted = (await changed.client.get(f"/cost/{changed.dish}.json?basis=quote")).json()
    assert f"no price for {changed.name}" not in quoted["incomplete"]


async def test_the_file_holds_what_the_page_holds(house: Any) -> None:
    """As many plates in the CSV as in the data, incomplete ones without a cost."""
    rows = list(csv.DictReader(io.StringIO((await house.client.get("/cost.csv")).text)))
    plates = (await house.client.get("/cost.json")).json()["plates"]
    assert len(rows) == len(plates) > 10
    assert [r["cost, GBP"] == "" for r in rows] == [bool(p["incomplete"]) for p in plates]


@pytest.mark.parametrize("path", ["/cost", "/cost/mutton-loin-chop", "/menu", "/cost/actual", "/cost/cuts"])
async def test_a_file_says_its_money_and_how_it_was_reckoned(house: Any, path: str) -> None:
    """Two files of one day by two bases are told apart; money names its currency, a quantity its unit."""
    text = (await house.client.get(f"{path}.csv?basis=average&days=14&yields=as+measured")).text
    rows = list(csv.DictReader(io.StringIO(text)))
    said = {r["reckoned by"] for r in rows}
    assert said == {"price by average of 14 days, yields as measured, without tax, on 2026-11-25"}
    assert any(title.endswith(", GBP") for title in rows[0])
    assert not {"cost", "margin", "price", "sales", "money a week", "money over"} & rows[0].keys()
    if path == "/cost/actual":
        assert {r["unit"] for r in rows} == {"g", "ml", "each"}


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ("on=2026-02-31", "31"),
        ("basis=guess", "The price can be: "),
        ("days=0", "1 to 3660"),
        ("on=2026-01-01&from=2026-06-01", "turned round"),
    ],
)
async def test_a_wrong_address_is_said(house: Any, query: str, words: str) -> None:
    """A day that is not in the calendar, an unknown basis, an average over nothing: said, and the usual one taken."""
    answer = await house.client.get("/cost?" + query)
    assert answer.status_code == 200 and words in answer.text


async def test_what_if_stores_nothing(changed: Any) -> None:
    """An item at a price far above any moves its plates; the file is as it was."""
    count = "select count(*), max(id) from deliveries"
    before = tuple((await changed.database.execute(count)).first())
    found = (await changed.client.get(f"/cost/what-if.json?item={changed.other}&price=9999")).json()
    assert found["moved"] and all(m["by"] is None or m["by"] > 0 for m in found["moved"])
    assert tuple((await changed.database.execute(count)).first()) == before


@pytest.mark.parametrize(
    "query", ["item=none&price=1", "item={other}&price=0", "item={other}&yield=140", "cut=x&portion=9"]
)
async def test_what_cannot_be_is_said(changed: Any, query: str) -> None:
    """Unknown items, a price of nothing, a yield over 100 %, an unknown cut."""
    answer = await changed.client.get("/cost/what-if.json?" + query.format(other=changed.other))
    assert answer.status_code == 200 and answer.json()["wrong"]


async def test_butcher_form(house: Any) -> None:
    """The rib of the culinary-school sheet, typed in; credits above the whole refused with the sum."""
    rib = "/cost/butcher.json?weight=28&price=1.30&weight1=3&price1=.1&weight2=4&price2=.3&weight3=5&price3=1.3"
    found = (await house.client.get(rib)).json()
    assert F(found["test"]["cost"]) == F("28.4") and F(found["test"]["each"]) == F("1.775")
    refused = (await house.client.get("/cost/butcher.json?weight=2&price=1&weight1=1&price1=5")).json()
    assert refused["test"] is None and "credits of 5.00 are above the 2.00" in refused["wrong"][0]


@dataclass(frozen=True)
class Changed:
    """The demonstration with an item only quoted, and sales of what is not on the menu.

    dish: has the item `name`, which nobody delivers. other: an item of a plate that is delivered.
    """

    client: Any
    database: Any
    path: Path
    dish: str
    name: str
    other: str


ON_MENU = """select e.recipe_id, e.item_id, i.name from explosion as e join recipes as r on r.id = e.recipe_id
  join items as i on i.id = e.item_id where r.kind = 'dish' and r.status = 'active' and r.from_on is null
  and r.to_on is null
  and e.amount > 0 and i.id in (select item_id from deliveries) order by e.recipe_id, e.path_no"""


@pytest.fixture
async def changed(own_db: Path) -> Any:
    """A changed copy of the demonstration kitchen, served."""
    from stillroom.loaders.commands import application

    connection = sqlite3.connect(own_db)
    tune(connection)
    (dish, item, name), *rest = connection.execute(ON_MENU).fetchall()
    other = next(i for _, i, _ in rest if i != item)
    with connection:
        connection.execute("delete from deliveries where item_id = ?", (item,))
        connection.execute(
            "insert or replace into price_quotes"
            " select id, '2026-01-01', '5', '1000', 'here' from products where item_id = ?",
            (item,),
        )
        connection.execute("update products set is_active = 1 where item_id = ?", (item,))
        connection.execute(
            "insert into recipes (id, name, kind, yield_quantity, yield_unit, yield_text, menu_price, to_on, origin)"
            " values ('gone', 'Gone since May', 'dish', '1', 'each', '1', '10', '2026-05-01', 'here')"
        )
        connection.executemany(
            "insert into plates_sold (request_id, recorded_at, actor, origin, recipe_id, sold_on, plates)"
            " values (?, '2026-11-25T00:00:00Z', 'Ines', 'file', ?, '2026-11-24', 3)",
            [("x1", "gone"), ("x2", "no-such-dish")],
        )
    connection.close()
    datasette = application(own_db)
    await datasette.invoke_startup()
    return Changed(datasette.client, datasette.get_database("kitchen"), own_db, dish, name, other)


async def test_sales_of_what_is_not_on_the_menu_are_said(changed: Any) -> None:
    """A dish that left the menu in May and a name that is no recipe stand apart, with the reason."""
    found = (await changed.client.get("/menu.json?from=2026-11-20")).json()
    assert {"Gone since May", "no-such-dish"} <= {x["dish"] for x in found["not_placed"]}


async def test_menu_classes_agree_with_the_figures(house: Any) -> None:
    """Each class is what its own row says, and the margin that the section earns from."""
    found = (await house.client.get("/menu.json")).json()
    for section in found["sections"]:
        for dish in section["dishes"]:
            if dish["class"]:
                earning = dish["margin"] >= section["mean_margin"]
                popular = dish["mix %"] >= dish["popular from %"]
                words = {
                    (True, True): "star",
                    (True, False): "plowhorse",
                    (False, True): "puzzle",
                    (False, False): "dog",
                }
                assert dish["class"] == words[popular, earning]


async def test_a_day_without_counts_is_said(house: Any) -> None:
    """Before the first count nobody can say what was used."""
    found = (await house.client.get("/cost/actual.json?on=2026-05-28&from=2026-05-27")).json()
    assert found["items"] == [] and "two days with counts" in found["reason"]


async def test_ready_list_picks_in_order(house: Any) -> None:
    """What is needed for a service comes from the lot ready first, and the next is touched when that one is used up."""
    ready = (await house.client.get("/ageing.json?on=2026-11-27")).json()["ready"]
    most = sum(r["portions_low"] or 0 for r in ready)
    found = (await house.client.get(f"/ageing.json?on=2026-11-27&need={most + 5}")).json()
    assert [r["taken"] for r in found["ready"]] == [r["portions_low"] or 0 for r in ready] and found["missing"] == 5
    one = (await house.client.get("/ageing.json?on=2026-11-27&need=1")).json()
    assert sum(r["taken"] for r in one["ready"]) == 1


async def test_a_new_row_makes_the_answer_anew(changed: Any) -> None:
    """Answers are kept per state of the file: a delivery written meanwhile is in the next answer."""
    before = (await changed.client.get(f"/cost/{changed.dish}.json")).json()["incomplete"]
    with sqlite3.connect(changed.path) as connection:
        connection.execute(
            "insert into deliveries (request_id, recorded_at, actor, origin, supplier_id, item_id, received_on, unit,"
            " received, price, priced_quantity) select 'new', '2026-11-25T00:00:00Z', 'Ines', 'file', 'none', id,"
            " '2026-11-25', unit, '1000', '99', '1000' from items where name = ?",
            (changed.name,),
        )
    after = (await changed.client.get(f"/cost/{changed.dish}.json")).json()["incomplete"]
    assert set(before) - set(after) == {f"no price for {changed.name}"}


async def test_what_if_a_cut_gives_less(house: Any) -> None:
    """Half of a brill instead of 60 %: its dish moves, the page says what it is now; more than 100 % is refused."""
    for query in ("item=brill&yield=50", "cut=brill-portion&usable=50"):
        found = (await house.client.get(f"/cost/what-if.json?{query}")).json()
        (moved,) = found["moved"]
        assert moved["id"].startswith("brill") and moved["by"] > 0 and "60.0 %" in found["now"]
    refused = (await house.client.get("/cost/what-if.json?cut=brill-portion&usable=120")).json()
    assert refused["moved"] is None and "at most 100 %" in refused["wrong"][0]


async def test_bones_left_by_a_cut_are_known_where_they_are_used(house: Any) -> None:
    """Fish bones are credited and never bought: broth, turbot and sea bass have a whole cost and a place in the mix."""
    plates = (await house.client.get("/cost.json")).json()["plates"]
    assert not [p["id"] for p in plates if "fish bones" in " ".join(p["incomplete"])]
    broth = (await house.client.get("/cost/barley-eel-broth-and-mussels.json")).json()
    (bones,) = (row for row in broth["items"] if row["item"] == "fish bones")
    assert (bones["price per unit"], bones["price from"]) == (0.9, "as credited to the cut that leaves it")
    sections = (await house.client.get("/menu.json")).json()["sections"]
    placed = {d["dish"]: d["class"] for s in sections for d in s["dishes"]}
    assert placed["Barley, eel broth and mussels"]


@pytest.mark.parametrize("path", ["/cost", "/cost/brill-portion", "/menu", "/cost/cuts", "/cost/actual"])
async def test_a_day_ahead_is_said(house: Any, path: str) -> None:
    """Nobody knows next May's prices: the page says what it reckons with; today it says nothing of the kind."""
    page = (await house.client.get(f"{path}?on=2027-05-05")).text
    assert "5 May 2027 lies ahead: its menu, with the prices, recipes and sales known today." in page
    assert "lies ahead" not in (await house.client.get(f"{path}?on=2026-11-25")).text


async def test_an_exchange_is_in_the_units_that_the_form_names(house: Any) -> None:
    """Twenty eggs for one kg of butter, 0.04 l of vinegar for one lemon: never for one gram, never 0.04 ml.

    A plate of brill takes 25 g of brown butter, 31.25 g of butter as bought: 0.625 of an egg. And a quarter of a lemon;
    vinegar is 3.90 a litre.
    """
    path = "/cost/what-if.json?item=butter-salted&instead=egg&ratio=20"
    found = (await house.client.get(path)).json()
    assert found["now"] == "For 1 kg of butter, salted: 20 ea of egg."
    plate = "brill-on-the-bone-buttered-samphire"
    (brill,) = (m for m in found["moved"] if m["id"] == plate)
    assert brill["by"] is not None and abs(brill["by"]) < 0.5
    said = (await house.client.get("/cost/what-if.json?item=lemon&instead=cider-vinegar&ratio=0.04")).json()
    assert said["now"] == "For 1 ea of lemon: 0.04 l of cider vinegar."
    same = (await house.client.get("/cost/what-if.json?item=lemon&instead=cider-vinegar&ratio=0.02")).json()["moved"]
    (half,), (whole,) = ([m for m in x if m["id"] == plate] for x in (same, said["moved"]))
    assert whole["after"] - half["after"] == pytest.approx(0.25 * 0.02 * 3.90, abs=2e-4)
