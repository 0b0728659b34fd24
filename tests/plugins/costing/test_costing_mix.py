"""The menu's mix where dishes come and go, and its plot: numbers that can be told apart."""

from __future__ import annotations

import sqlite3
from fractions import Fraction as F
from pathlib import Path
from typing import Any

from hypothesis import given
from hypothesis import strategies as st
from stillroom.db.connect import tune
from stillroom.plugins.costing.mix import DOG, PLOWHORSE, STAR, Dish, Placed, menu_mix
from stillroom.plugins.costing.plots import BOTTOM, LEFT, WIDTH, labels, scatter
from stillroom.plugins.costing.rows import read_days, read_house


def dish(name: str, plates: int, days: int | None = None) -> Dish:
    """A dish at 10 with a cost of 4."""
    return Dish(name, name, plates, F(10 * plates), F(4), days)


def classes(*dishes: Dish, days: int) -> dict[str, Placed]:
    return {p.dish.id: p for p in menu_mix(dishes, days).placed}


def test_a_dish_of_part_of_the_days_is_held_against_that_part() -> None:
    """Four dishes at a time over 60 days, one of them changed after 40: an equal share is a quarter.

    All days: popular from 17.5 % of plates; 40 of 60 days: from two thirds of that; 20: from one third.
    """
    always = [dish(x, 100) for x in "abc"]
    found = classes(*always, dish("spring", 60, 40), dish("summer", 35, 20), days=60)
    assert [found[x].popular_from for x in ("a", "spring", "summer")] == [
        F("0.175"),
        F("0.175") * 2 / 3,
        F("0.175") / 3,
    ]
    assert found["spring"].is_popular and found["summer"].is_popular
    assert found["summer"].mix < F(7, 50)  # by an equal share of all five it would not be
    few = classes(*always, dish("spring", 60, 40), dish("summer", 10, 20), days=60)
    assert not few["summer"].is_popular and few["summer"].klass not in {STAR, PLOWHORSE}


def test_less_than_a_week_is_not_judged() -> None:
    """Listed with its days, in no figure; in a period of three days three days are all."""
    found = menu_mix([dish("a", 100), dish("b", 100), dish("new", 30, 6), dish("gone", 2, 0)], 60)
    assert [p.why for p in found.placed] == ["", "", "not judged: 6 days", "not judged: not on the menu"]
    assert found.plates == 200 and found.popular_from == F(7, 20)
    assert [p.klass != "" for p in menu_mix([dish("a", 9, 3), dish("b", 9, 3)], 3).placed] == [True, True]


counts = st.lists(st.integers(1, 900), min_size=1, max_size=9)


@given(counts, st.integers(7, 90))
def test_a_menu_that_stands_still_is_judged_by_the_prints_rule(plates: list[int], days: int) -> None:
    """On all days: a share of at least (1 / number of items) x 0.7, whether the days are said or not."""
    said = menu_mix([dish(str(n), p, days) for n, p in enumerate(plates)], days)
    plain = menu_mix([dish(str(n), p) for n, p in enumerate(plates)])
    assert said.popular_from == plain.popular_from == F(7, 10) / len(plates)
    assert [p.klass for p in said.placed] == [p.klass for p in plain.placed]
    rule = [F(p, sum(plates)) >= F(7, 10) / len(plates) for p in plates]
    assert [p.is_popular for p in said.placed] == rule


def test_days_on_the_menu_as_it_stood(demo_db: Path) -> None:
    """Strawberries until 14 September: of the 63 days of service since 28 August the thirteen until then."""
    connection = sqlite3.connect(demo_db)
    tune(connection)
    house = read_house(connection, "2026-11-25")
    last = house.recipes["strawberries-and-buttermilk"].to_on
    days = "select count(distinct sold_on) from standing_plates_sold where sold_on between '2026-08-28' and ?"
    whole, until = (connection.execute(days, (day,)).fetchone()[0] for day in ("2026-11-25", last))
    found = read_days(connection, house, ["strawberries-and-buttermilk", "no-such"], "2026-08-28", "2026-11-25")
    connection.close()
    assert found == (whole, {"strawberries-and-buttermilk": until, "no-such": 0}) and 0 < until < whole


async def test_seasonal_dishes_are_no_dogs_by_their_season(house: Any) -> None:
    """Every row says its days; those of part of the period have a lower bar, one of three days none."""
    found = (await house.client.get("/menu.json")).json()
    rows = [d for s in found["sections"] for d in s["dishes"]]
    part = [d for d in rows if d["days on menu"] < found["days_of_service"]]
    assert len(part) > 5
    for section in found["sections"]:
        for d in (d for d in section["dishes"] if d["class"]):
            share = d["days on menu"] / found["days_of_service"]
            assert abs(d["popular from %"] - section["popular_from_pct"] * share) < 0.02
    (short,) = (d for d in rows if d["dish"] == "Cured mackerel, gooseberry")
    assert short["class"] is None and short["not placed"] == f"not judged: {short['days on menu']} days"
    page = (await house.client.get("/menu")).text
    assert "on the menu 13 of 63 days" in page and "not judged: 3 days" in page and DOG not in page.split("</table>")[0]


def test_a_share_above_the_whole_says_what_it_is_of() -> None:
    """A dish of part of the days is drawn as if on all: 152 % is of no plates, and the axis says so."""
    whole = [Dish("a", "A", 242, F(3388), F(1)), Dish("b", "B", 111, F(1665), F(1))]
    part = [Dish("a", "A", 242, F(3388), F(1), 50), Dish("b", "B", 111, F(1665), F(1), 13)]
    drawn = scatter(menu_mix(part, 63), "yard")
    assert "162 % of plates, if on all days</text>" in drawn
    assert "% of plates</text>" in scatter(menu_mix(whole, 63), "yard")


spots = st.lists(
    st.tuples(st.floats(LEFT + 40, WIDTH - 40), st.floats(40, BOTTOM - 40)), min_size=1, max_size=8
)  # fmt: skip


@given(spots)
def test_numbers_of_near_dots_do_not_overlap(dots: list[tuple[float, float]]) -> None:
    """Wherever the dots are, even in one place, each number has its own room and lies inside the plot."""
    found = labels(dots, [1 + (n % 2) for n in range(len(dots))])
    for n, one in enumerate(found):
        assert LEFT + one.half_x <= one.x <= WIDTH - one.half_x
        assert one.half_y <= one.y <= BOTTOM - one.half_y
        assert not any(one.meets(other) for other in found[n + 1 :])
