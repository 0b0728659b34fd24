"""What the heat engine refuses, and what it says."""

from __future__ import annotations

import math

import pytest
from stillroom.plugins.physics.conduction import Face, Segment
from stillroom.plugins.physics.errors import HeatError, KineticsOutOfRange, NotReachable
from stillroom.plugins.physics.inverse import (
    Immersion,
    PullQuestion,
    bath_for_c,
    latest_pull,
    thickest_m,
    time_to_core_s,
    time_to_logs_s,
)
from stillroom.plugins.physics.kinetics import record, record_set
from stillroom.plugins.physics.predict import predict
from stillroom.plugins.physics.programme import Piece, Step


@pytest.mark.parametrize("thickness", [0.0, -0.02, 3.0, math.nan, math.inf])
def test_thickness_refused(thickness):
    """A thickness of 0, 3 m or no number at all is refused with its limits."""
    with pytest.raises(HeatError, match=r"thickness is .* mm; allowed is 0\.5 to 500 mm"):
        Piece(thickness)


@pytest.mark.parametrize("seconds", [-1.0, math.nan, math.inf, 8 * 86400.0])
def test_step_without_end_refused(seconds):
    """A step that is negative, endless or longer than seven days is refused."""
    with pytest.raises(HeatError, match="length of the bath"):
        Step("bath", seconds, 58)


def test_programme_without_end_refused():
    """Steps that add up to more than seven days are refused; so is a programme of none."""
    week = Step("chiller", 6 * 86400.0, 3)
    with pytest.raises(HeatError, match=r"12\.0 days; allowed are 7"):
        predict(Piece(0.02), (week, week))
    with pytest.raises(HeatError, match="no steps"):
        predict(Piece(0.02), ())


def test_bath_typed_in_fahrenheit():
    """145 typed as °C for a bath is refused, and the likely slip is named."""
    with pytest.raises(HeatError, match=r"145 °C; allowed is 20 to 100 °C; if 145 °F was meant, that is 62.8 °C"):
        Step("bath", 3600, 145)


def test_unknown_words():
    """Unknown shapes, steps and records are refused with the known ones listed."""
    with pytest.raises(HeatError, match="known are slab"):
        Piece(0.02, "cube")  # type: ignore[arg-type]
    with pytest.raises(HeatError, match="known are bath"):
        Step("microwave", 60, 100)
    with pytest.raises(HeatError, match="known are any_listeria_70"):
        record("norovirus")
    with pytest.raises(HeatError, match="known are any_listeria_70"):
        record_set("shellfish")


def test_shape_needs_its_sides():
    """A brick needs width and length, a slab must not have them, a factor needs beta."""
    for wrong in ({"shape": "brick", "width_m": 0.05}, {"width_m": 0.05}, {"shape": "factor"}, {"beta": 1.0}):
        with pytest.raises(HeatError, match="belongs to"):
            Piece(0.03, **wrong)  # type: ignore[arg-type]


def test_flips_need_one_sided_heat():
    """A bath cannot be flipped; flips every second are refused."""
    with pytest.raises(HeatError, match="nothing to flip"):
        Step("bath", 3600, 58, flip_every_s=60)
    with pytest.raises(HeatError, match="between flips"):
        Step("grill", 3600, 250, flip_every_s=1)


@pytest.mark.parametrize(("start", "bath", "target"), [(5, 20, 60), (65, 80, 60), (5, 60, 60), (20, 5, 30)])
def test_core_not_reachable(start, bath, target):
    """A bath at 20 °C never makes 60; nor is a start above the target cooked down to it."""
    with pytest.raises(NotReachable, match="not reachable"):
        time_to_core_s(Immersion(bath, start), 0.038, target)


def test_cooling_down_is_a_question_too():
    """From 60 °C in ice to 5 °C is answered, and takes longer than to 21."""
    ice = Immersion(0.0, 60.0, h_w_m2k=200)
    assert 0 < time_to_core_s(ice, 0.03, 21) < time_to_core_s(ice, 0.03, 5)


def test_kinetics_outside_their_range():
    """A record is not asked outside its range; the record and the range are named."""
    with pytest.raises(KineticsOutOfRange, match=r"50.0 °C is outside 54.4 to 66 °C.*meat_salmonella"):
        record("meat_salmonella").hold_s(50)
    with pytest.raises(KineticsOutOfRange):
        time_to_logs_s(Immersion(80), 0.025, record("meat_listeria"))
    with pytest.raises(KineticsOutOfRange):
        thickest_m(Immersion(52), 7200, record("meat_listeria"))


def test_no_poultry_answer_below_57():
    """These poultry records offer nothing below 57 °C."""
    for entry in record_set("poultry"):
        with pytest.raises(KineticsOutOfRange, match="outside 57 to 65 °C"):
            time_to_logs_s(Immersion(55), 0.025, entry)


def test_inverse_says_not_reachable():
    """Even a film fails at 55 °C in ten minutes, and no bath of the range does 200 mm in half an hour."""
    with pytest.raises(NotReachable, match="not reachable at 55 °C in 10 min"):
        thickest_m(Immersion(55), 600, record("meat_listeria"))
    with pytest.raises(NotReachable, match="by any bath up to 66 °C"):
        bath_for_c(Immersion(60), 0.2, 1800, record("meat_listeria"))


def test_pull_not_reachable():
    """A pull for 145 °F from a two-minute grill is refused, and so is one that the bath has passed already."""
    steps = (Step("bath", 3600, 60), Step("grill", 120, 250, flip_every_s=60), Step("rest", 900, 25))
    with pytest.raises(NotReachable, match="in 2 min of grill"):
        latest_pull(Piece(0.05), steps, PullQuestion(1, 75))
    with pytest.raises(NotReachable, match="passed before the grill begins"):
        latest_pull(Piece(0.01), steps, PullQuestion(1, 50))
    with pytest.raises(HeatError, match="at least a rest after it"):
        latest_pull(Piece(0.01), steps, PullQuestion(2, 50))


def test_surroundings_refused():
    """A coefficient between 0 and 0.01, or no number, is refused."""
    for h in (0.001, -5.0, math.nan):
        with pytest.raises(HeatError, match="h is"):
            Face(h, 20)
    with pytest.raises(HeatError, match="duration"):
        Segment(-1, Face(95, 60))
