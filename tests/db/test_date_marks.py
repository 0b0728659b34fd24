"""The mark runs as the published cases say, stops in the freezer, and never comes back to life there."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.db.date_marks import Freeze, Mark, Tag, earliest, keep_until, mark

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
