"""A count in the browser is of the moment: what is written down later that day comes on top, nothing earlier."""

from __future__ import annotations

import sqlite3
from fractions import Fraction as F
from typing import Any

import pytest
from stillroom.db.stock import read_stock

TODAY = "2026-11-25"  # the demonstration's day, a Wednesday; dinner opens at 17:00
BUTTER = {"supplier": "Saltby Dairy", "product": "Farm butter, unsalted", "received-unit": "kg"}


def clock(house: Any, at: str) -> None:
    with sqlite3.connect(house.file) as connection:
        connection.execute("update kitchen set value = ? where key = 'clock'", (at,))
    connection.close()


def on_hand(house: Any, thing: str) -> F | None:
    with sqlite3.connect(house.file) as connection:
        found = read_stock(connection, [thing], TODAY)[thing].on_hand
    connection.close()
    return found


@pytest.fixture
def write(own_house: Any, post: Any) -> Any:
    async def at(when: str, form: str, **typed: str) -> str:
        clock(own_house, when)
        answer = await post(f"/log/{form}", **typed)
        assert answer.status_code == 303, answer.text
        return str(answer.headers["location"])

    return at


async def test_goods_and_batches_after_the_count_come_on_top(own_house: Any, write: Any) -> None:
    """2 kg at one, 5 kg come at three, a batch takes 1 kg of it at four: 6 kg. It was 2 kg until the next count."""
    await write("13:00", "count", of="butter, unsalted", quantity="2 kg")
    await write("15:00", "delivery", received="5", **BUTTER)
    assert on_hand(own_house, "butter-unsalted") == 7000
    await write("16:00", "batch", of="Clarified butter", quantity="780 g")
    assert on_hand(own_house, "butter-unsalted") == 6000


async def test_what_was_made_after_none_was_counted_is_there(own_house: Any, write: Any) -> None:
    """None at one, 800 g made at three: the list asks for no more of it, the afternoon long."""
    await write("13:00", "count", of="Brown butter", quantity="0 g")
    assert on_hand(own_house, "brown-butter") == 0
    await write("15:00", "batch", of="Brown butter", quantity="800 g")
    assert on_hand(own_house, "brown-butter") == 800


async def test_what_came_before_is_in_the_count_also_where_it_is_corrected_later(own_house: Any, write: Any) -> None:
    """5 kg at eleven, 6 kg counted at one; at three the receipt is set right, and the count stands."""
    receipt = await write("11:00", "delivery", received="5", **BUTTER)
    await write("13:00", "count", of="butter, unsalted", quantity="6 kg")
    assert on_hand(own_house, "butter-unsalted") == 6000
    await write("15:00", f"delivery?voids={receipt.rsplit('/', 1)[1]}", received="4", **BUTTER)
    assert on_hand(own_house, "butter-unsalted") == 6000


async def test_a_count_that_is_set_right_stays_of_its_moment(own_house: Any, write: Any) -> None:
    """8 kg typed at one, 5 kg come at two; at three the count is set right to 3 kg: 8 kg, the goods are not lost."""
    count = await write("13:00", "count", of="butter, unsalted", quantity="8 kg")
    await write("14:00", "delivery", received="5", **BUTTER)
    await write("15:00", f"count?voids={count.rsplit('/', 1)[1]}", of="butter, unsalted", quantity="3 kg")
    assert on_hand(own_house, "butter-unsalted") == 8000


@pytest.mark.parametrize(("counted", "left"), [("13:00", 1500), ("22:40", 3000)])
async def test_plates_leave_when_their_service_opens(own_house: Any, write: Any, counted: str, left: int) -> None:
    """3 kg of potatoes; ten plates take 150 g each: out of what was counted before dinner, not out of the evening's."""
    await write(counted, "count", of="Boiled potatoes", quantity="3 kg")
    await write("22:45", "plates", of="Brill on the bone, buttered samphire", plates="10", service="dinner")
    assert on_hand(own_house, "boiled-potatoes") == left


async def test_what_is_thrown_away_after_the_count_is_gone(own_house: Any, write: Any) -> None:
    """Thrown away at noon it is in the count of one o'clock; at three it comes off it."""
    await write("12:00", "use", of="double cream", quantity="1 l", what="discarded", reason="off")
    await write("13:00", "count", of="double cream", quantity="5 l")
    assert on_hand(own_house, "double-cream") == 5000
    await write("15:00", "use", of="double cream", quantity="2 l", what="discarded", reason="spilt")
    assert on_hand(own_house, "double-cream") == 3000


async def test_counts_of_two_stations_are_added_up(own_house: Any, write: Any) -> None:
    """1 kg at the fish, 2 kg at the sauce, then the sauce again: 1 + 3; a count of no station is of all."""
    await write("13:00", "count", of="butter, unsalted", quantity="1 kg", station="Fish")
    await write("13:01", "count", of="butter, unsalted", quantity="2 kg", station="Sauce")
    assert on_hand(own_house, "butter-unsalted") == 3000
    await write("14:00", "count", of="butter, unsalted", quantity="3 kg", station="Sauce")
    assert on_hand(own_house, "butter-unsalted") == 4000
    await write("15:00", "count", of="butter, unsalted", quantity="9 kg")
    assert on_hand(own_house, "butter-unsalted") == 9000


async def test_what_a_breakdown_gives_after_the_count_comes_on_top(own_house: Any, write: Any) -> None:
    """No chop at one, a piece broken into 20 at three: 20."""
    await write("13:00", "count", of="Mutton loin chop", quantity="0")
    chops = {"of1": "Mutton loin chop", "weight1": "5.2 kg", "pieces1": "20"}
    await write("15:00", "breakdown", of="Mutton loin chop", input="5.2 kg", **chops)
    assert on_hand(own_house, "mutton-loin-chop") == 20
