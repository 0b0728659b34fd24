"""A kitchen small enough to follow by hand: where each lot went, and where the records end."""

from __future__ import annotations

import csv
import io
import random
import shutil
import sqlite3
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from stillroom.db.book_versions import keep_versions
from stillroom.plugins.logbook.trace import (
    BY_DATES,
    BY_RECIPE,
    ENDS,
    NOT_IN_IT,
    WRITTEN,
    Batch,
    Goods,
    Records,
    Sale,
    backward,
    folded,
    forward,
    lots_of,
)
from stillroom.plugins.logbook.trace_rows import read_records

# Butter B1 (1 May, keeps 10 days) and B2 (8 May); brown butter X1 (2 May, B1 written) and X2 (9 May, nothing written);
# leeks have no lot. The dish has brown butter and leeks on it, and is sold on 3, 9 and 20 May. Stock never had a batch.
GOODS = (
    Goods(1, "butter", "B1", "2026-05-01", None), Goods(2, "butter", "B2", "2026-05-08", "2026-05-12"),
    Goods(3, "leeks", "", "2026-05-02", "2026-05-04"),
)  # fmt: skip
BATCHES = (
    Batch("batch 1", "brown", "X1", "2026-05-02", "2026-05-06", ("B1",)),
    Batch("batch 2", "brown", "X2", "2026-05-09", "2026-05-12", ()),
    Batch("batch 3", "crumb", "Y1", "2026-05-02", "2026-05-04", ("X1", "Q9")),
)
SALES = (
    Sale("dish", "2026-05-03", "dinner", 9),
    Sale("dish", "2026-05-09", "dinner", 4),
    Sale("dish", "2026-05-20", "dinner", 2),
)
LINES = {
    "dish": frozenset({"brown", "leeks", "stock"}), "brown": frozenset({"butter"}), "crumb": frozenset({"brown",
    "flour"}),
    "stock": frozenset({"bones"}),
}  # fmt: skip
KITCHEN = Records(
    GOODS, BATCHES, SALES, LINES, {"brown": "Brown butter"}, {"butter": 10}, "2026-05-25", lots_of(GOODS, BATCHES)
)


def said(steps: Any) -> list[tuple[int, str, str, str]]:
    return [(s.depth, s.kind, s.lot or s.on, s.how) for s in steps]


def test_forward_from_a_lot_of_goods() -> None:
    """B1 went into X1 as written, X1 into Y1 as written; X2 was made in its days and says nothing of its butter."""
    assert said(forward(KITCHEN, "B1")) == [
        (0, "goods", "B1", WRITTEN),
        (1, "batch", "X1", WRITTEN), (2, "batch", "Y1", WRITTEN), (2, "dish", "2026-05-03", BY_DATES),
        (1, "batch", "X2", BY_DATES), (2, "dish", "2026-05-09", BY_DATES),
    ]  # fmt: skip


def test_a_lot_that_came_later_was_in_no_batch_before_it() -> None:
    assert said(forward(KITCHEN, "B2")) == [
        (0, "goods", "B2", WRITTEN), (1, "batch", "X2", BY_DATES), (2, "dish", "2026-05-09", BY_DATES),
    ]  # fmt: skip


def test_a_batch_whose_lots_are_written_down_is_not_suspected_of_others() -> None:
    """X1 names its butter, so B2's twin of that day would not be in it."""
    twin = Goods(9, "butter", "B9", "2026-05-01", None)
    kitchen = Records(
        (*GOODS, twin), BATCHES, SALES, LINES, {}, {"butter": 10}, "2026-05-25", lots_of((*GOODS, twin), BATCHES)
    )
    assert "X1" not in [s.lot for s in forward(kitchen, "B9")] and "X2" in [s.lot for s in forward(kitchen, "B9")]


def test_backward_from_a_plate() -> None:
    """On 3 May: X1 with B1 behind it, leeks without a lot, and stock without a batch or bones."""
    steps = backward(KITCHEN, "dish", "2026-05-03")
    assert said(steps) == [
        (0, "dish", "2026-05-03", WRITTEN),
        (1, "batch", "X1", BY_DATES), (2, "goods", "B1", WRITTEN),
        (1, "goods", "2026-05-02", BY_DATES),
        (1, "end", "2026-05-03", BY_RECIPE), (2, "end", "2026-05-03", ENDS),
    ]  # fmt: skip
    assert steps[0].plates == 9 and steps[3].why == "came without a lot code"


def test_backward_where_nothing_was_written() -> None:
    """On 9 May X2 says nothing of its butter: B1 and B2 were both in the house."""
    steps = backward(KITCHEN, "dish", "2026-05-09")
    assert [(s.lot, s.how) for s in steps if s.kind == "goods"] == [("B1", BY_DATES), ("B2", BY_DATES)]
    assert backward(KITCHEN, "dish", "2026-05-10")[0].how == ENDS


def test_a_code_that_nobody_knows_says_so() -> None:
    """Y1 names Q9, which is in no delivery."""
    kitchen = Records(
        GOODS, BATCHES, SALES, {"plate": frozenset({"crumb"}), **LINES}, {}, {}, "2026-05-25", lots_of(GOODS, BATCHES)
    )
    assert [s.how for s in backward(kitchen, "plate", "2026-05-03") if s.lot == "Q9"] == [ENDS]


def test_a_lot_is_followed_through_what_nobody_logged() -> None:
    """Bones in a stock in a sauce on a dish. Without a batch of stock or sauce the plates are told all the same, by the
    recipes; with a batch of the sauce alone it is told, and the plates by way of it."""
    lines = {"dish": frozenset({"sauce"}), "sauce": frozenset({"stock"}), "stock": frozenset({"bones"})}
    goods, sale = (Goods(1, "bones", "N1", "2026-05-01", "2026-05-09"),), Sale("dish", "2026-05-03", "dinner", 9)
    sauce = Batch("batch 1", "sauce", "S1", "2026-05-02", "2026-05-05", ())
    for batches, found in (
        ((), [(1, "dish", "2026-05-03", BY_RECIPE)]),
        ((sauce,), [(1, "batch", "S1", BY_RECIPE), (2, "dish", "2026-05-03", BY_DATES)]),
    ):
        kitchen = Records(goods, batches, (sale,), lines, {}, {}, "2026-05-25", lots_of(goods, batches))
        assert said(forward(kitchen, "N1"))[1:] == found
        assert [s.lot for s in backward(kitchen, "dish", "2026-05-03") if s.kind == "goods"] == ["N1"]


def test_a_long_answer_is_told_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    """Salt is on every plate of a year: 9,000 services are 9,000 rows; where rows are left out, that stands first."""
    goods = (Goods(1, "salt", "S1", "2025-01-01", "2025-12-31"),)
    sales = tuple(Sale(f"dish {n}", "2025-06-01", "dinner", 1) for n in range(9_000))
    lines = {sale.dish: frozenset({"salt"}) for sale in sales}
    kitchen = Records(goods, (), sales, lines, {}, {}, "2026-05-25", lots_of(goods, ()))
    assert sum(step.kind == "dish" for step in forward(kitchen, "S1")) == 9_000
    monkeypatch.setattr("stillroom.plugins.logbook.trace.MOST", 100)
    short = forward(kitchen, "S1")
    assert short[0].how == ENDS and "left out" in short[0].why


def test_records_are_read_for_two_years_and_until_today(demo_db: Path) -> None:
    """A batch frozen a year ago is thawed today, and a sack of salt is older: neither falls out of a recall."""
    with sqlite3.connect(demo_db) as connection:
        first, today = date(2026, 11, 25), date(2027, 11, 25)
        found = read_records(connection, first, today)
        early = read_records(connection, date(2026, 10, 1), today)
        late = read_records(connection, date(2028, 5, 1), date(2028, 5, 1))
    assert len(found.sales) == len(early.sales) == len(late.sales) > 0


def test_what_left_a_recipe_since_is_still_behind_its_earlier_plates(demo_db: Path, tmp_path: Path) -> None:
    """A line is struck from a dish on 1 December: a lot of November is followed to it, one of December is not."""
    shutil.copy(demo_db, tmp_path / "own.db")
    with sqlite3.connect(tmp_path / "own.db") as connection:
        key, dish, item = connection.execute(
            "select max(id), recipe_id, item_id from components where item_id is not null "
            "group by recipe_id, item_id having count(*) = 1 limit 1"
        ).fetchone()
        connection.execute("delete from components where id = ?", (key,))
        keep_versions(connection, "2026-12-01", "2026-12-01T08:00:00Z")
        days = (date(2026, 11, 20), date(2026, 11, 30), date(2026, 12, 1))
        read = [read_records(connection, day, date(2026, 12, 9)).lines.get(dish, ()) for day in days]
    assert [item in things for things in read] == [True, True, False]


def tangled(seed: int) -> Records:
    """Lots, batches of batches, some with their lots written down and some not, and a dish sold on three days."""
    made, lines, batches = random.Random(seed), dict[str, frozenset[str]](), list[Batch]()
    items, recipes = [f"item {n}" for n in range(4)], [f"recipe {n}" for n in range(4)]
    for n, recipe in enumerate(recipes):
        lines[recipe] = frozenset(made.sample(items + recipes[:n], made.randint(1, 3)))
    lines["dish"] = frozenset(made.sample(items + recipes, made.randint(1, 3)))
    day = "2026-05-{:02d}".format
    goods = tuple(Goods(n, made.choice(items), f"L{n}", day(made.randint(1, 20)), None) for n in range(5))
    for n in range(made.randint(0, 4)):
        on, recipe = made.randint(1, 20), made.choice(recipes)
        known = [g.lot for g in goods if g.item in lines[recipe] and g.on <= day(on)]
        known += [b.lot for b in batches if b.recipe in lines[recipe] and b.on <= day(on)]
        until, went = day(on + made.randint(0, 6)), tuple(made.sample(known, made.randint(0, len(known))))
        batches.append(Batch(f"batch {n}", recipe, f"B{n}", day(on), until, went))
    sales = tuple(Sale("dish", day(made.randint(1, 28)), "", 3) for _ in range(3))
    life = {item: made.randint(2, 12) for item in items}
    return Records(goods, tuple(batches), sales, lines, {}, life, "2026-05-29", lots_of(goods, batches))


def searched(of: Records, day: str) -> set[str]:
    """Lots that may be behind the dish on a day, by plain search, all that may be so."""
    found, seen, ahead = set[str](), set[tuple[str, str]](), [(thing, day) for thing in of.lines["dish"]]
    while ahead:
        thing, on = ahead.pop()
        if (thing, on) in seen:
            continue
        seen.add((thing, on))
        made = [b for b in of.batches if b.on <= on and thing in {b.lot, b.recipe if on <= str(b.last_on) else ""}]
        here = [g for g in of.goods if thing == g.lot or (thing == g.item and g.on <= on <= of.until(g))]
        found |= {g.lot for g in here}
        for batch in made:
            known = {g.item for g in of.goods if g.lot in batch.lots}
            known |= {b.recipe for b in of.batches if b.lot in batch.lots}
            ahead += [(code, batch.on) for code in batch.lots]
            ahead += [(one, batch.on) for one in of.lines[batch.recipe] - known]
        ahead += [] if made or here else [(one, on) for one in of.lines.get(thing, ())]
    return found


@pytest.mark.parametrize("seed", range(300))
def test_forward_and_backward_tell_the_same_of_a_tangle(seed: int) -> None:
    """Whatever is behind a plate leads to it: no dish of a recall is left out. Checked by a search of its own."""
    kitchen = tangled(seed)
    for sale in kitchen.sales:
        behind = {s.lot for s in backward(kitchen, "dish", sale.on) if s.kind == "goods"}
        ahead = {g.lot for g in kitchen.goods if any(s.kind == "dish" and s.on == sale.on
                                                     for s in forward(kitchen, g.lot))}  # fmt: skip
        assert behind == searched(kitchen, sale.on) and behind <= ahead


def test_a_ring_of_batches_ends() -> None:
    ring = (
        Batch("batch 1", "a", "A", "2026-05-01", None, ("B",)),
        Batch("batch 2", "b", "B", "2026-05-01", None, ("A",)),
    )
    kitchen = Records((), ring, (), {}, {}, {}, "2026-05-25", lots_of((), ring))
    assert len(forward(kitchen, "A")) == 2


async def test_a_recall_as_files(house: Any) -> None:
    """The same steps as data, CSV and XLSX, the eight facts of 21 CFR 1.1345(a) beside each line of goods."""
    data = (await house.client.get("/trace.json?lot=SD261117")).json()
    table = list(csv.reader(io.StringIO((await house.client.get("/trace.csv?lot=SD261117")).text)))
    assert len(table) == len(data["steps"]) + 1 > 10
    goods = next(row for row in table if row[1] == "goods")
    facts = dict(zip(table[0][9:], goods[9:], strict=True))
    assert facts["traceability lot code"] == "SD261117" and facts["received at"] == "The Staithe, 1 Coal Quay, Saltby"
    assert facts["immediate previous source"] == "Saltby Dairy, Saltby" and facts["date received"] == "2026-11-17"
    assert (
        facts["quantity"] and facts["product description"] and facts["lot code source"] and facts["reference document"]
    )
    xlsx = await house.client.get("/trace.xlsx?lot=SD261117")
    assert xlsx.status_code == 200 and xlsx.content[:2] == b"PK"
    assert any(step["kind"] == "dish" for step in data["steps"])


async def test_questions_without_an_answer_say_so(house: Any) -> None:
    assert "lot code nix" in (await house.client.get("/trace.json?lot=nix")).json()["wrong"]
    assert "no such dish" in (await house.client.get("/trace.json?dish=nix")).json()["wrong"]
    assert (await house.client.get("/trace.json?dish=turbot-oyster-cream&on=2026-02-31")).json()["wrong"]


async def test_receipt_lines_name_what_nobody_wrote_down(house: Any) -> None:
    lines = (await house.client.get("/trace/receipts.json?from=2026-11-24&to=2026-11-24")).json()["lines"]
    kale = next(line for line in lines if line["description"].startswith("Curly kale"))
    assert kale["not written down"] == ["lot code", "who gave the lot code"]
    assert (await house.client.get("/trace/receipts.csv?from=2026-11-24&to=2026-11-24")).text.count("\r\n") == len(
        lines
    ) + 1


# One lot code covers a whole delivery: butter and shore crab came under D7; brown butter X3 was made with D7.
DELIVERY = replace(
    KITCHEN,
    goods=(Goods(4, "butter", "D7", "2026-05-10", None), Goods(5, "crab", "D7", "2026-05-10", "2026-05-13")),
    batches=(Batch("batch 4", "brown", "X3", "2026-05-11", "2026-05-16", ("D7",)),),
    sales=(Sale("dish", "2026-05-12", "lunch", 6), Sale("dish", "2026-05-12", "dinner", 9)),
    lots_of=lots_of(
        (Goods(4, "butter", "D7", "2026-05-10", None), Goods(5, "crab", "D7", "2026-05-10", "2026-05-13")), ()
    ),
    reached={},
)


def test_what_came_under_the_same_code_and_is_not_in_the_recipe_stands_after_the_rest_and_says_so() -> None:
    """Crab never went into brown butter; a recall is still told that it came under that code."""
    steps = [s for s in backward(DELIVERY, "dish", "2026-05-12") if s.kind == "goods"]
    assert [(s.name, s.how) for s in steps] == [("butter", WRITTEN), ("crab", NOT_IN_IT)]
    went = forward(DELIVERY, "D7")
    assert [(s.depth, s.name, s.how) for s in went if s.kind != "dish"] == [
        (0, "butter", WRITTEN), (1, "Brown butter", WRITTEN), (0, "crab", WRITTEN),
    ]  # fmt: skip


def test_a_code_of_nothing_in_the_recipe_is_taken_at_its_word() -> None:
    """Whoever wrote it down meant something: the records don't know better."""
    odd = replace(DELIVERY, goods=DELIVERY.goods[1:], lots_of=lots_of(DELIVERY.goods[1:], ()), reached={})
    assert [s.how for s in backward(odd, "dish", "2026-05-12") if s.kind == "goods"] == [WRITTEN]


def test_lunch_and_dinner_are_told_apart_and_plates_counted_of_both() -> None:
    plates = [(s.on, s.service, s.plates) for s in forward(DELIVERY, "D7") if s.kind == "dish"]
    assert plates == [("2026-05-12", "lunch", 6), ("2026-05-12", "dinner", 9)]
    assert backward(DELIVERY, "dish", "2026-05-12")[0].why == "plates sold: 6 at lunch, 9 at dinner"
    (group,) = [g for g in folded(s for s in forward(DELIVERY, "D7") if s.kind == "dish")]
    assert (group.plates, group.days) == (15, 1)


def test_an_answer_folds_into_the_things_nearest_to_what_was_asked() -> None:
    """Nothing is lost in folding, and what is deeper stays with what it is behind."""
    steps = backward(KITCHEN, "dish", "2026-05-03")
    groups = folded(steps)
    assert [step for group in groups for step in group.steps] == steps
    assert [(g.head.depth, g.head.name) for g in groups] == [
        (0, "dish"), (1, "Brown butter"), (1, "leeks"), (1, "stock"),
    ]  # fmt: skip
    assert all(step.depth > 1 for g in groups for step in g.steps[1:] if g.head.name != step.name)


def test_a_lot_that_only_batches_name_is_followed() -> None:
    """Q9 stands in Y1 alone: the records end before it, and go on behind it."""
    first, then = forward(KITCHEN, "Q9")[:2]
    assert (first.how, first.lot, then.lot, then.how) == (ENDS, "Q9", "Y1", WRITTEN)


async def test_a_page_of_a_dish_is_short_and_its_files_name_the_service(house: Any) -> None:
    page = await house.client.get("/trace?dish=brill-on-the-bone-buttered-samphire&on=2026-11-21")
    assert page.text.count("<details>") >= 3 and "plates sold: " in page.text
    found = (await house.client.get("/trace.json?dish=brill-on-the-bone-buttered-samphire&on=2026-11-21")).json()
    beside = [step["name"] for step in found["steps"] if step["how"] == NOT_IN_IT]
    assert "ling, gutted" in beside or beside, found["steps"]
    lot = next(step["lot"] for step in found["steps"] if step["kind"] == "goods" and step["lot"])
    rows = list(csv.DictReader(io.StringIO((await house.client.get(f"/trace.csv?lot={lot}")).text)))
    assert {row["service"] for row in rows if row["what"] == "dish"} >= {"lunch", "dinner"}


async def test_what_was_sent_back_is_told_as_sent_back(own_house: Any, post: Any) -> None:
    """A lot refused whole went nowhere, in words; its receipt line, and one refused in part, say how much went back."""
    ling = {"supplier": "Hollow Creek Boats", "item": "ling", "received": "4 kg", "reason": "warm at the door"}
    assert (await post("/log/delivery", **ling, rejected="4 kg", lot="LING-A")).status_code == 303
    assert (await post("/log/delivery", **ling, rejected="1 kg", lot="LING-B")).status_code == 303
    page = (await own_house.client.get("/trace?lot=LING-A")).text
    assert "nothing of LING-A stayed in the house: what came was sent back" in page
    found = (await own_house.client.get("/trace/receipts.csv?from=2026-11-25&to=2026-11-25")).text
    lines = {row["traceability lot code"]: row for row in csv.DictReader(io.StringIO(found))}
    back = [(lines[lot]["quantity"], lines[lot]["of it sent back"]) for lot in ("LING-A", "LING-B")]
    assert back == [("4000", "4000"), ("4000", "1000")]
    assert {row["of it sent back"] for lot, row in lines.items() if not lot.startswith("LING")} == {""}
    shown = (await own_house.client.get("/trace/receipts?from=2026-11-25&to=2026-11-25")).text
    assert "1000 g of it sent back" in shown
    partly = list(csv.DictReader(io.StringIO((await own_house.client.get("/trace.csv?lot=LING-B")).text)))
    assert partly[0]["of it sent back"] == "1000"
