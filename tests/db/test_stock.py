"""What is on hand, by hand."""

from __future__ import annotations

from fractions import Fraction as F

import pytest
from stillroom.db.stock import Event, Lot, purchased, stock

TODAY = "2026-11-25"


def test_on_hand_is_the_count_and_what_came_and_left_since() -> None:
    """10 counted on Monday evening, 4 came and 3 left after it; what came before the count is in the count."""
    events = [
        Event("2026-11-23", "count", F(10)),
        Event("2026-11-23", "came", F(99)),
        Event("2026-11-24", "came", F(4)),
        Event("2026-11-24", "used", F(3)),
    ]
    assert (stock(events, TODAY).on_hand, stock(events, TODAY).counted_on) == (11, "2026-11-23")


def test_a_delivery_alone_makes_nothing_known() -> None:
    """Who never counted doesn't know what was there before: None, never the delivery, never zero."""
    assert stock([Event("2026-11-24", "came", F(4))], TODAY).on_hand is None
    assert stock([], TODAY).on_hand is None


def test_more_left_than_was_there_is_nothing_not_less() -> None:
    """5 counted, 9 used: 0, and known."""
    assert stock([Event("2026-11-23", "count", F(5)), Event("2026-11-24", "used", F(9))], TODAY).on_hand == 0


@pytest.mark.parametrize(("use_by", "left"), [("2026-11-24", 0), (TODAY, 7), (None, 7)])
def test_a_batch_counts_until_its_last_day_of_use(use_by: str | None, left: int) -> None:
    """On the day itself it may be used, a day later not; without a date it counts."""
    assert stock([Event("2026-11-22", "made", F(7), use_by)], TODAY).on_hand == left


def test_what_is_used_comes_from_the_oldest_batch_in_date() -> None:
    """5 used after the first batch went out of date come off the second; thrown away comes off the first."""
    made = [Event("2026-11-18", "made", F(6), "2026-11-20", 1), Event("2026-11-22", "made", F(8), "2026-11-30", 2)]
    assert stock([*made, Event("2026-11-23", "used", F(5))], TODAY).on_hand == 3
    assert stock([*made, Event("2026-11-23", "discarded", F(5))], TODAY).on_hand == 8
    assert stock([*made, Event("2026-11-23", "discarded", F(5), lot=2)], TODAY).on_hand == 3


def test_a_count_of_a_sub_recipe_keeps_the_dates_of_its_newest_batches() -> None:
    """6 old and 8 new made, 9 counted: 8 new and 1 old, which is out of date today."""
    made = [Event("2026-11-18", "made", F(6), "2026-11-24", 1), Event("2026-11-22", "made", F(8), "2026-11-30", 2)]
    assert stock([*made, Event("2026-11-23", "count", F(9))], TODAY).lots == (Lot(F(8), "2026-11-30", 2),)


def test_purchased_weight_is_edible_weight_over_yield() -> None:
    """32 oz of pears at 78 % is 41.03 oz as purchased (Bakery and Business Math, ch. 25)."""
    assert round(float(purchased(F(32), F(78, 100))), 2) == 41.03


def test_more_left_than_was_there_is_said() -> None:
    """5 counted, 9 used: 4 more than the records explain; a later count clears it."""
    gone = [Event("2026-11-23", "count", F(5)), Event("2026-11-24", "used", F(9))]
    assert stock(gone, TODAY).missing == 4
    assert stock([*gone, Event("2026-11-24", "count", F(2))], TODAY).missing == 0


def test_what_is_in_the_freezer_is_kept_apart() -> None:
    """3 in the freezer without a last day, 2 fresh: both on hand, and the frozen part is known."""
    made = [Event("2026-11-02", "made", F(3), None, 1, True), Event("2026-11-24", "made", F(2), "2026-11-26", 2)]
    found = stock(made, TODAY)
    assert (found.on_hand, [x.quantity for x in found.lots if x.is_frozen]) == (5, [3])
