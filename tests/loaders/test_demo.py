"""The demonstration kitchen: as large as it says, every table filled, nothing a chef would not believe."""

from __future__ import annotations

import json
import re
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from stillroom.db.allergen_facts import dish_declarations

DEMO = Path(__file__).parents[2] / "db" / "demo"
TODAY = "2026-11-25"
LEAST = {
    "suppliers": 12, "items": 160, "products": 220, "surfaces": 5, "stations": 5, "equipment": 7, "people": 5,
    "substitutes": 12, "pars": 30, "by_products": 8, "pieces": 5, "cooking_steps": 10, "item_measures": 30,
    "recipe_measures": 5, "method_steps": 200, "price_quotes": 220, "service_days": 5, "deliveries": 2500,
    "counts": 1000, "batches": 900, "batch_uses": 100, "ageing_lots": 5, "weigh_ins": 30, "breakdowns": 5,
    "breakdown_outputs": 20, "probe_readings": 50, "cooling_readings": 60, "hold_checks": 50,
    "plates_sold": 2500, "covers": 130, "shortages": 2, "tastings": 3,
}  # fmt: skip
RECIPES = {"dish": 28, "sub-recipe": 70, "cut": 8}


@pytest.fixture(scope="module")
def db(demo_db: Path) -> Iterator[sqlite3.Connection]:
    connection = sqlite3.connect(f"file:{demo_db}?mode=ro", uri=True)
    yield connection
    connection.close()


def one(db: sqlite3.Connection, sql: str) -> float:
    """The one number that a question answers."""
    return float(db.execute(sql).fetchone()[0])


@pytest.mark.parametrize("table", LEAST)
def test_every_table_is_filled(db: sqlite3.Connection, table: str) -> None:
    """No page of the demonstration is empty for want of rows."""
    assert one(db, f"select count(*) from {table}") >= LEAST[table]


def test_recipes_go_down_to_level_six(db: sqlite3.Connection) -> None:
    """Dishes, sub-recipes and cuts; one dish draws on a sub-recipe six steps below it; three cuts are aged."""
    kinds = dict(db.execute("select kind, count(*) from recipes group by kind"))
    assert all(kinds[kind] >= least for kind, least in RECIPES.items()), kinds
    paths = [json.loads(p) for (p,) in db.execute("select path from explosion where amount > 0")]
    assert max(len(path) - 1 for path in paths) >= 6
    assert one(db, "select count(*) from recipes where kind = 'cut' and shrink is not null") >= 3


@pytest.mark.parametrize("day", ["2026-06-15", "2026-07-20", TODAY])
def test_a_menu_is_no_longer_than_a_kitchen_can_cook(db: sqlite3.Connection, day: str) -> None:
    """Two seasons; each evening a guest reads about twenty dishes."""
    sql = (
        "select name from recipes where kind = 'dish' and status = 'active'"
        " and coalesce(from_on, '0') <= ? and coalesce(to_on, '9') >= ?"
    )
    assert 14 <= len(db.execute(sql, (day, day)).fetchall()) <= 24


def test_allergens_have_changed_and_one_change_waits(db: sqlite3.Connection) -> None:
    """What each change says is what the dish declares; older ones are read, the newest is not."""
    told = db.execute(
        "select c.dish_id, c.allergen_id, c.now, c.because, r.id is not null from allergen_changes as c"
        " left join change_reads as r on r.change_id = c.id order by c.changed_on"
    ).fetchall()
    declared = dish_declarations(db)
    assert [declared[dish, allergen] for dish, allergen, *_ in told] == [now for _, _, now, *_ in told]
    for dish, allergen, _, because, _ in told:
        found = db.execute(
            "select 1 from products as p join product_allergens as a on a.product_id = p.id join dish_item as d"
            " on d.item_id = p.item_id where p.name = ? and a.allergen_id = ? and d.dish_id = ?",
            (because, allergen, dish),
        )
        assert found.fetchone(), because
    assert [is_read for *_, is_read in told] == [1] * (len(told) - 1) + [0] and len(told) >= 3


def test_labels_are_partly_unread_and_finely_said(db: sqlite3.Connection) -> None:
    """Some products nobody has read, one item with a read and an unread product, and many single allergens."""
    assert one(db, "select count(*) from products where reviewed_on is null and is_active = 1") >= 5
    mixed = (
        "select count(*) from (select item_id from products where is_active = 1 group by item_id"
        " having count(reviewed_on) between 1 and count(*) - 1)"
    )
    assert one(db, mixed) >= 1
    said = {a for (a,) in db.execute("select distinct allergen_id from product_allergens")}
    assert said >= {
        "milk", "egg", "wheat", "barley", "rye", "oats", "walnut", "hazelnut", "almond", "shrimp", "crab", "oyster",
        "eel", "cod", "brill", "mustard", "celery", "sulphite", "sesame", "soy",
    }  # fmt: skip


def test_half_a_year_of_deliveries_has_its_troubles(db: sqlite3.Connection) -> None:
    """26 weeks up to today; some short, late, sent back or warm at the door, most of them none of it; prices moved."""
    came = "select min(received_on), max(received_on), count(*) from delivery_line where received > 0"
    first, last, count = db.execute(came).fetchone()
    assert first <= "2026-05-30" and last == TODAY
    for trouble, most in (("short > 0", 0.1), ("is_late", 0.05), ("rejected > 0", 0.05), ("is_out_of_range", 0.05)):
        share = one(db, f"select count(*) from delivery_line where {trouble}") / count
        assert 0 < share < most, trouble
    assert one(db, "select count(*) from deliveries where rejected <> '0' and reject_reason = ''") == 0
    assert one(db, "select count(*) from product_price_move where abs(change_pct) > 5") >= 10


def test_brill_is_short_today_and_nothing_else(db: sqlite3.Connection) -> None:
    """What the first page and the short-supply page show."""
    assert [r[0] for r in db.execute("select item_id from shortage_now")] == ["brill"]
    sql = "select ordered, received from delivery_line where item_id = 'brill' and received_on = ?"
    ordered, received = db.execute(sql, (TODAY,)).fetchone()
    assert 0 < received < ordered


def test_ageing_pieces_lose_weight_as_published(db: sqlite3.Connection) -> None:
    """Every weigh-in is lighter than the one before; bone-in rib has lost 8 to 15 % after 28 to 37 days.

    Source: Dashdorj et al. 2016, J Anim Sci Technol 58:20, Table 1, bone-in ribeye: 9.7 % at 28, 11.7 % at 35 days.
    """
    rows = db.execute(
        "select l.lot_code, l.item_id, cast(l.start_g as real), cast(w.weight_g as real),"
        " julianday(w.weighed_on) - julianday(l.started_on) from weigh_ins as w"
        " join ageing_lots as l on l.lot_code = w.lot_code order by l.lot_code, w.weighed_on"
    ).fetchall()
    before: dict[str, float] = {}
    losses = []
    for lot, item, start, weight, days in rows:
        assert weight < before.get(lot, start), lot
        before[lot] = weight
        if item == "beef-rib-bone-in" and 28 <= days <= 37:
            losses.append(1 - weight / start)
    assert losses and all(0.08 <= loss <= 0.15 for loss in losses), losses


def test_a_breakdown_adds_up(db: sqlite3.Connection) -> None:
    """Portions, by-products and loss together weigh what went on the board, within 20 g."""
    sums = db.execute(
        "select b.code, cast(b.input_g as real), sum(cast(o.weight_g as real)) from breakdowns as b"
        " join breakdown_outputs as o on o.breakdown_code = b.code group by b.code"
    ).fetchall()
    assert [s for s in sums if abs(s[1] - s[2]) > 20] == []


def test_dishes_cost_what_such_dishes_cost(db: sqlite3.Connection) -> None:
    """Bought quantities at the last asked price, the lowest of a day, are 3 to 40 % of every dish's menu price."""
    price: dict[str, float] = {}
    for item, asked, buys in db.execute(
        "select p.item_id, q.price, q.priced_quantity from price_quotes as q join products as p on p.id = q.product_id"
        " where p.is_active = 1 order by q.quoted_on, cast(q.price as real) / q.priced_quantity desc"
    ):
        price[item] = float(asked) / float(buys)
    cost: dict[str, float] = {}
    for dish, menu, item, amount, edible in db.execute(
        "select r.name, r.menu_price, e.item_id, e.amount, e.edible_yield from explosion as e"
        " join recipes as r on r.id = e.recipe_id where r.kind = 'dish' and r.status = 'active'"
    ):
        # By-products that nobody sells have no price; they are worth little beside the plate.
        cost[dish] = cost.get(dish, 0) + amount / _share(edible) * price.get(item, 0) / float(menu)
    assert {d: round(c, 3) for d, c in cost.items() if not 0.03 < c < 0.4} == {}


def _share(text: str | None) -> float:
    """An exact share, '17/20' or '0.85', as a float; 1 where there is none."""
    top, _, below = (text or "1").partition("/")
    return float(top) / float(below or 1)


def test_no_note_of_a_substitute_hints_at_money(db: sqlite3.Connection) -> None:
    """Notes are free text that a cook reads too; the list of columns says so."""
    from stillroom.loaders.tables import TABLES

    notes = [note for (note,) in db.execute("select note from substitutes")]
    assert sum(map(bool, notes)) > 5
    assert [n for n in notes if re.search(r"dear|cheap|cost|price|money|[£$€]", n, re.I)] == []
    said = {c.note for t in TABLES for c in t.columns if c.name == "note"}
    assert said == {"anything else; everybody reads it: no prices"}


def test_the_demonstration_stays_small() -> None:
    """All source files together are below 2 MB."""
    assert sum(p.stat().st_size for p in DEMO.rglob("*") if p.is_file()) < 2_000_000


def test_the_demonstration_loads_without_a_word(demo_db: Path) -> None:
    """No warning either: what we show as an example has nothing to mend."""
    from stillroom.loaders.build import check

    assert [p for p in check(DEMO).problems] == []


def test_curing_salt_scales_with_the_weight(db: sqlite3.Connection) -> None:
    """Nitrite is so much for a kg of meat: "does not scale straight" beside it invites a wrong dose."""
    lines = "select scales from components where item_id = 'curing-salt'"
    assert db.execute(lines).fetchall() == [("straight",)]
