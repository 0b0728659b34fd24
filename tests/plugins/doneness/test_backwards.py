"""A bath asked backwards: each answer fed forward again gives the targets, and one notch less does not."""

from __future__ import annotations

from dataclasses import replace

import pytest
from stillroom.plugins.doneness.backwards import backwards
from stillroom.plugins.doneness.compute import Question, plan
from stillroom.plugins.doneness.form import read_form
from stillroom.plugins.physics.inverse import Immersion, core_logs
from stillroom.plugins.physics.kinetics import record_set
from stillroom.plugins.physics.programme import Piece, Step
from stillroom.plugins.physics.temperature import c_from_f

CHOP, BATH = Piece(0.038, start_c=3.3), Step("bath", 7200.0, 60.0)


def spare(piece: Piece, bath_c: float, seconds: float) -> float:
    """Logs above the target of the record that is shortest of it, slow end."""
    bath = Immersion.of(piece, bath_c)
    return min(core_logs(bath, piece.thickness_m, seconds, k) - k.target_logs for k in record_set("meat"))


def test_each_answer_holds_and_one_notch_less_does_not() -> None:
    """A minute, a millimetre, a tenth of a degree."""
    found = backwards(CHOP, BATH)
    assert found is not None and found.time_s is not None and found.thickness_mm is not None
    assert found.bath_f is not None
    assert spare(CHOP, 60.0, found.time_s) >= 0 > spare(CHOP, 60.0, found.time_s - 60)
    thick = [replace(CHOP, thickness_m=mm / 1000) for mm in (found.thickness_mm, found.thickness_mm + 1)]
    assert spare(thick[0], 60.0, 7200) >= 0 > spare(thick[1], 60.0, 7200)
    assert spare(CHOP, c_from_f(found.bath_f), 7200) >= 0 > spare(CHOP, c_from_f(found.bath_f - 0.1), 7200)


def test_the_printed_time_is_reached_with_the_guides_own_coefficient() -> None:
    """25 mm at 60 °C: 79.3 min with h 95 and no floor, printed 1 1/2 h. Source: Baldwin's guide, table 5.1. Here h 60
    and the floor of a claim: later than that, by no more than half."""
    found = backwards(Piece(0.025, start_c=5.0), Step("bath", 7200.0, 60.0))
    assert found is not None and found.time_s is not None and 79.3 < found.time_s / 60 < 79.3 * 1.5
    assert found.decides[0] == "L. monocytogenes"


def test_poultry_below_57_has_no_answer() -> None:
    """The record begins at 57 °C: the words name it, for all three where all three would need it."""
    found = backwards(Piece(0.03, food="poultry"), Step("bath", 7200.0, 56.0))
    assert found is not None and found.time_s is None and "57" in found.why[0] and found.thickness_mm is None


@pytest.mark.parametrize(("piece", "step"), [
    (CHOP, Step("grill", 600.0, 250.0)), (replace(CHOP, food=None), BATH), (replace(CHOP, start_c=-18.0), BATH),
])  # fmt: skip
def test_what_cannot_be_asked_backwards_is_not_asked(piece: Piece, step: Step) -> None:
    """No bath, no record, or a frozen piece."""
    assert backwards(piece, step) is None


def test_a_plan_carries_its_answers() -> None:
    """The first step of a programme is the bath that is asked about."""
    read = read_form({"food": "pork", "shape": "slab", "thickness": "38 mm", "start": "38 °F", "step1": "bath",
                      "at1": "140 °F", "time1": "2 h"})  # fmt: skip
    assert read.piece is not None
    found = plan(Question("pork", read.piece, read.steps)).backwards
    assert found is not None and found == backwards(Piece(0.038, start_c=c_from_f(38)), Step("bath", 7200.0, 60.0))
