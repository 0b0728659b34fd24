"""What breakdowns put into the stock, worked by hand: portions once, by-products, the piece itself, counts after."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from fractions import Fraction as F
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.db.build import create
from stillroom.db.cut_up import Made, Part, once, portions
from stillroom.db.log import take_back
from stillroom.db.stock import read_stock

MON, TUE, WED, THU = (f"2026-11-2{n}" for n in (3, 4, 5, 6))


@pytest.fixture
def db() -> Iterator[sqlite3.Connection]:
    """A saddle gives chops of 260 g that keep four days, and fat and trim; a pie takes trim, a dish two chops."""
    connection = sqlite3.connect(":memory:", isolation_level=None)
    create(connection)
    for item, life in (("saddle", 10), ("fat", None), ("trim", 3)):
        put(connection, "items", id=item, name=item, category="meat", unit="g", shelf_life_days=life)
    recipe(connection, "chop", "cut", "1", "each", shelf_life_days=4, portion_quantity="260")
    recipe(connection, "pie", "sub-recipe", "1000", "g")
    recipe(connection, "plate", "dish", "1", "each")
    for number, (of, thing, quantity, unit) in enumerate((("chop", "saddle", "400", "g"), ("pie", "trim", "600", "g"))):
        line = {"line": thing, "amount": 1.0, "said_quantity": "1", "said_unit": "g", "position": number}
        put(connection, "components", recipe_id=of, item_id=thing, quantity=quantity, unit=unit, **line)
    put(connection, "components", recipe_id="plate", sub_recipe_id="chop", quantity="2", unit="each", line="2 chops",
        amount=2.0, said_quantity="2", said_unit="ea", position=1)  # fmt: skip
    yield connection
    connection.close()


def recipe(connection: sqlite3.Connection, key: str, kind: str, made: str, unit: str, **said: Any) -> None:
    frame = {"yield_text": "", "origin": ""}
    put(connection, "recipes", id=key, name=key, kind=kind, yield_quantity=made, yield_unit=unit, **frame, **said)


def put(connection: sqlite3.Connection, table: str, **row: Any) -> None:
    marks = ", ".join(f":{c}" for c in row)
    connection.execute(f"insert into {table} ({', '.join(row)}) values ({marks})", row)


def log(connection: sqlite3.Connection, table: str, **row: Any) -> int:
    (number,) = connection.execute(f"select count(*) from {table}").fetchone()
    put(connection, table, request_id=f"{table}{number}", recorded_at="", actor="Ruth", origin="web", **row)
    return int(connection.execute(f"select max(id) from {table}").fetchone()[0])


def broken(connection: sqlite3.Connection, code: str, on: str, input_g: str, *outputs: Any, lot: str = "") -> int:
    """A breakdown: outputs are (thing, weight [g], pieces); None is loss."""
    entry = log(connection, "breakdowns", code=code, cut_recipe_id="chop", lot_code=lot, broken_on=on, input_g=input_g)
    for thing, weight, pieces in outputs:
        column = "recipe_id" if thing == "chop" else "item_id"
        log(connection, "breakdown_outputs", breakdown_code=code, weight_g=weight, pieces=pieces, **{column: thing})
    return entry


def ticked(connection: sqlite3.Connection, on: str, number: int, lots: str = "", before: str | None = None) -> int:
    """A batch of chops and its tick."""
    batch = log(connection, "batches", recipe_id="chop", made_on=on, quantity=str(number), unit="each", use_by=WED,
                from_lots=lots)  # fmt: skip
    log(connection, "task_ticks", prep_on=on, recipe_id="chop", state="done", quantity=str(number), unit="each",
        batch_id=batch, cut_before=before)  # fmt: skip
    return batch


def on_hand(connection: sqlite3.Connection, thing: str = "chop", day: str = WED) -> F | None:
    return read_stock(connection, ["saddle", "fat", "trim", "chop"], day)[thing].on_hand


def counted(connection: sqlite3.Connection, on: str, number: int, **of: str) -> None:
    log(connection, "counts", counted_on=on, quantity=str(number), unit="g", **of)


SADDLE = (("chop", "4650", 18), ("fat", "890", None), ("trim", "600", None), (None, "550", None))


def test_chops_cut_on_tuesday_are_there_on_wednesday(db: sqlite3.Connection) -> None:
    """Saddle of 6.69 kg: 18 chops, until their fourth day; the loss is nothing's stock."""
    broken(db, "K-1", TUE, "6690", *SADDLE)
    assert on_hand(db) == 18
    (lot,) = read_stock(db, ["chop"], WED)["chop"].lots
    assert (lot.use_by, lot.cut, lot.lot) == ("2026-11-27", "K-1", None)
    assert on_hand(db, day="2026-11-27") == 18
    assert on_hand(db, day="2026-11-28") is None  # nothing in date, and nobody counted


def test_by_products_are_there_too(db: sqlite3.Connection) -> None:
    """Fat keeps as long as its cut where it says nothing itself, trim its own three days; a pie takes 300 g of it."""
    broken(db, "K-1", TUE, "6690", *SADDLE)
    assert (on_hand(db, "fat"), on_hand(db, "trim")) == (890, 600)
    log(db, "batches", recipe_id="pie", made_on=WED, quantity="500", unit="g")
    assert on_hand(db, "trim") == 300
    assert read_stock(db, ["fat"], WED)["fat"].lots[0].use_by == "2026-11-27"


def test_a_by_product_that_is_bought_too_is_not_known_by_a_breakdown_alone(db: sqlite3.Connection) -> None:
    """Who buys fat and never counted doesn't know what there is; after a count what came of it is added."""
    log(db, "deliveries", supplier_id="ann", item_id="fat", received_on=MON, unit="g", received="500")
    broken(db, "K-1", TUE, "6690", *SADDLE)
    assert on_hand(db, "fat") is None
    counted(db, MON, 700, item_id="fat")
    assert on_hand(db, "fat") == 1590


def test_the_saddle_itself_goes_down_by_what_was_on_the_board(db: sqlite3.Connection) -> None:
    """20 kg counted on Monday; 6.69 kg broken down: 13.31 left. Undone, all is as it was."""
    counted(db, MON, 20_000, item_id="saddle")
    entry = broken(db, "K-1", TUE, "6690", *SADDLE)
    assert on_hand(db, "saddle") == 13_310
    take_back(db, "breakdowns", entry, "Ruth")
    assert (on_hand(db, "saddle"), on_hand(db), on_hand(db, "fat")) == (20_000, None, None)


def test_a_lot_takes_what_it_weighed_when_it_was_hung_since_the_count(db: sqlite3.Connection) -> None:
    """Hung after the count with 8 kg, 6.69 on the board: 8 kg are gone. Hung before it, it was counted as it was."""
    counted(db, MON, 20_000, item_id="saddle")
    hung = {"item_id": "saddle", "cut_recipe_id": "chop"}
    log(db, "ageing_lots", lot_code="M-1", started_on=TUE, start_g="8000", **hung)
    log(db, "ageing_lots", lot_code="M-2", started_on="2026-11-02", start_g="7600", **hung)
    broken(db, "K-1", TUE, "6690", *SADDLE, lot="M-1")
    assert on_hand(db, "saddle") == 12_000
    broken(db, "K-2", TUE, "6000", *SADDLE, lot="M-2")
    assert on_hand(db, "saddle") == 6_000


def test_ticked_and_then_weighed_out_is_once(db: sqlite3.Connection) -> None:
    """17 ticked, 18 weighed out: 18. The piece is what the scale said, not what the recipe reckons for 17."""
    counted(db, MON, 20_000, item_id="saddle")
    ticked(db, TUE, 17)
    assert on_hand(db, "saddle") == 20_000 - 17 * 400
    broken(db, "K-1", TUE, "6690", *SADDLE)
    assert on_hand(db) == 18
    assert on_hand(db, "saddle") == 13_310


def test_one_tick_and_two_breakdowns(db: sqlite3.Connection) -> None:
    """36 ticked; after one saddle is weighed out they are still 36, and after both."""
    ticked(db, TUE, 36)
    broken(db, "K-1", TUE, "6690", *SADDLE)
    assert on_hand(db) == 36
    broken(db, "K-2", TUE, "6690", *SADDLE)
    assert on_hand(db) == 36


def test_a_tick_after_a_breakdown_is_of_what_was_still_asked_for(db: sqlite3.Connection) -> None:
    """18 weighed out, then 6 ticked that the list still asked for: 24; a breakdown of those six adds nothing."""
    broken(db, "K-1", TUE, "6690", *SADDLE)
    ticked(db, TUE, 6, before="18")
    assert on_hand(db) == 24
    broken(db, "K-2", TUE, "2000", ("chop", "1560", 6))
    assert on_hand(db) == 24


def test_where_the_tick_named_its_lot_the_breakdown_says_how_many(db: sqlite3.Connection) -> None:
    """19 expected and ticked of M-1, 18 came out, weighed out the day after: 18, and the batch keeps its number."""
    log(db, "ageing_lots", lot_code="M-1", item_id="saddle", started_on="2026-11-02", start_g="7600")
    batch = ticked(db, MON, 19, lots="M-1")
    broken(db, "K-1", TUE, "6690", *SADDLE, lot="M-1")
    (lot,) = read_stock(db, ["chop"], WED)["chop"].lots
    assert (lot.quantity, lot.lot, lot.use_by) == (18, batch, WED)


def test_a_lot_ticked_and_another_broken_down_are_two(db: sqlite3.Connection) -> None:
    """19 of M-1 ticked; M-2 gave 18 on the same day: 37."""
    for code in ("M-1", "M-2"):
        log(db, "ageing_lots", lot_code=code, item_id="saddle", started_on="2026-11-02", start_g="7600")
    ticked(db, TUE, 19, lots="M-1")
    broken(db, "K-1", TUE, "6690", *SADDLE, lot="M-2")
    assert on_hand(db) == 37


def test_a_box_of_goods_is_broken_down_on_two_days(db: sqlite3.Connection) -> None:
    """Box B of Monday: 10 ticked and weighed out on Monday, 12 ticked on Tuesday with nothing weighed out yet: 22."""
    ticked(db, MON, 10, lots="B")
    broken(db, "K-1", MON, "6690", ("chop", "2600", 10), lot="B")
    ticked(db, TUE, 12, lots="B")
    assert on_hand(db) == 22


def test_a_part_that_is_frozen_leaves_the_rest(db: sqlite3.Connection) -> None:
    """18 weighed out; 10 of them go into the freezer as a batch that names the breakdown: 10 frozen and 8 not."""
    broken(db, "K-1", TUE, "6690", *SADDLE)
    log(db, "batches", recipe_id="chop", made_on=TUE, quantity="10", unit="each", use_by="2026-11-27", frozen_on=TUE,
        from_lots="K-1")  # fmt: skip
    lots = read_stock(db, ["chop"], WED)["chop"].lots
    assert sorted((x.quantity, x.is_frozen) for x in lots) == [(8, False), (10, True)]


def test_a_batch_that_names_the_breakdown_is_its_label(db: sqlite3.Connection) -> None:
    """Logged the day after for its label: the same 18 chops."""
    broken(db, "K-1", MON, "6690", *SADDLE)
    log(db, "batches", recipe_id="chop", made_on=TUE, quantity="18", unit="each", use_by=WED, from_lots="K-1")
    assert on_hand(db) == 18


def test_used_thrown_away_and_sold_come_off(db: sqlite3.Connection) -> None:
    """18, two thrown away, three plates of two chops sold: 10."""
    broken(db, "K-1", MON, "6690", *SADDLE)
    log(db, "batch_uses", recipe_id="chop", used_on=TUE, quantity="2", unit="each", what="discarded")
    log(db, "plates_sold", recipe_id="plate", sold_on=TUE, plates=3)
    assert on_hand(db) == 10


def test_a_later_count_stands(db: sqlite3.Connection) -> None:
    """11 counted on Tuesday evening of what was cut that day: 11, with the date of those cut."""
    broken(db, "K-1", TUE, "6690", *SADDLE)
    counted(db, TUE, 11, recipe_id="chop")
    counted(db, TUE, 400, item_id="fat")
    assert (on_hand(db), on_hand(db, "fat")) == (11, 400)
    assert read_stock(db, ["chop"], WED)["chop"].lots[0].use_by == "2026-11-27"


def test_a_corrected_breakdown_counts_once(db: sqlite3.Connection) -> None:
    """17 written, corrected to 18: 18; the rows of the first are nobody's."""
    first = broken(db, "K-1", TUE, "6690", ("chop", "4420", 17))
    log(db, "breakdowns", code="K-2", cut_recipe_id="chop", broken_on=TUE, input_g="6690", voids=first)
    log(db, "breakdown_outputs", breakdown_code="K-2", recipe_id="chop", weight_g="4650", pieces=18)
    assert on_hand(db) == 18


@pytest.mark.parametrize(
    ("unit", "pieces", "portion", "per_gram", "found"),
    [("g", 3, F(260), None, 800), ("each", 4, F(260), None, 4), ("each", None, F(260), None, 3),
     ("each", None, None, None, 0), ("each", None, None, F(1, 200), 4), ("ml", None, None, F(10, 9), F(8000, 9)),
     ("ml", 4, None, None, 0)],
)  # fmt: skip
def test_a_weight_in_the_things_own_unit(
    unit: str, pieces: int | None, portion: F | None, per_gram: F | None, found: F
) -> None:
    """800 g: counted pieces, else whole portions by weight, never a part of one; what can't be told is nothing."""
    assert portions(unit, F(800), pieces, portion, per_gram) == found


LOTS = ("", "m-1", "m-2")
PARTS = st.lists(st.tuples(st.sampled_from((MON, TUE)), st.sampled_from(LOTS), st.integers(0, 30)), max_size=4)
BATCHES = st.lists(
    st.tuples(st.sampled_from((MON, TUE)), st.sets(st.sampled_from(LOTS[1:])), st.integers(1, 30), st.integers(0, 40)),
    max_size=4,
)


@given(PARTS, BATCHES)
def test_never_counted_twice_never_lost_never_below_nothing(
    gave: list[tuple[str, str, int]], made: list[tuple[str, set[str], int, int]]
) -> None:
    """In all at least what breakdowns say and at most the two together; nothing negative; what is alone stands."""
    parts = [Part(n, "chop", day, F(q), lot=lot, code=f"K-{n}") for n, (day, lot, q) in enumerate(gave)]
    batches = [Made(n, "chop", d, F(q), frozenset(lots), F(b)) for n, (d, lots, q, b) in enumerate(made)]
    found = once(parts, batches)
    every = [*found.more.values(), *found.made.values(), *found.own.values()]
    assert all(q >= 0 for q in every)
    said, weighed = sum((b.quantity for b in batches), F(0)), sum((p.quantity for p in parts), F(0))
    total = sum(found.more.values(), F(0)) + sum(found.made.values(), F(0))
    assert weighed <= total <= said + weighed
    assert all(found.more[p.id] <= p.quantity for p in parts)
    assert all(found.own[b.id] <= found.made[b.id] <= b.quantity for b in batches)
    assert weighed + sum(found.own.values(), F(0)) <= total
    if not parts or not batches:
        assert total == said + weighed


@given(st.integers(0, 40), st.lists(st.integers(1, 30), min_size=1, max_size=3))
def test_ticks_and_breakdowns_of_one_day_are_the_larger_of_the_two(weighed: int, said: list[int]) -> None:
    """Without lots, and with nothing broken down before the ticks."""
    found = once([Part(1, "chop", TUE, F(weighed))], [Made(n, "chop", TUE, F(q)) for n, q in enumerate(said)])
    assert sum(found.more.values()) + sum(found.made.values()) == max(weighed, sum(said))
