"""The named views: their heads, what they need, their grain, and figures worked by hand."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from stillroom.db.build import create, needs_of, view_sources

SOURCES = view_sources()
NAMES = sorted(SOURCES)
UNITS = ("_g", "_ml", "_each", "_s", "_c", "_f", "_pct", "_frac", "_count", "_days", "_id")
# Numbers whose unit stands in a column beside them, and says so in the head.
BESIDE = re.compile(r"in unit|money for one price_unit|in one base unit of the dish")


@pytest.fixture
def db() -> Iterator[sqlite3.Connection]:
    """A kitchen small enough to reckon by hand."""
    connection = sqlite3.connect(":memory:", isolation_level=None)
    create(connection)
    nothing = dict.fromkeys(("edition", "section", "note", "basis", "source_id"), "")
    put(connection, "holding_rules", id="cold", rule="r", temp_f=41.0, direction="at most", **nothing)
    put(connection, "suppliers", id="ann", name="Ann")
    for item, unit, rule in (("cream", "ml", "cold"), ("eggs", "each", None), ("salt", "g", None)):
        put(connection, "items", id=item, name=item, category="dairy", unit=unit, receiving_rule_id=rule)
    product(connection, "c1", "cream", reviewed_on="2026-01-05", read_what="label")
    product(connection, "c2", "cream")
    product(connection, "e1", "eggs", reviewed_on="2026-02-01", read_what="letter")
    product(connection, "e0", "eggs", is_active=0)
    made = {"yield_quantity": "1", "yield_unit": "each", "yield_text": "1 ea", "origin": ""}
    put(connection, "recipes", id="tart", name="Tart", kind="dish", **made)
    for number, (item, amount) in enumerate((("cream", 50.0), ("cream", 20.0), ("eggs", 2.0), ("eggs", -1.0))):
        way = {"quantity": str(amount), "amount": amount, "path": f'["{item}"]', "component_ids": "[]", "level": 1}
        put(connection, "explosion", recipe_id="tart", path_no=number, item_id=item, **way)
    yield connection
    connection.close()


def product(connection: sqlite3.Connection, key: str, item: str, **said: Any) -> None:
    """A product of the one supplier, called as its item."""
    put(connection, "products", id=key, supplier_id="ann", item_id=item, name=f"{item} {key}", **said)


def put(connection: sqlite3.Connection, table: str, **row: Any) -> None:
    """One row."""
    marks = ", ".join(f":{c}" for c in row)
    connection.execute(f"insert into {table} ({', '.join(row)}) values ({marks})", row)


def deliver(connection: sqlite3.Connection, number: int, on: str, **row: Any) -> None:
    """One delivery line of cream, 5 l ordered and received unless said otherwise."""
    usual = {
        "supplier_id": "ann",
        "product_id": "c1",
        "item_id": "cream",
        "unit": "ml",
        "ordered": "5000",
        "received": "5000",
    }
    put(
        connection,
        "deliveries",
        **{
            "request_id": str(number),
            "recorded_at": "",
            "actor": "",
            "origin": "file",
            "received_on": on,
            **usual,
            **row,
        },
    )


def rows(connection: sqlite3.Connection, view: str, columns: str) -> list[tuple[Any, ...]]:
    """Some columns of a view, ordered by all of them."""
    return connection.execute(f"select {columns} from {view} order by 1, 2, 3").fetchall()


@pytest.mark.parametrize("name", NAMES)
def test_head_says_row_grain_and_needs(name: str) -> None:
    """The comment stands inside the view, where SQLite keeps it and Datasette shows it."""
    lines = SOURCES[name].splitlines()
    assert lines[0] == f"create view {name} as"
    assert re.match(r"-- One row per .+\. grain: [\w, ]+\. needs: [\w, ]+\.$", lines[1])
    assert len(lines) <= 60


@pytest.mark.parametrize("name", NAMES)
def test_needs_are_what_sqlite_reads(name: str, db: sqlite3.Connection) -> None:
    """The authorizer names all that the statement reads; what a needed view needs is that view's business."""
    parts = set(re.findall(r"^(?:with (?:recursive )?|\), )(\w+)(?: \([\w, ]+\))? as \(", SOURCES[name], flags=re.M))
    read: set[str] = set()

    def note(action: int, table: str | None, _column: str | None, _database: str | None, inside: str | None) -> int:
        if action == sqlite3.SQLITE_READ and table and inside in {name, *parts}:
            read.add(table)
        return sqlite3.SQLITE_OK

    db.set_authorizer(note)
    db.execute(f"select * from {name} limit 0")
    db.set_authorizer(None)
    assert read - parts == set(needs_of(SOURCES[name]))


@pytest.mark.parametrize("name", NAMES)
def test_notes_name_columns_and_numbers_have_units(name: str, db: sqlite3.Connection) -> None:
    """No note of a column that isn't there; a number says its unit in its name or names the column that does."""
    cursor = db.execute(f"select * from {name} limit 0")
    columns = [c[0] for c in cursor.description]
    notes = dict(re.findall(r"^-- (\w+): (.+)$", SOURCES[name], flags=re.M))
    assert set(notes) <= set(columns)
    for column in re.findall(r" as (\w+),?$", SOURCES[name], flags=re.M):
        is_number = re.search(rf"(cast\(|sum\(|count\(|\* |/ ).* as {column},?$", SOURCES[name], flags=re.M)
        if is_number and column in columns and not column.startswith("is_") and not column.endswith(UNITS):
            assert BESIDE.search(notes.get(column, "")), column


@pytest.fixture(scope="module")
def lived_in(demo_db: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demonstration after somebody corrected a batch, and corrected the correction."""
    path = tmp_path_factory.mktemp("lived") / "kitchen.db"
    with sqlite3.connect(demo_db) as source, sqlite3.connect(path) as copy:
        source.backup(copy)
        for new, old in (("first", "b.id = (select max(id) from batches)"), ("second", "b.request_id = 'first'")):
            copy.execute(
                "insert into batches"
                " (request_id, recorded_at, actor, origin, voids, recipe_id, lot_code, made_on, quantity, unit)"
                f" select '{new}', '2026-11-25T12:00:00Z', 'Ruth', 'web', b.id, b.recipe_id, b.lot_code, b.made_on,"
                f" b.quantity, b.unit from batches as b where {old}"
            )
    return path


@pytest.mark.parametrize("name", NAMES)
def test_grain_is_one_row_each_on_the_demonstration(name: str, lived_in: Path) -> None:
    """No two rows with one key, no key that is null, and the view has rows at all."""
    grain = re.search(r"grain: ([\w, ]+)\.", SOURCES[name])
    assert grain
    key = grain.group(1)
    with sqlite3.connect(f"file:{lived_in}?mode=ro", uri=True) as connection:
        total, distinct, nulls = connection.execute(
            f"select (select count(*) from {name}), (select count(*) from (select distinct {key} from {name})),"
            f" (select count(*) from {name} where {' or '.join(f'{k} is null' for k in key.split(', '))})"
        ).fetchone()
    assert total == distinct > 0 and nulls == 0


def test_an_item_is_reviewed_only_when_all_its_products_are(db: sqlite3.Connection) -> None:
    """One unread product of two is not reviewed; an item nobody sells is not either; an old product doesn't count."""
    assert rows(db, "item_review", "item_id, product_count, unread_count, oldest_review_on, review") == [
        ("cream", 2, 1, "2026-01-05", "not reviewed"),
        ("eggs", 1, 0, "2026-02-01", "reviewed"),
        ("salt", 0, 0, None, "no product"),
    ]
    assert rows(db, "unreviewed_item", "item_id, unread_count, dish_count") == [("cream", 1, 1), ("salt", 0, 0)]


def test_by_product_credits_are_no_part_of_a_dish(db: sqlite3.Connection) -> None:
    """50 and 20 of cream are 70 by two ways; the eggs given back don't make the two in the tart one."""
    assert rows(db, "dish_item", "item_id, quantity, unit, path_count") == [
        ("cream", 70.0, "ml", 2),
        ("eggs", 2.0, "each", 1),
    ]


def test_a_delivery_line_keeps_unknown_unknown(db: sqlite3.Connection) -> None:
    """Not measured is not in range, not promised is not on time, not ordered is not short, no price is not zero."""
    deliver(
        db,
        1,
        "2026-03-02",
        due_on="2026-03-01",
        received="4000",
        rejected="500",
        door_temp_f=42.0,
        price="9.60",
        priced_quantity="4000",
    )
    deliver(db, 2, "2026-03-03", ordered=None)
    deliver(db, 3, "2026-03-04", received="6000", door_temp_f=41.0, due_on="2026-03-04")
    deliver(db, 4, "2026-03-05", kind="credit")
    columns = "delivery_id, short, is_late, is_out_of_range, unit_price, price_unit"
    assert rows(db, "delivery_line", columns) == [
        (1, 1500.0, 1, 1, pytest.approx(2.40), "l"),
        (2, None, None, None, None, "l"),
        (3, 0.0, 0, 0, None, "l"),
    ]


def test_a_corrected_delivery_counts_once(db: sqlite3.Connection) -> None:
    """The row that voids stands in the place of the one it corrects."""
    deliver(db, 1, "2026-03-02")
    deliver(db, 2, "2026-03-02", voids=1, received="4500")
    assert rows(db, "delivery_line", "delivery_id, received, short") == [(2, 4500.0, 500.0)]


def test_price_changes_are_reckoned_from_the_line_before(db: sqlite3.Connection) -> None:
    """2.00, 2.50, 2.00 a litre: up 25 %, down 20 %; in the end it has not moved, and says so with nought."""
    for number, price in enumerate(("10.00", "12.50", "10.00"), 1):
        deliver(db, number, f"2026-03-0{number}", price=price, priced_quantity="5000")
    deliver(db, 4, "2026-03-04", item_id="eggs", product_id="e1", unit="each", price="0.40", priced_quantity="1")
    deliver(db, 5, "2026-03-05", item_id="eggs", product_id="e1", unit="each", price="0.50", priced_quantity="1")
    assert rows(db, "item_price_history", "delivery_id, unit_price, change_pct") == [
        (1, 2.0, None),
        (2, 2.5, pytest.approx(25)),
        (3, 2.0, pytest.approx(-20)),
        (4, 0.4, None),
        (5, 0.5, pytest.approx(25)),
    ]
    assert rows(db, "product_price_move", "product_id, delivery_count, first_price, last_price, change_pct") == [
        ("c1", 3, 2.0, 2.0, 0.0),
        ("e1", 2, 0.4, 0.5, pytest.approx(25)),
    ]


def test_the_last_word_on_a_shortage_counts(db: sqlite3.Connection) -> None:
    """Short, then out: out. Short, then back: nothing."""
    for number, (item, state) in enumerate((("cream", "short"), ("eggs", "short"), ("cream", "out"), ("eggs", "back"))):
        put(
            db,
            "shortages",
            request_id=str(number),
            recorded_at="",
            actor="",
            origin="file",
            item_id=item,
            state=state,
            since_on="2026-03-01",
        )
    assert rows(db, "shortage_now", "thing, state, expected_on") == [("cream", "out", None)]


def test_short_means_the_same_as_on_the_supplier_page(demo_db: Path) -> None:
    """One word, one meaning: ordered and not accepted, line by line, exact but for a real's rounding."""
    from fractions import Fraction

    with sqlite3.connect(f"file:{demo_db}?mode=ro", uri=True) as connection:
        found = connection.execute(
            "select v.short, v.unit_price, d.ordered, d.received, d.rejected, d.price, d.priced_quantity, d.unit"
            " from delivery_line as v join deliveries as d on d.id = v.delivery_id"
        ).fetchall()
    assert len(found) > 2000
    for short, price, ordered, received, rejected, paid, bought, unit in found:
        exact = (
            None if ordered is None else max(Fraction(0), Fraction(ordered) - Fraction(received) + Fraction(rejected))
        )
        assert short == (None if exact is None else pytest.approx(float(exact)))
        if paid is not None and bought:
            assert price == pytest.approx(float(Fraction(paid) / Fraction(bought) * (1 if unit == "each" else 1000)))


def test_every_earlier_entry_of_a_batch_leads_to_the_one_that_counts(lived_in: Path) -> None:
    """Corrected twice: the first and the second entry both mean the third; one that was only taken back means none."""
    with sqlite3.connect(lived_in) as connection:
        newest = connection.execute("select id from batches order by id desc limit 3").fetchall()
        third, second, first = (i for (i,) in newest)
        found = connection.execute("select batch_id, entry_id from batch_correction order by entry_id").fetchall()
        assert found == [(third, first), (third, second)]


def test_a_lot_keeps_its_receipt_when_that_is_corrected(db: sqlite3.Connection) -> None:
    """The delivery that a lot names was corrected twice: the last entry is behind it. Taken back: nothing is."""
    deliver(db, 1, "2026-03-01")
    deliver(db, 2, "2026-03-01", voids=1, received="4000")
    deliver(db, 3, "2026-03-01", voids=2, received="4500")
    said = {"recorded_at": "", "actor": "", "origin": "file", "item_id": "cream", "started_on": "2026-03-02"}
    put(db, "ageing_lots", request_id="a", lot_code="L1", start_g="4000", delivery_id=1, **said)
    put(db, "ageing_lots", request_id="b", lot_code="L2", start_g="4000", **said)
    assert db.execute("select * from lot_receipt").fetchall() == [(1, 3)]
    deliver(db, 4, "2026-03-01", voids=3, stands=0)
    assert db.execute("select * from lot_receipt").fetchall() == []


def test_an_item_of_which_only_a_box_was_sent_back_has_no_product(db: sqlite3.Connection) -> None:
    """Goods under a name of their own that were all rejected stand for nothing; those that were kept, for a label."""
    box = {"item_id": "salt", "product_id": None, "description": "Sea flakes", "unit": "g"}
    deliver(db, 7, "2026-03-03", **box, rejected="5000")
    unread = "select kind from unread_label where item_id = 'salt'"
    assert db.execute(unread).fetchall() == [("no product",)]
    deliver(db, 8, "2026-03-04", **box, rejected="0")
    assert db.execute(unread).fetchall() == [("seen",)]
    review = "select review, unread_count from item_review where item_id = 'salt'"
    assert db.execute(review).fetchall() == [("not reviewed", 1)]
