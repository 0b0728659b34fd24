"""When the next piece must be hung: a case worked by hand, the same against a plain count of days, and its words."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from fractions import Fraction as F

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from stillroom.db.lots import Lot, Weighing
from stillroom.db.netting import Held, Need, Thing, Use
from stillroom.plugins.prep.ageing import (
    WEEK,
    Aged,
    Hanging,
    lots_for,
    needs_of,
    next_ready,
    per_plate,
    to_cut,
    to_hang,
)
from stillroom.plugins.prep.ageing_rows import weight_then

WED = date(2026, 11, 25)


def day(number: int) -> date:
    """So many days from Wednesday 25 November."""
    return WED + timedelta(days=number)


def aged(
    days: int, piece: int, lots: Sequence[tuple[int, int]], cut: int, needs: Sequence[int], use_by: int | None = None
) -> Aged:
    """Steaks. lots: (day ready, steaks); cut: steaks cut already; needs: steaks from today on, day by day."""
    hanging = tuple(Hanging(f"L{n}", day(on), F(gives)) for n, (on, gives) in enumerate(lots))
    held = (Held(F(cut), None if use_by is None else day(use_by)),) if cut else ()
    wanted = tuple(Need("steak", day(n), 1, F(number), "rib") for n, number in enumerate(needs) if number)
    return Aged("steak", "rib-bone-in", "rib, bone in", days, F(piece), hanging, held, wanted)


def test_a_week_by_hand() -> None:
    """Pieces hang 10 days and give 4 steaks. Two steaks a day are wanted, 14 in the week from 5 to 11 December.

    In hand: 4 cut, lot A of 8 ready since yesterday, B of 8 ready on the 30th, C of 5 ready on 6 December (7, of which
    2 are promised). To 4 December 20 are wanted: 4 + 8 + 8, so the lots end that day.

        5 Dec  wants 2, none left    -> hang one by 25 Nov: 4, leaves 2
        6 Dec  wants 2, leaves 0, C comes: 5
        7, 8   leaves 3, 1
        9 Dec  wants 2, 1 left       -> hang one by 29 Nov: 4, leaves 3
        10     leaves 1
        11 Dec wants 2, 1 left       -> hang one by 1 Dec
    """
    found = to_hang(aged(10, 4, [(-1, 8), (5, 8), (11, 5)], 4, [2] * 17), WED)
    said = [(h.run.begin_on, h.run.batches, h.run.ready_on, h.run.on_hand) for h in found]
    assert said == [
        (date(2026, 11, 25), 1, date(2026, 12, 5), 0),
        (date(2026, 11, 29), 1, date(2026, 12, 9), 1),
        (date(2026, 12, 1), 1, date(2026, 12, 11), 1),
    ]
    assert [h.ends_on for h in found] == [date(2026, 12, 4), None, None] and found[0].lacking is None
    assert found[0].run.by == ("rib",)


def test_a_promise_ends_the_lots_sooner() -> None:
    """The same with 3 more of lot B promised: what is short on 3 and 4 December no hanging mends, and it is said."""
    found = to_hang(aged(10, 4, [(-1, 8), (5, 5), (11, 5)], 4, [2] * 17), WED)
    assert found[0].lacking == (date(2026, 12, 3), F(3)) and found[0].ends_on == date(2026, 12, 2)
    assert found[0].run.begin_on == WED


def test_nobody_hangs_on_a_day_off() -> None:
    """By Sunday 29 November, but nobody works on Saturdays and Sundays: by Friday."""
    found = to_hang(aged(10, 4, [(-1, 28)], 0, [2] * 17), WED, lambda on: on.isoweekday() < 6)
    assert (found[0].run.begin_on, found[0].run.ready_on) == (date(2026, 11, 27), date(2026, 12, 9))


def test_what_is_cut_already_is_gone_after_its_last_day() -> None:
    """Twenty steaks cut, four a day wanted, two days of life: eight are used, the rest is no cover for the week."""
    assert to_hang(aged(3, 4, [], 20, [4] * 5), WED) == []
    assert [h.run.ready_on for h in to_hang(aged(3, 4, [], 20, [4] * 5, use_by=1), WED)] == [day(3), day(4)]


def test_a_season_that_begins_later_asks_for_pieces_before_it() -> None:
    """Wanted from the 35th day on only: hung today; the same wanted from the 42nd day on: not in this list yet."""
    assert [h.run.begin_on for h in to_hang(aged(35, 18, [], 0, [0] * 35 + [6] * 7), WED)] == [WED, day(3), day(6)]
    assert to_hang(aged(35, 18, [], 0, [0] * 42 + [6] * 7), WED) == []


def cases(most_lots: int, least: int) -> st.SearchStrategy[tuple[int, int, list[tuple[int, int]], int, list[int]]]:
    """Days, steaks of a piece, lots, steaks cut already, steaks wanted each day (`least` to 4)."""
    lots = st.lists(st.tuples(st.integers(-5, 30), st.integers(0, 20)), max_size=most_lots)
    wanted = st.lists(st.integers(least, 4), min_size=27, max_size=27)
    return st.tuples(st.integers(1, 20), st.integers(1, 9), lots, st.integers(0, 20), wanted)


def counted(case: Aged, hung: Sequence[date] = ()) -> list[date]:
    """Days on which not all is there, counted steak by steak: what comes is used up in turn, what is short is lost."""
    comes = [(lot.ready_on, lot.gives) for lot in case.lots]
    comes += [(on + timedelta(days=case.days), case.piece) for on in hung]
    there, short = sum((h.quantity for h in case.held), F(0)), []
    there += sum((gives for on, gives in comes if on < WED), F(0))
    for number in range(case.days + WEEK):
        on = day(number)
        there += sum((gives for ready, gives in comes if ready == on), F(0))
        wanted = sum((n.quantity for n in case.needs if n.on == on), F(0))
        if wanted > there:
            short.append(on)
        there = max(F(0), there - wanted)
    return short


@given(cases(8, 0))
def test_it_asks_for_pieces_where_the_lots_do_not_cover_the_week_and_only_there(
    drawn: tuple[int, int, list[tuple[int, int]], int, list[int]],
) -> None:
    """None where what hangs covers the week; else the first is hung its days before the first day that is not."""
    case = aged(*drawn)
    uncovered = [on for on in counted(case) if on >= day(case.days)]
    found = to_hang(case, WED)
    assert [h.run.ready_on for h in found][:1] == uncovered[:1]
    assert all(h.run.begin_on + timedelta(days=case.days) == h.run.ready_on for h in found)


@given(cases(2, 2))
def test_the_pieces_that_it_asks_for_are_enough_and_none_too_many(
    drawn: tuple[int, int, list[tuple[int, int]], int, list[int]],
) -> None:
    """Hung when it says so, the whole week is covered; without the last of them it is not."""
    case = aged(*drawn)
    hung = [h.run.begin_on for h in to_hang(case, WED) for _ in range(int(h.run.batches))]
    assume(hung)
    assert not [on for on in counted(case, hung) if on >= day(case.days)]
    assert [on for on in counted(case, hung[:-1]) if on >= day(case.days)]


def test_cuts_of_a_plate_are_found_through_what_it_is_made_of() -> None:
    """A pie of 8 plates has 2 steaks in its filling, of which it takes half a batch; a plate has an eighth of one."""
    things = [
        Thing("pie", F(8), (Use("filling", F(500)), Use("flour", F(300))), is_made=False),
        Thing("rib", F(1), (Use("steak", F(1)),), is_made=False), Thing("soup", F(1), (), is_made=False),
        Thing("filling", F(1000), (Use("steak", F(2)),)), Thing("steak", F(1), (Use("beef", F(460)),)),
    ]  # fmt: skip
    found = per_plate(things, ["steak"])
    assert (found["pie"], found["rib"]) == ({"steak": F(1, 8)}, {"steak": F(1)}) and "soup" not in found
    (need,) = needs_of([("pie", WED, 4), ("soup", WED, 9), ("rib", WED, 0)], found, "steak")
    assert (need.quantity, need.by) == (F(1, 2), "pie")


NEAR = [Need("steak", day(0), 1, F(5), "rib"), Need("steak", day(1), 1, F(9), "rib"), Need("steak", day(3), 1, F(9))]


def test_lots_that_are_ready_are_cut_as_far_as_they_are_wanted() -> None:
    """8 cut, 23 wanted in four days: L1, ready first, for tomorrow, L0 for the day after next; L2 is not wanted."""
    case = aged(35, 18, [(0, 9), (-2, 6), (0, 9), (1, 9)], 8, [])
    found = [(lot.code, run.ready_on, run.needed, run.on_hand) for lot, run in to_cut(case, WED, NEAR)]
    assert found == [("L1", day(1), 9, 3), ("L0", day(3), 9, 0)]
    assert to_cut(aged(35, 18, [(0, 9)], 23, []), WED, NEAR) == []


def test_which_lots_a_days_cutting_comes_out_of() -> None:
    """Ten steaks: the 6 of the lot ready first and some of the next; tomorrow's lot is not ready, and is next."""
    case = aged(35, 18, [(0, 9), (-2, 6), (1, 9), (-3, 0)], 0, [])
    assert [lot.code for lot in lots_for(case, WED, F(10))] == ["L1", "L0"]
    after = next_ready(case, WED)
    assert after is not None and after.code == "L2" and next_ready(aged(1, 1, [(0, 3)], 0, []), WED) is None


@pytest.mark.parametrize(
    ("weighed", "grams"), [((), 8800), ((9700, 9500), 8800), ((9700, 8700), 8700), ((9800, 9650, 9500, 9400), None)]
)
def test_what_a_lot_will_weigh(weighed: tuple[int, ...], grams: int | None) -> None:
    """Fewer than three weighings: 12 % of 10 kg less as such pieces end, or what it weighs if less; else forecast."""
    seen = tuple(Weighing(day(3 * n), F(g), None, None) for n, g in enumerate(weighed, 1))
    lot = Lot("L", "rib", WED, F(10_000), 20, "", None, seen, None, None)
    found = weight_then(lot, day(20), F(12, 100))
    assert found == grams if grams else 8800 < found < 9400
    assert weight_then(lot, lot.last.on, F(12, 100)) == lot.last.weight_g
