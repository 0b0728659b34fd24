"""Expected covers and plates: by hand where a hand can, properties elsewhere."""

from __future__ import annotations

from datetime import date, timedelta
from math import ceil, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.db.demand import (
    BAND_Z,
    Dish,
    Expected,
    Served,
    Share,
    Sold,
    expect,
    mean_error,
    mix,
    overrule,
    plates,
    scores,
)

TODAY = date(2026, 11, 25)  # a Wednesday


def weeks(of: dict[int, int], number: int = 8, booked: float | None = None) -> list[Served]:
    """The same week over and over: ISO weekday -> covers."""
    first = TODAY - timedelta(days=2 + 7 * number)
    return [
        Served(day, "dinner", None if booked is None else round(covers * booked), covers)
        for week in range(number)
        for weekday, covers in of.items()
        if (day := first + timedelta(days=7 * week + weekday - 1)) < TODAY
    ]


def test_weeks_that_repeat_are_expected_again() -> None:
    """40 every Wednesday, 80 every Saturday: near 40 and 80, a Saturday's factor near 4/3; the prior draws a little."""
    log = weeks({3: 40, 6: 80})
    wednesday, saturday = (expect(log, TODAY + timedelta(days=d), "dinner", TODAY) for d in (0, 3))
    assert wednesday.covers == pytest.approx(40, rel=0.08) and saturday.covers == pytest.approx(80, rel=0.08)
    assert saturday.factor == pytest.approx(4 / 3, rel=0.08)
    assert wednesday.low < 40 < wednesday.high


def test_no_sales_yet_is_not_a_number() -> None:
    """Nothing served: nothing expected, unless somebody booked."""
    assert expect([], TODAY, "dinner", TODAY).covers is None
    assert expect([Served(TODAY, "dinner", 12, None)], TODAY, "dinner", TODAY).covers == 12


def test_what_came_later_is_not_known_in_the_morning() -> None:
    """A service of today or later changes nothing in what was expected this morning."""
    log = weeks({3: 40, 6: 80})
    later = [Served(TODAY, "dinner", None, 500), Served(TODAY + timedelta(days=3), "dinner", None, 900)]
    assert expect([*log, *later], TODAY, "dinner", TODAY).covers == expect(log, TODAY, "dinner", TODAY).covers


def test_bookings_count_on_the_day_and_are_a_floor_before_it() -> None:
    """Nine booked for ten that came, 54 booked today: near 60. For Saturday 95 booked lift 80, 10 don't sink it."""
    log = weeks({3: 40, 6: 80}, booked=0.9)
    today = expect([*log, Served(TODAY, "dinner", 54, None)], TODAY, "dinner", TODAY)
    saturday = TODAY + timedelta(days=3)
    plain = expect(log, saturday, "dinner", TODAY).covers
    assert today.covers == pytest.approx(60, rel=0.1)
    assert expect([*log, Served(saturday, "dinner", 95, None)], saturday, "dinner", TODAY).covers == 95
    assert expect([*log, Served(saturday, "dinner", 10, None)], saturday, "dinner", TODAY).covers == plain


def test_a_year_ago_moves_the_season_half_way() -> None:
    """Doubled at this time last year: expected up by the square root of two."""
    old = [Served(TODAY - timedelta(days=364 + d), "dinner", None, 60 if d <= 10 else 30) for d in range(-10, 39)]
    said = expect([*old, *weeks({3: 40, 6: 80})], TODAY, "dinner", TODAY)
    assert said.season == pytest.approx(sqrt(2), rel=0.01)


def test_an_overrule_keeps_what_it_replaced() -> None:
    """A person says 70: that is used, and the sum's own stays beside it."""
    said = expect(weeks({3: 40, 6: 80}), TODAY, "dinner", TODAY)
    changed = overrule(said, 70, "Marit")
    assert (changed.covers, changed.was, changed.by) == (70, said.covers, "Marit")


def test_scores_are_made_with_what_was_known_that_morning() -> None:
    """A jump on the last day is off by the jump: it was not known."""
    log = weeks({3: 40, 6: 80})
    last = Served(TODAY - timedelta(days=1), "dinner", None, 140)
    found = scores([*log, last], TODAY)
    assert found[-1].came == 140 and found[-1].expected < 100
    assert mean_error(scores(log, TODAY)[-6:]) == pytest.approx(0, abs=0.08)
    assert mean_error([]) is None


def test_the_mix_divides_by_the_covers_of_a_dishs_own_services() -> None:
    """10 of 40 covers on each of 8 weeks; the new dish sold 9 at one service of 90; a third was never sold."""
    log = weeks({3: 40}, 8)
    days = [s.on for s in log]
    sold = [Sold("brill", on, "dinner", 10) for on in days] + [Sold("new", days[-1], "dinner", 8)]
    shares = mix([Dish("brill", "Fish"), Dish("new", "Fish"), Dish("never", "Fish")], sold, log, TODAY)
    assert [round(s.each, 4) for s in shares] == [0.25, 0.2, 0.225]
    assert [s.is_guess for s in shares] == [False, False, True]


def test_plates_to_be_ready_for_by_hand() -> None:
    """100 covers, band 100 ± 1.2816 x 10, a quarter of the covers: 25 + z √(25 + 2.5²) = 32.2, so 33."""
    service = Expected(TODAY, "dinner", 100.0, 100 - BAND_Z * 10, 100 + BAND_Z * 10)
    (found,) = plates([service], [Share("brill", 0.25)])
    assert (found.expected, found.ready) == (25, ceil(25 + BAND_Z * sqrt(25 + 2.5**2)))


@given(
    covers=st.lists(st.floats(1, 200), min_size=1, max_size=6),
    each=st.floats(0, 1.5),
    spread=st.floats(0.05, 0.4),
)
def test_plates_ready_add_up(covers: list[float], each: float, spread: float) -> None:
    """Never negative; together never below what is expected, never above the sum of each alone."""
    services = [
        Expected(TODAY + timedelta(days=n), "dinner", c, c * (1 - BAND_Z * spread), c * (1 + BAND_Z * spread))
        for n, c in enumerate(covers)
    ]
    together = plates(services, [Share("x", each)])
    alone = sum(plates([s], [Share("x", each)])[0].ready for s in services)
    assert all(p.ready >= 0 for p in together)
    assert sum(p.expected for p in together) - 1e-6 <= sum(p.ready for p in together) <= alone + len(covers)
