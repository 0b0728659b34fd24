"""Ageing lots: cost rises as weight leaves, forecasts refuse what they cannot know; cut plans lose no weight."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction as F

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from stillroom.db.lots import Cut, Lot, Weighing, credit_per_gram, lost_share, usable_g, usual_days
from stillroom.plugins.cuts.compute import (
    Keep,
    cost_per_usable_kg,
    curve,
    portions,
    ready_list,
    weight_on,
    wrong_weighing,
)
from stillroom.plugins.cuts.plan import NoPlan, Piece, plan
from stillroom.plugins.cuts.plots import weight_plot

BEGUN = date(2026, 11, 1)
CUT = Cut("chop", "chop", F(1, 4), F(250), "as written")


def lot(*grams: int, code: str = "L", target: int | None = 14, step: int = 3, price: str | None = "100") -> Lot:
    """A lot of 10 kg weighed every third day."""
    seen = tuple(Weighing(BEGUN + timedelta(days=step * n), F(g), 36.0, 80.0) for n, g in enumerate(grams, 1))
    return Lot(code, "mutton", BEGUN, F(10_000), target, "", F(price) if price else None, seen, CUT, None)


FOUR = lot(9800, 9650, 9500, 9400)


def test_cost_of_a_usable_kilogram_rises_as_weight_leaves() -> None:
    """100 for 10 kg: at the start 7.5 kg usable cost 13.33 a kg; at 9.4 kg, 7.05 kg usable cost 14.18."""
    start = cost_per_usable_kg(FOUR, F(10_000), BEGUN, Keep())
    now = cost_per_usable_kg(FOUR, F(9_400), BEGUN, Keep())
    assert (start, now) == (F(100) / F("7.5"), F(100) / F("7.05"))


def test_keeping_costs_are_added() -> None:
    """Interest 10 % a year and 0.07 a kg and week over 10 days: 100 x 0.1 x 10/365 and 10 x 0.07 x 10/7."""
    on = BEGUN + timedelta(days=10)
    found = cost_per_usable_kg(FOUR, F(10_000), on, Keep(F(1, 10), F("0.07")))
    assert found == (100 + F(100, 365) + 1) / F("7.5")


def test_days_end_when_a_piece_is_broken_down() -> None:
    """Cut up on day 14: it is 14 days old for ever, and keeping it costs no more."""
    gone, later = replace(FOUR, broken_on=BEGUN + timedelta(days=14)), BEGUN + timedelta(days=60)
    assert [gone.days(BEGUN + timedelta(days=n)) for n in (0, 13, 14, 60)] == [0, 13, 14, 14]
    keep = Keep(F(1, 10), F("0.07"))
    cut = cost_per_usable_kg(gone, F(9_400), BEGUN + timedelta(days=14), keep)
    assert cost_per_usable_kg(gone, F(9_400), later, keep) == cut


def test_no_price_is_not_nothing() -> None:
    """A lot without a price has no cost."""
    assert cost_per_usable_kg(lot(price=None), F(10_000), BEGUN, Keep()) is None


def test_credits_above_the_piece_are_refused() -> None:
    """By-products worth 0.02 a gram of 10 kg are 200, the piece cost 100: refused with both sums."""
    rich = Lot("L", "mutton", BEGUN, F(10_000), 14, "", F(100), (), Cut("c", "c", F(1, 4), F(1), "", F(1, 50)), None)
    with pytest.raises(ValueError, match=r"credits of 200\.00 are above the 100\.00"):
        cost_per_usable_kg(rich, F(10_000), BEGUN, Keep())


def test_a_credit_without_a_price_is_named() -> None:
    """Fat has no price: it counts as nothing, and is said."""
    assert credit_per_gram([("bones", F(1, 10), F(1, 1000)), ("fat", F(1, 5), None)]) == (F(1, 10_000), ("fat",))


@pytest.mark.parametrize(
    ("piece", "day", "words"),
    [
        (lot(9800, 9650), 14, "a forecast needs 3"),
        (FOUR, 25, "at most twice"),
        (lot(9800, 9900, 9500), 14, "weigh again"),
    ],
)
def test_forecasts_refuse(piece: Lot, day: int, words: str) -> None:
    """Fewer than three weighings, more than twice the last day, a weight that went up: no figure, but why."""
    found = weight_on(piece, BEGUN + timedelta(days=day))
    assert found.grams is None and words in found.refused


def test_a_wrong_weighing_is_said() -> None:
    """A gain of 1 % of the start asks for a re-weigh; a falling weight does not."""
    assert "weigh again" in wrong_weighing(lot(9800, 9900)) and wrong_weighing(FOUR) == ""


def test_a_forecast_has_a_band() -> None:
    """Day 14 lies between its own ends and below the last weighing."""
    found = weight_on(FOUR, BEGUN + timedelta(days=14))
    assert found.band is not None and found.grams is not None
    assert found.band[0] < found.grams < found.band[1] < 9400


def test_published_means_are_within_the_band() -> None:
    """Strip loin 8.2, 9.5, 11.2 % at 14, 21, 28 days: 35 days is forecast with 11.9 % inside the band.

    Laster et al. 2008, in Dashdorj et al. 2016, table 1.
    """
    seen = tuple(
        Weighing(BEGUN + timedelta(days=d), F(10_000) - g, None, None) for d, g in ((14, 820), (21, 950), (28, 1120))
    )
    found = weight_on(Lot("S", "strip", BEGUN, F(10_000), 35, "", None, seen, None, None), BEGUN + timedelta(days=35))
    assert found.band is not None and found.band[0] <= 10_000 - 1190 <= found.band[1]


def test_ready_first_taken_first() -> None:
    """The lot that was ready first is taken first, counted at the low end; what is missing stays missing."""
    older, newer = lot(9800, 9650, 9500, 9400, code="A", target=10), lot(9800, 9650, 9500, 9400, code="B", target=12)
    found = ready_list([newer, older, lot(9800, code="C", target=None)], BEGUN + timedelta(days=13), 40)
    assert [r.lot.code for r in found] == ["A", "B"]
    assert found[0].low_portions == 28 and [r.taken for r in found] == [28, 12]


def test_a_lot_that_cannot_be_forecast_promises_nothing() -> None:
    """Two weighings only: it is in the list, without portions, and nothing is taken from it."""
    (found,) = ready_list([lot(9800, 9650, target=7)], BEGUN + timedelta(days=10), 5)
    assert (found.portions, found.low_portions, found.taken) == (None, None, 0)


def test_room_and_humidity_out_of_range() -> None:
    """Room 32 to 39.2 °F, humidity 75 to 85 %; the ends are within, nothing measured is not in range or out."""
    assert Weighing(BEGUN, F(1), 39.2, 75.0).out_of_range == Weighing(BEGUN, F(1), None, None).out_of_range == ()
    assert Weighing(BEGUN, F(1), 39.3, 86.0).out_of_range == ("room 39.3 °F", "humidity 86 %")


def test_usable_and_portions() -> None:
    """9.4 kg less a quarter are 7.05 kg: 28 portions of 250 g."""
    assert (usable_g(FOUR, F(9400)), portions(FOUR, F(9400))) == (7050, 28)


def test_trim_of_the_last_breakdowns() -> None:
    """Two breakdowns: 1.0 kg gave 600 g, 3.0 kg gave 2.4 kg: a quarter was trimmed."""
    assert lost_share([(F(1000), F(600)), (F(3000), F(2400))]) == (F(1, 4), 2) and lost_share([]) is None


@pytest.mark.parametrize(
    ("days", "usual"), [((), None), ((21, 23, 21, 20), 21), ((20, 23), 23), ((35,) * 4 + (21,) * 6 + (35,) * 9, 21)]
)
def test_usual_days_of_the_newest_lots(days: tuple[int, ...], usual: int | None) -> None:
    """The commonest of the newest ten; of two as common the longer, so that nothing is hung too late."""
    assert usual_days(days) == usual


def test_the_curve_ends_on_the_day_it_is_meant_for() -> None:
    """Weighed points, then the forecast to day 14, its band beginning at the last weighing; drawn with its finding."""
    found = curve(FOUR)
    assert found.weighed[-1] == (12.0, 9400.0) == found.band[0][:2]
    assert found.ahead[-1][0] == 19 and 'aria-label="a finding"' in weight_plot(found, 14, "a finding")


positive = st.fractions(F(1, 10), F(100), max_denominator=100)


@given(
    positive, positive, st.fractions(F(1, 10), 1, max_denominator=50), st.fractions(0, 1, max_denominator=20), positive
)
def test_a_plan_loses_no_weight(weight: F, length: F, taper: F, ends: F, portion: F) -> None:
    """Portions, ends and what is left are the piece, exactly; what is left is less than a portion; cuts go one way."""
    piece = Piece(weight * 100, length, taper, ends * length / 3)
    assume(piece.weight_g <= 1000 * portion * 5)
    found = plan(piece, portion * 5)
    assert found.portions * portion * 5 + found.ends_g + found.left_g == piece.weight_g
    assert 0 <= found.left_g < portion * 5
    assert list(found.cuts_cm) == sorted(found.cuts_cm)


def test_a_tapering_piece_gives_thicker_portions_at_its_thin_end() -> None:
    """Four portions of 100 g from 400 g over 40 cm: 10 cm each where it is even, growing where it tapers."""
    assert plan(Piece(F(400), F(40)), F(100)).thick_cm == pytest.approx([10.0] * 4)
    tapered = plan(Piece(F(400), F(40), F(1, 2)), F(100)).thick_cm
    assert list(tapered) == sorted(tapered) and sum(tapered) == pytest.approx(40.0)


@pytest.mark.parametrize(
    "piece", [Piece(F(0), F(10)), Piece(F(100), F(10), F(2)), Piece(F(100), F(10), F(1), F(5)), Piece(F(100), F(0))]
)
def test_what_gives_no_plan_is_refused(piece: Piece) -> None:
    """No weight, a thin end thicker than the thick one, ends that take all, no length."""
    with pytest.raises(NoPlan):
        plan(piece, F(50))
