"""What a plate takes of a bought item is one number: /cost, /short, the stock and the orders reckon with one yield.

Sea purslane has a yield of 90 % among the kitchen's items, and a line of the mutton loin takes 12 g of it without one
of its own: 12 g / 0.9 = 13⅓ g as purchased (AP = EP / yield, Bakery and Business Math, ch. 25).
"""

from __future__ import annotations

import sqlite3
from fractions import Fraction as F
from typing import Any

from stillroom.db.coming import read_coming
from stillroom.db.stock import read_stock

TODAY, ITEM, DISH = "2026-11-25", "sea-purslane", "salt-marsh-mutton-loin-celeriac"
AP = F(12) / F("0.9")
FRAME = "request_id, recorded_at, actor, origin"


async def test_cost_and_short_say_the_same_weight(own_house: Any) -> None:
    """13⅓ g on both pages; /short said 12 g."""
    cost = (await own_house.client.get(f"/cost/{DISH}.json")).json()
    short = (await own_house.client.get(f"/short/{ITEM}.json")).json()
    (bought,) = [i["as bought"] for i in cost["items"] if i["item"] == "sea purslane"]
    (taken,) = [d["per_plate"] for d in short["dishes"] if d["id"] == DISH]
    assert F(taken) == AP and abs(F(str(bought)) * 1000 - AP) < F(1, 1000)


async def test_the_stock_and_the_list_take_it_too(own_house: Any) -> None:
    """900 g counted last night, 250 g came, 30 plates since: 750 g left; and the days ahead want as much a plate."""
    with sqlite3.connect(own_house.file) as connection:
        row = ("c", f"{TODAY}T00:00:00Z", "Ines", "web", "2026-11-24", ITEM, "900", "g")
        question = f"insert into counts ({FRAME}, counted_on, item_id, quantity, unit) values (?, ?, ?, ?, ?, ?, ?, ?)"
        connection.execute(question, row)
        row = ("p", f"{TODAY}T00:00:00Z", "Ines", "web", TODAY, DISH, "dinner", 30)
        question = (
            f"insert into plates_sold ({FRAME}, sold_on, recipe_id, service, plates) values (?, ?, ?, ?, ?, ?, ?, ?)"
        )
        connection.execute(question, row)
        assert read_stock(connection, [ITEM], TODAY)[ITEM].on_hand == 900 + 250 - 30 * AP == 750
        (loin,) = [t for t in read_coming(connection).things if t.id == DISH]
        assert [u.quantity for u in loin.uses if u.thing == ITEM] == [AP]
    connection.close()


async def test_what_a_cut_takes_of_its_piece_has_shrink_and_trim_in_it_already(own_house: Any) -> None:
    """A yield among the items is of lines that are cooked: a chop takes as much of its saddle as before."""
    question = (
        "select quantity from components where recipe_id = 'mutton-loin-chop' and item_id = 'marsh-mutton-saddle'"
    )
    with sqlite3.connect(own_house.file) as connection:
        (each,) = connection.execute(question).fetchone()
        connection.execute("update items set edible_yield = '0.5' where id = 'marsh-mutton-saddle'")
        (chop,) = [t for t in read_coming(connection).things if t.id == "mutton-loin-chop"]
        assert [u.quantity for u in chop.uses] == [F(each)]
    connection.close()
