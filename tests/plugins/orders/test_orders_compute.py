"""Deliveries and quantities: the published example, cases by hand, properties."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.plugins.orders.compute import (
    ZERO,
    Drop,
    Supplier,
    There,
    Wanted,
    below_minimum,
    drops,
    line,
    packed,
)

WED = date(2026, 11, 25)


def day(number: int) -> date:
    return WED + timedelta(days=number)


def drop(number: int) -> Drop:
    return Drop(day(number), WED, "")


def test_the_published_par_example() -> None:
    """Order two days ahead, three days between deliveries, 10 lb a day, 28 on hand: par 50, order 22, 5 packs of 5 lb.

    Source: culinary training example, par = use x (lead + days between deliveries); its answer worked by hand. Day by
    day: 20 of the 28 are gone when the delivery comes, 8 are left, and 30 are wanted before the next: 50 - 28 = 30 - 8.
    """
    wanted = [Wanted(day(n), F(10)) for n in range(9)]
    found = line(wanted, [There(F(28), WED)], lambda _: ZERO, [drop(2), drop(5)], WED, None)
    assert (found.need, found.there, found.short, found.runs_out_on) == (30, 8, 22, None)
    assert (found.first, found.last, found.short) == (day(2), day(4), sum(w.quantity for w in wanted[:5]) - 28)
    assert packed(found.short, F(5), "each") == (25, 5)


@pytest.mark.parametrize(
    ("clock", "first", "second"),
    [("13:59", 1, 3), ("14:00", 1, 3), ("14:01", 3, 6)],
)
def test_after_the_cut_off_it_is_the_next_delivery(clock: str, first: int, second: int) -> None:
    """Tuesday, Thursday, Saturday, ordered the day before by two: Wednesday at 14:01 Thursday's is gone."""
    found = drops(Supplier("d", "Dairy", "246", 1, "14:00"), WED, clock)
    assert [d.due_on for d in found] == [day(first), day(second)]


def test_a_holiday_brings_nothing() -> None:
    """Thursday off: Saturday, then Tuesday."""
    assert [d.due_on for d in drops(Supplier("d", "Dairy", "246"), WED, "09:00", [day(1)])] == [day(3), day(6)]


def test_a_supplier_without_delivery_days_comes_any_day() -> None:
    """Two days' lead: Friday, Saturday."""
    assert [d.due_on for d in drops(Supplier("d", "X", "", 2), WED, "09:00")] == [day(2), day(3)]


def test_a_delivery_of_the_same_day() -> None:
    """Boats, no lead, by half past six: at six today's can be had, at seven tomorrow's."""
    boat = Supplier("b", "Boat", "3456", 0, "06:30")
    assert drops(boat, WED, "06:00")[0].due_on == WED and drops(boat, WED, "07:00")[0].due_on == day(1)


def test_a_par_asks_for_its_day() -> None:
    """Nothing wanted, 4 there, par 10 on the day of the delivery: 6."""
    found = line([], [There(F(4), WED)], lambda on: F(10) if on == day(1) else ZERO, [drop(1), drop(3)], WED, None)
    assert (found.short, found.need, found.there, found.is_par, found.last) == (6, 10, 4, True, day(1))


def test_what_will_be_out_of_date_is_not_counted_as_there() -> None:
    """10 there on Friday, kept until then; 4 wanted on Friday, 5 on Saturday: 4 of them serve, 5 are short, 6 spoil."""
    wanted = [Wanted(day(2), F(4)), Wanted(day(3), F(5))]
    found = line(wanted, [There(F(10), WED, day(2))], lambda _: ZERO, [drop(2), drop(4)], WED, None)
    assert (found.need, found.there, found.short, found.spoils) == (9, 4, 5, 6)


def test_what_lacks_before_the_delivery_is_said_apart() -> None:
    """1 wanted today, none there, nothing wanted after it: nothing to order, 1 too little today."""
    found = line([Wanted(WED, F(1))], [], lambda _: ZERO, [drop(1), drop(3)], WED, None)
    assert (found.short, found.need, found.there, found.lacks, found.runs_out_on) == (0, 0, 0, 1, WED)


def test_what_is_expected_counts_from_its_day() -> None:
    """5 wanted today with 0 there, 20 expected tomorrow: it runs out today, and nothing is ordered for Friday."""
    wanted = [Wanted(day(n), F(5)) for n in range(4)]
    found = line(wanted, [There(F(20), day(1))], lambda _: ZERO, [drop(2), drop(4)], WED, None)
    assert (found.runs_out_on, found.short) == (WED, 0)


def test_nothing_is_ordered_that_would_not_keep() -> None:
    """Keeps two days, five days to last: two days' worth, the other three are told."""
    wanted = [Wanted(day(n), F(5)) for n in range(1, 9)]
    found = line(wanted, [], lambda _: ZERO, [drop(1), drop(6)], WED, 2)
    assert (found.short, found.too_long) == (10, 15)


def test_what_is_out_of_date_is_not_there() -> None:
    """6 until tomorrow, wanted the day after: 4 ordered."""
    there = [There(F(6), WED, day(1))]
    assert line([Wanted(day(2), F(4))], there, lambda _: ZERO, [drop(1), drop(3)], WED, None).short == 4


@pytest.mark.parametrize(
    ("quantity", "pack", "unit", "said"),
    [
        (F(22), F(5), "each", (25, 5)), (F(1), F(5000), "g", (5000, 1)), (ZERO, F(5), "g", (0, 0)),
        (F(4210), None, "g", (4500, None)), (F(230), None, "g", (300, None)), (F(7, 2), None, "each", (4, None)),
        (ZERO, None, "g", (0, None)),
    ],
)  # fmt: skip
def test_packs_are_whole_and_weights_are_said(quantity: F, pack: F | None, unit: str, said: tuple[int, int]) -> None:
    """Up, never down; a catch weight in steps of 500 g, small ones of 100 g."""
    assert packed(quantity, pack, unit) == said


def test_a_minimum_order() -> None:
    """48.20 of 60: 11.80 lacking; a price that is not known asks for nothing."""
    assert below_minimum(F("48.2"), F(60)) == F("11.8")
    assert below_minimum(F(61), F(60)) == below_minimum(None, F(60)) == 0


@given(
    wanted=st.lists(st.tuples(st.integers(0, 12), st.integers(0, 30)), max_size=12),
    there=st.lists(
        st.tuples(st.integers(1, 40), st.integers(0, 4), st.one_of(st.none(), st.integers(0, 12))), max_size=4
    ),
    first=st.integers(1, 4), review=st.integers(1, 6), pack=st.one_of(st.none(), st.integers(1, 12)),
)  # fmt: skip
def test_an_order_covers_its_days(wanted: list, there: list, first: int, review: int, pack: int | None) -> None:
    """Never negative; with the order there, no day from the delivery to the next one is short."""
    needs = [Wanted(day(n), F(q)) for n, q in wanted]
    lots = [There(F(q), day(n), None if last is None else day(last)) for q, n, last in there]
    ahead = [drop(first), drop(first + review)]
    found = line(needs, lots, lambda _: ZERO, ahead, WED, None)
    ordered, packs = packed(found.short, None if pack is None else F(pack), "each")
    assert ordered >= found.short >= 0 and (packs is None or packs.denominator == 1)
    again = line(needs, [*lots, There(ordered, day(first))], lambda _: ZERO, ahead, WED, None)
    assert again.short == 0


@given(
    wanted=st.lists(st.tuples(st.integers(0, 12), st.integers(0, 30)), max_size=12),
    there=st.lists(
        st.tuples(st.integers(1, 40), st.integers(0, 6), st.one_of(st.none(), st.integers(0, 12))), max_size=4
    ),
    first=st.integers(0, 4), review=st.integers(1, 6), life=st.one_of(st.none(), st.integers(1, 5)),
    par=st.sampled_from([0, 7, 40]), pack=st.one_of(st.none(), st.integers(1, 12)),
)  # fmt: skip
def test_the_reason_leads_to_the_quantity(
    wanted: list, there: list, first: int, review: int, life: int | None, par: int, pack: int | None
) -> None:  # fmt: skip
    """Need less what is there by then, rounded up to packs, is ordered; need is what its days want, or the par."""
    needs = [Wanted(day(n), F(q)) for n, q in wanted]
    lots = [There(F(q), day(n), None if last is None else day(last)) for q, n, last in there]
    each = None if pack is None else F(pack)
    found = line(needs, lots, lambda _: F(par), [drop(first), drop(first + review)], WED, life)
    assert found.short == max(0, found.need - found.there) and found.there >= 0 and found.spoils >= 0
    assert packed(found.need - found.there, each, "each") == packed(found.short, each, "each")
    days = sum((w.quantity for w in needs if found.first <= w.on <= found.last), ZERO)
    assert found.need == (par if found.is_par else days)
    assert WED + timedelta(days=first) == found.first <= found.last < found.first + timedelta(days=review)
    assert life is None or (found.last - found.first).days < life
