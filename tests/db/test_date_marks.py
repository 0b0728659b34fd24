"""The mark runs as the published cases say, stops in the freezer, and never comes back to life there."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.db.date_marks import (
    DATE_MARK,
    SHELF_LIFE,
    WRITTEN,
    Freeze,
    Life,
    Mark,
    Tag,
    earliest,
    keep_until,
    keeps,
    mark,
)

DAY = st.dates(date(2020, 1, 1), date(2035, 1, 1))


def test_prepared_on_the_first_ends_on_the_seventh() -> None:
    """Southern Nevada Health District, date-marking sheet: prepared 1 April, last day 7 April (3-501.17)."""
    assert mark(date(2026, 4, 1)) == Mark(date(2026, 4, 7))


def test_mark_across_a_freeze() -> None:
    """North Carolina date-marking sheet: cooked 1 Oct, frozen 3 Oct, thawed 10 Oct (day 3), last day 14 Oct."""
    assert mark(date(2026, 10, 1), [Freeze(date(2026, 10, 3), date(2026, 10, 10))]) == Mark(date(2026, 10, 14))


def test_in_the_freezer_no_day_runs_and_the_days_left_are_known() -> None:
    assert mark(date(2026, 10, 1), [Freeze(date(2026, 10, 3))]) == Mark(None, 5)


def test_the_day_of_preparation_counts_though_it_was_frozen_on_it() -> None:
    assert mark(date(2026, 10, 1), [Freeze(date(2026, 10, 1), date(2026, 10, 9))]).last_on == date(2026, 10, 14)


def test_what_was_past_its_date_is_not_saved_by_the_freezer() -> None:
    assert mark(date(2026, 10, 1), [Freeze(date(2026, 10, 9), date(2026, 11, 1))]).last_on == date(2026, 10, 7)


def test_frozen_behind_its_last_day_it_has_none_left() -> None:
    made = date(2026, 10, 1)
    assert mark(made, [Freeze(date(2026, 10, 8))]) == Mark(None, 0)
    assert mark(made, [Freeze(date(2026, 10, 8), date(2026, 10, 20))]).last_on == date(2026, 10, 19)


def test_a_freeze_before_the_making_is_refused() -> None:
    with pytest.raises(ValueError, match="does not follow"):
        mark(date(2026, 10, 5), [Freeze(date(2026, 10, 1))])


@given(DAY, st.integers(0, 9), st.integers(0, 400), st.integers(1, 9))
def test_a_freeze_never_adds_days_in_the_cold(made: date, cold: int, frozen: int, days: int) -> None:
    out = made + timedelta(days=cold + frozen)
    last = mark(made, [Freeze(made + timedelta(days=cold), out)], days).last_on
    assert last is not None
    in_cold = min(cold, days) + max(0, (last - out).days + 1)
    assert in_cold <= days


def test_a_mixed_dish_takes_the_earliest() -> None:
    """Food Code 3-501.17(D)."""
    assert earliest([date(2026, 4, 7), None, date(2026, 4, 5)]) == date(2026, 4, 5)
    assert earliest([None]) is None


def test_tags_ninety_calendar_days_from_the_day_the_last_was_served() -> None:
    """Food Code 3-203.12 (model text, Oklahoma and Georgia): 90 calendar days from the date written on the tag."""
    tag = Tag(date(2025, 12, 20), date(2026, 1, 1), date(2026, 1, 2))
    assert keep_until(tag) == date(2026, 4, 1)
    assert keep_until(tag, "harvested") == date(2026, 3, 20)
    assert keep_until(tag, "emptied") == date(2026, 4, 2)
    assert keep_until(Tag(date(2025, 12, 20))) is None


def test_another_clock_is_refused() -> None:
    with pytest.raises(ValueError, match="last served"):
        keep_until(Tag(), "noon")


MADE = date(2026, 11, 25)


@pytest.mark.parametrize(
    ("life", "last_on", "by"),
    [
        # Food Code 3-501.17(A): seven days at most, the day it is made being day 1, unless the house ends it sooner.
        (Life(1), date(2026, 11, 25), SHELF_LIFE),
        (Life(3), date(2026, 11, 27), SHELF_LIFE),
        (Life(7), date(2026, 12, 1), SHELF_LIFE),
        (Life(60), date(2026, 12, 1), DATE_MARK),
        (Life(None), date(2026, 12, 1), DATE_MARK),  # nobody said: taken to need the mark
        (Life(60, "pH 3.2"), date(2027, 1, 23), SHELF_LIFE),
        (Life(3, "pH 3.2"), date(2026, 11, 27), SHELF_LIFE),
        (Life(None, "pH 3.2"), None, ""),  # neither gives a day: none is made up
    ],
)
def test_the_earlier_of_shelf_life_and_date_mark_decides(life: Life, last_on: date | None, by: str) -> None:
    found = keeps(MADE, life)
    assert (found.last_on, found.by) == (last_on, by)
    assert life.days is None if last_on is None else life.days == (last_on - MADE).days + 1


def test_each_answer_says_in_words_what_decided() -> None:
    assert "3-501.17" in keeps(MADE, Life(60)).why and "60 days count once" in keeps(MADE, Life(60)).why
    relish = keeps(MADE, Life(60, "pH 3.2"))
    assert "No date mark: pH 3.2." in relish.why and relish.is_past_mark
    assert "No shelf life is written down" in keeps(MADE, Life(None)).why
    assert "Keeps 1 day by" in keeps(MADE, Life(1)).why


def test_the_day_that_was_written_down_counts_before_the_rules_and_the_freezer_stops_it_too() -> None:
    """North Carolina's worked case: made 1 October, frozen the 3rd, thawed the 10th, seven days end on the 14th."""
    made, stay = date(2026, 10, 1), Freeze(date(2026, 10, 3), date(2026, 10, 10))
    assert keeps(made, Life(7), [stay]).last_on == date(2026, 10, 14)
    earlier = keeps(made, Life(7), [stay], date(2026, 10, 5))
    assert (earlier.last_on, earlier.by) == (date(2026, 10, 12), WRITTEN)
    same = keeps(made, Life(7), (), date(2026, 10, 7))
    assert same.by == SHELF_LIFE
    frozen = keeps(made, Life(7), [Freeze(date(2026, 10, 3))])
    assert frozen.last_on is None and "5 of 7 days left" in frozen.why
    assert "don't follow" in keeps(made, Life(7), [Freeze(date(2026, 9, 3))]).why
