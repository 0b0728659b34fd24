"""Days, clocks and lengths of time: read exactly, or refused with how to mend them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.db.moments import read_before, read_clock, read_date, read_instant, read_span
from stillroom.db.number import ReadError


def refused(read: Callable[..., Any], *args: Any) -> ReadError:
    """The error that a text meets."""
    with pytest.raises(ReadError) as caught:
        read(*args)
    return caught.value


SPANS = [
    ("3 days", 259200),
    ("90 min", 5400),
    ("2 h 30", 9000),
    ("2h30", 9000),
    ("1 h 15 min", 4500),
    ("2 h 30 m", 9000),
    ("1½ h", 5400),
    ("1 month", 2592000),
]


@pytest.mark.parametrize(("text", "seconds"), SPANS)
def test_a_span_is_seconds(text: str, seconds: int) -> None:
    """Hours may be followed by bare minutes."""
    assert read_span(text) == seconds


@pytest.mark.parametrize("text", ["3", "h", "1:30", "-3 days", "2 h -3", "", "3 m", "900000000 days"])
def test_a_span_is_never_guessed(text: str) -> None:
    """No unit, a negative, a clock, an m that is minutes or months, or more than a hundred years."""
    assert refused(read_span, text).code == "span-bad"


def test_dates_follow_the_order_the_kitchen_says() -> None:
    """ISO is always read; another order only where it is said."""
    assert read_date("2026-11-25", "day month year") == "2026-11-25"
    assert read_date("5/6/2026", "day month year") == "2026-06-05"
    assert read_date("5/6/2026", "month day year") == "2026-05-06"


def test_a_date_that_can_be_read_two_ways_is_refused() -> None:
    """Both days are named; where only one is a day, that one."""
    error = refused(read_date, "03/04/2026")
    assert (error.code, error.fix) == (
        "date-ambiguous",
        'write 2026-03-04 or 2026-04-03, or set "date order" in the kitchen\'s settings',
    )
    assert error.do == "write 2026-03-04 for 4 March or 2026-04-03 for 3 April"
    assert refused(read_date, "25/11/2026").fix.startswith("write 2026-11-25,")
    assert refused(read_date, "25/11/2026").do == "write 2026-11-25 for 25 November"


@pytest.mark.parametrize("text", ["31/02/2026", "30.02.2026", "31/04/2026", "31/31/2026", "29/02/2027", "0/1/2026"])
def test_a_day_that_the_calendar_lacks_is_never_offered(text: str) -> None:
    """Whichever way round: no such day is written in the advice."""
    error = refused(read_date, text)
    assert (error.code, error.do) == ("date-bad", "write a day that exists: 2026-11-25")


@pytest.mark.parametrize(
    "text",
    [
        "2026-02-31",
        "2026-13-01",
        "31/02/2026",
        "0000-01-01",
        "2026-1-5",
        "1/2/26",
        "20261125",
        "٢٠٢٦-١١-٢٥",
        "2O26-11-25",
    ],
)
def test_a_day_that_is_not_in_the_calendar_is_refused(text: str) -> None:
    """31 February, month 13, two-digit years, other scripts."""
    assert refused(read_date, text, "day month year").code == "date-bad"


@given(st.dates())
def test_every_iso_date_is_itself(day: Any) -> None:
    """Read and written the same."""
    assert read_date(day.isoformat()) == day.isoformat()


def test_clocks_are_hours_and_minutes() -> None:
    """24 hours; a point will do."""
    assert [read_clock(t) for t in ("17:00", "5:30", "17.30")] == ["17:00", "05:30", "17:30"]
    assert [refused(read_clock, t).code for t in ("24:00", "17:60", "5 pm", "1730")] == ["clock-bad"] * 4


def test_instants_are_utc() -> None:
    """The kitchen's clock in its own zone; British summer time is an hour ahead."""
    assert read_instant("2026-11-25 17:40", "Europe/London") == "2026-11-25T17:40:00Z"
    assert read_instant("2026-07-25 17:40:30", "Europe/London") == "2026-07-25T16:40:30Z"
    assert read_instant("2026-11-25T17:40:00Z", "America/New_York") == "2026-11-25T17:40:00Z"


@pytest.mark.parametrize(
    "text", ["2026-11-25", "17:40", "2026-11-25 17:40:99", "2026-11-25 17:40+01:00", "2026-03-29 01:30"]
)
def test_an_instant_that_never_was_is_refused(text: str) -> None:
    """No clock, no day, an offset, the hour that the clocks skip. Source: IANA time zone data, London."""
    assert refused(read_instant, text, "Europe/London").code == "instant-bad"


def test_an_instant_with_a_bad_day_is_refused() -> None:
    """Also one that is written in UTC."""
    assert refused(read_instant, "2026-13-25T17:40:00Z").code == "date-bad"


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("23:50", "2026-11-24T23:50:00Z"),  # the evening before
        ("00:30", "2026-11-25T00:30:00Z"),  # the moment itself
        ("0.10", "2026-11-25T00:10:00Z"),
        ("12:30", "2026-11-24T12:30:00Z"),  # twelve hours before, no more
        ("12:29", "2026-11-25T12:29:00Z"),  # later, and no evening of the day before: whoever asks refuses it
        ("2026-11-20 09:00", "2026-11-20T09:00:00Z"),
    ],
)
def test_a_clock_time_alone_is_the_last_that_showed_it(text: str, found: str) -> None:
    """Before half past midnight."""
    assert read_before(text, "2026-11-25T00:30:00Z", "Europe/London") == found


def test_a_clock_time_alone_is_the_kitchens_own() -> None:
    """In summer its clock is an hour ahead of UTC; what the clock never showed is refused."""
    assert read_before("10:05", "2026-07-01T10:00:00Z", "Europe/London") == "2026-07-01T09:05:00Z"
    assert refused(read_before, "01:30", "2026-03-29T09:00:00Z", "Europe/London").code == "instant-bad"
    assert refused(read_before, "ten", "2026-03-29T09:00:00Z").code == "instant-bad"
