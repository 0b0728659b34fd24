"""What is asked twice is what this kitchen seldom writes: more plates, a heavier piece, warmer goods than before."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from stillroom.plugins.logbook.book import open_book
from stillroom.plugins.logbook.fields import Taken
from stillroom.plugins.logbook.forms import FORMS
from stillroom.plugins.logbook.pages import read_form

NOW = datetime(2026, 11, 25, 18, 0, tzinfo=UTC)
Read = Callable[..., Taken]


@pytest.fixture
def read(demo_db: Path) -> Any:
    """A form as the demonstration reads it."""
    connection = sqlite3.connect(f"file:{demo_db}?mode=ro", uri=True)

    def taken(slug: str, typed: Mapping[str, str]) -> Taken:
        return read_form(FORMS[slug], typed, open_book(connection, FORMS[slug], typed, NOW), True)

    yield taken
    connection.close()


BRILL = "Brill on the bone, buttered samphire"


@pytest.mark.parametrize(("plates", "is_asked"), [("20", False), ("31", False), ("97", True), ("400", True)])
def test_plates_far_beyond_any_day_before_are_asked(read: Read, plates: str, is_asked: bool) -> None:
    """The most brill in one service was 24: four times that is 96."""
    found = read("plates", {"of": BRILL, "plates": plates})
    assert ("plates" in found.ask) == is_asked and not found.wrong
    if is_asked:
        assert "the most of Brill on the bone, buttered samphire written down before" in found.ask["plates"]


def board(weight: str, lot: str = "B-0158", out: str = "", **more: str) -> dict[str, str]:
    """A breakdown into steaks of which all comes out as one line."""
    made = {"of1": "Beef rib steak", "weight1": out or weight}
    return {"of": "Beef rib steak", "input": weight, "lot": lot, **made, **more}


def test_a_piece_heavier_on_the_board_than_when_it_was_weighed_last_is_asked(read: Read) -> None:
    """B-0158 weighed 9.22 kg last; two scales differ by a fiftieth at most."""
    assert read("breakdown", board("9.22 kg")).ask == {} == read("breakdown", board("9.4 kg")).ask
    told = read("breakdown", board("10 kg")).ask["input"]
    assert told == "B-0158 weighed 9.22 kg last time, and a piece that ages loses weight. Is it so?"
    assert "more than a quarter is gone" in read("breakdown", board("6 kg")).ask["input"]
    both = read("breakdown", board("10 kg", out="8 kg")).ask["input"]
    assert "weighed 9.22 kg last time" in both and "Write the difference down as loss?" in both


def test_a_lot_of_another_animal_or_hung_later_is_refused(read: Read) -> None:
    assert "is not what Beef rib steak is cut from" in read("breakdown", board("6.4 kg", "M-0338")).wrong["lot"]
    assert "it can't be cut before" in read("breakdown", board("9.2 kg", on="2026-06-01")).wrong["on"]


@pytest.mark.parametrize(("item", "door"), [("ling", "63 °F"), ("ling", "17.2 °C"), ("black pudding", "9 °C")])
def test_goods_warmer_than_their_receiving_rule_are_asked_with_celsius_beside(read: Read, item: str, door: str) -> None:
    """Food Code 3-202.11(A): refrigerated food at 41 °F or below; the demonstration is metric."""
    found = read("delivery", {"supplier": "Hollow Creek Boats", "item": item, "received": "5 kg", "door": door})
    assert "is over 41 °F (5 °C)" in found.ask["door"] and "Is it taken in all the same?" in found.ask["door"]


def test_fish_that_names_no_rule_is_asked_by_that_of_refrigerated_food(read: Read) -> None:
    typed = {"supplier": "Hollow Creek Boats", "item": "anchovies, salted", "received": "5 kg", "door": "15 °C"}
    assert "No receiving rule of its own is named for anchovies, salted" in read("delivery", typed).ask["door"]
    assert "door" not in read("delivery", typed | {"door": "4 °C"}).ask
    assert "door" not in read("delivery", typed | {"item": "plain flour"}).ask


def test_a_thing_counted_as_none_three_times_can_be_there_again(read: Read, tmp_path: Path, demo_db: Path) -> None:
    """Nothing is so many times nothing: no page breaks."""
    with sqlite3.connect(demo_db) as source, sqlite3.connect(tmp_path / "kitchen.db") as copy:
        source.backup(copy)
        for n in range(40):
            copy.execute(
                "insert into counts (request_id, recorded_at, actor, origin, item_id, counted_on, quantity, unit)"
                " values (?, '2026-11-25T10:00:00Z', 'ann', 'web', 'ling', '2026-11-25', '0', 'g')", (f"none-{n}",)
            )  # fmt: skip
    source.close()
    typed = {"of": "ling", "quantity": "5 kg"}
    book = open_book(copy, FORMS["count"], typed, NOW)
    assert read_form(FORMS["count"], typed, book, True).wrong == {}
    copy.close()
