"""Counts that can't be right: said on every page that uses their number, with the way to mend them, until they are."""

from __future__ import annotations

import sqlite3
import sys
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from stillroom.db.doubts import doubts
from stillroom.db.stock import Stock

sys.path[:0] = [str(Path(__file__).parent)]
from test_prep_pages import HOST, listed, rows  # noqa: E402

TODAY = "2026-11-25"


def counted(file: Path, quantity: str, on: str = TODAY, at: str | None = None, item: str = "double-cream") -> None:
    connection = sqlite3.connect(file)
    connection.execute(
        "insert into counts (request_id, recorded_at, actor, origin, counted_on, counted_at, item_id, quantity, unit)"
        " values (hex(randomblob(8)), '2026-11-25T09:00:00Z', 'Bea', 'web', ?, ?, ?, ?, 'ml')",
        (on, at, item, quantity),
    )  # fmt: skip
    connection.commit()
    connection.close()


def used(file: Path, quantity: str, item: str) -> None:
    connection = sqlite3.connect(file)
    connection.execute(
        "insert into batch_uses (request_id, recorded_at, actor, origin, item_id, used_on, quantity, unit, what)"
        " values ('u', '2026-11-25T09:00:00Z', 'Bea', 'web', ?, ?, ?, 'g', 'discarded')", (item, TODAY, quantity),
    )  # fmt: skip
    connection.commit()
    connection.close()


async def said(house: Any, item: str) -> dict[str, list[str]]:
    """Page -> what it says of an item's stock."""
    found, name = await listed(house), item.replace("-", " ")
    orders = (await house.client.get("/orders.json", headers=HOST)).json()["orders"]
    short = (await house.client.get(f"/short/{item}.json", headers=HOST)).json()
    return {
        "prep": [d["said"] for d in found["doubts"] if d["thing"] == item],
        "rows": [n for r in rows(found).values() for n in r["notes"] if n.startswith(f"in doubt: {name}")],
        "orders": [n for o in orders for x in o["lines"] if x["item"] == item for n in x["notes"] if "doubt" in n],
        "short": [d["said"] for d in short["doubts"] if d["thing"] == item],
    }


async def test_two_counts_in_conflict_are_told_where_the_number_is_used(kitchen: Any) -> None:
    """Cream counted as 3 l and as 5 l, nobody knows which was later: the list, its tasks, the order, /short."""
    assert not any((await said(kitchen, "double-cream")).values())
    counted(kitchen.file, "3000")
    counted(kitchen.file, "5000")
    found = await said(kitchen, "double-cream")
    assert all(found.values()) and all("count it again" in text for texts in found.values() for text in texts)
    for path in ("/prep", "/orders/saltby-dairy", "/short/double-cream"):
        page = await kitchen.client.get(path, headers=HOST)
        assert 'href="/log/count?of=double-cream"' in page.text, path
    orders = await kitchen.client.get("/orders", headers=HOST)
    assert "What is there is in doubt" in orders.text
    form = await kitchen.client.get("/log/count?of=double-cream", headers=HOST)
    assert "double cream" in form.text


async def test_more_gone_than_was_there_is_told(kitchen: Any) -> None:
    """9 kg of brill thrown away, of 4.5 that were there."""
    used(kitchen.file, "9000", "brill")
    found = await said(kitchen, "brill")
    assert all(found[page] for page in ("prep", "rows", "short"))
    assert all("more was used than the records had" in text for page in ("prep", "short") for text in found[page])


@pytest.mark.parametrize(
    ("again", "is_settled"),
    [(("4000", TODAY, None), False), (("5000", TODAY, None), True), (("4000", TODAY, "2026-11-25T12:00:00Z"), True)],
)
async def test_it_is_told_until_it_is_counted_again(kitchen: Any, again: Any, is_settled: bool) -> None:
    """A third result settles nothing; one that was there before, or one with its time, does."""
    for quantity in ("3000", "5000"):
        counted(kitchen.file, quantity)
    counted(kitchen.file, *again)
    assert (not (await said(kitchen, "double-cream"))["short"]) is is_settled


async def test_a_count_of_the_next_day_settles_it(kitchen: Any) -> None:
    """Monday's two results, one of Wednesday."""
    for quantity in ("3000", "5000"):
        counted(kitchen.file, quantity, "2026-11-23")
    counted(kitchen.file, "4000")
    assert not any((await said(kitchen, "double-cream")).values())


def test_the_gravest_only(demo_db: Path) -> None:
    """More gone than was there goes before an old count; what keeps for ever is never old."""
    connection = sqlite3.connect(demo_db)
    old = Stock((), "2026-11-01", True)
    gone, fine = Stock((), "2026-11-01", True, Fraction(1)), Stock((), TODAY, True)
    stocks = {"old": old, "keeps": old, "gone": gone, "fine": fine}
    lives = {"old": 3, "gone": 3, "fine": 3}
    assert doubts(connection, stocks, lives, date(2026, 11, 25)) == {"old": "old", "gone": "missing"}
    connection.close()
