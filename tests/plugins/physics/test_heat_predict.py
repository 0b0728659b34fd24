"""Predictions for whole programmes: a thick chop in a low bath, finished over fire."""

from __future__ import annotations

import pytest
from stillroom.plugins.physics.batch import batch_core
from stillroom.plugins.physics.capping import boiling_point_c
from stillroom.plugins.physics.cautions import cautions
from stillroom.plugins.physics.conduction import Material
from stillroom.plugins.physics.errors import HeatError
from stillroom.plugins.physics.inverse import (
    Immersion,
    PullQuestion,
    bath_for_c,
    core_logs,
    latest_pull,
    thickest_m,
    time_to_core_s,
)
from stillroom.plugins.physics.judging import assess, from_curve, lag_s
from stillroom.plugins.physics.kinetics import record, shown_logs
from stillroom.plugins.physics.lethality import cumulative_logs, weakest
from stillroom.plugins.physics.predict import EDGES_LEFT_OUT, FROZEN_AS_SLAB, first_at_or_above_s, predict
from stillroom.plugins.physics.programme import Piece, Step, surroundings
from stillroom.plugins.physics.rules import minimum
from stillroom.plugins.physics.simulate import simulate
from stillroom.plugins.physics.temperature import c_from_f, f_from_c

CHOP = Piece(0.038, start_c=c_from_f(38))
LOW_BATH = Step("bath", 4500, c_from_f(125))
FIRE = Step("grill", 720, 250, flip_every_s=120)
REST = Step("rest", 900, 25)


def test_prediction_holds_together():
    """Curves share their moments, the ends enclose the likely core in the bath, and steps end where they should."""
    found = predict(CHOP, (LOW_BATH, FIRE, REST))
    curves = (
        found.core_c,
        found.surface_c,
        found.coldest_c,
        found.slow_core_c,
        found.fast_core_c,
        found.slow_coldest_c,
    )
    assert {len(curve) for curve in curves} == {len(found.times_s)}
    assert [step.end_s for step in found.steps] == [4500, 5220, 6120]
    bath = found.steps[0]
    assert bath.slow_core_c < bath.core_c < bath.fast_core_c < c_from_f(125)
    assert found.times_s[-1] == pytest.approx(6120)
    assert found.notes == ()


def test_bath_alone_matches_the_engine():
    """The likely end with the guide's constants is the 38 mm chop of two independent solvers: 44.849 °C at 75 min."""
    assert predict(CHOP, (LOW_BATH,)).steps[0].core_c == pytest.approx(44.849, abs=0.005)


def test_brick_in_a_bath():
    """38 x 90 x 130 mm from 38 into 125 °F: 109.6 °F at 60 and 116.1 at 75 min."""
    chop = Piece(0.038, "brick", c_from_f(38), width_m=0.09, length_m=0.13)
    steps = (Step("bath", 3600, c_from_f(125)), Step("bath", 900, c_from_f(125)))
    cores = [f_from_c(step.core_c) for step in predict(chop, steps).steps]
    assert cores == pytest.approx([109.6, 116.1], abs=0.1)


def test_low_bath_earns_nothing():
    """A bath below 130 °F is credited with no log at all, whatever the line would say."""
    found = predict(Piece(0.025, start_c=c_from_f(38)), (LOW_BATH,))
    assert [entry.shown for entry in found.reductions] == ["0.0", "0.0", "0.0"]
    assert core_logs(Immersion(55), 0.025, 7200, record("meat_listeria"), claim=False) > 0


@pytest.mark.parametrize(
    ("thickness", "bath_s", "longest_s", "after_min", "core_f", "peak_min"),
    [
        (0.025, 3600, 900, 4.6, 132, 3.5),
        (0.038, 3600, 1800, 13.2, 130, 8),
        (0.038, 4500, 1800, 11.4, 130, 8),
        (0.050, 4500, 2400, 25, 131, 12),
    ],
)
def test_latest_pull(thickness, bath_s, longest_s, after_min, core_f, peak_min):
    """Hot face held at 100 °C, flips each minute, rest h 10: pull so that the coldest point peaks at 145 °F."""
    piece = Piece(thickness, start_c=c_from_f(38))
    steps = (
        Step("bath", bath_s, c_from_f(125)),
        Step("grill", longest_s, 100, flip_every_s=60, h_w_m2k=600),
        Step("rest", 1800, 25, h_w_m2k=10),
    )
    pull = latest_pull(piece, steps, PullQuestion(1, c_from_f(145), "coldest"))
    assert pull.after_s / 60 == pytest.approx(after_min, abs=0.3)
    assert f_from_c(pull.core_c) == pytest.approx(core_f, abs=1)
    assert f_from_c(pull.peak_c) == pytest.approx(145, abs=0.1)
    assert pull.peak_after_s / 60 == pytest.approx(peak_min, abs=0.5)
    assert pull.carryover_k > 0


def test_inverse_answers():
    """Printed answers: 123.88 min to 50 °C, 36.11 mm in 2 h at 60 °C, 60.93 °C for 38 mm; fed back, 6.5 log."""
    entry = record("meat_salmonella")
    assert time_to_core_s(Immersion(c_from_f(125), c_from_f(38)), 0.038, 50) / 60 == pytest.approx(123.88, abs=0.05)
    thickest = thickest_m(Immersion(60), 7200, entry, claim=False)
    assert thickest * 1000 == pytest.approx(36.11, abs=0.02)
    assert core_logs(Immersion(60), thickest, 7200, entry, claim=False) == pytest.approx(6.5, abs=0.01)
    assert thickest_m(Immersion(56), 14400, entry, claim=False) * 1000 == pytest.approx(49.16, abs=0.02)
    bath = bath_for_c(Immersion(60), 0.038, 7200, entry, claim=False)
    assert bath == pytest.approx(60.93, abs=0.01)
    assert core_logs(Immersion(bath), 0.038, 7200, entry, claim=False) == pytest.approx(6.5, abs=0.01)


def test_slow_end_asks_for_more():
    """Asked backwards at the slow end a piece takes longer and must be thinner than at the likely one."""
    entry = record("meat_listeria")
    slow, likely, fast = (Immersion.of(CHOP, 60, end) for end in ("slow", "likely", "fast"))
    times = [time_to_core_s(bath, 0.038, 55) for bath in (fast, likely, slow)]
    assert times == sorted(times)
    thick = [thickest_m(bath, 7200, entry) for bath in (slow, likely, fast)]
    assert thick == sorted(thick)
    assert thick[0] < 0.9 * thick[1]
    with pytest.raises(HeatError, match="frozen"):
        Immersion.of(Piece(0.03, start_c=-18.0), 60)


def test_claims_count_less():
    """With floor and cap the time to a target is longer, never shorter."""
    entry = record("meat_listeria")
    bath = Immersion(60)
    assert core_logs(bath, 0.03, 7200, entry) < core_logs(bath, 0.03, 7200, entry, claim=False)


def test_shown_logs_stop_at_twelve():
    """No screen shows more than "≥ 12"; figures are rounded down."""
    assert [shown_logs(value) for value in (0.0, 5.99, 11.999, 12.0, 400.0)] == ["0.0", "5.9", "11.9", "≥ 12", "≥ 12"]


def test_one_sided_heat_leaves_out_edges():
    """A brick over fire counts as a slab and says so; a frozen brick too; a cylinder counts as turned."""
    brick = {"shape": "brick", "width_m": 0.09, "length_m": 0.13}
    assert predict(Piece(0.038, **brick), (FIRE, REST)).notes == (EDGES_LEFT_OUT,)
    assert predict(Piece(0.03, start_c=-18.0, **brick), (Step("bath", 3600, 58),)).notes == (FROZEN_AS_SLAB,)
    assert "turned all the time" in predict(Piece(0.03, "long_cylinder"), (FIRE,)).notes[0]


def test_frozen_takes_longer():
    """Frozen, a slab needs about 1.27 times as long to half a degree below the bath; steps end when they should."""
    steps = (Step("bath", 20000, 58), Step("rest", 600, 25))
    frozen, thawed = (predict(Piece(0.03, start_c=start), steps) for start in (-18.0, 5.0))
    assert frozen.core_c[0] == -18
    late = [first_at_or_above_s(run.times_s, run.core_c, 57.5) for run in (frozen, thawed)]
    assert late[0] / late[1] == pytest.approx(1.27, abs=0.04)
    assert frozen.times_s[-1] == pytest.approx(20600, abs=1)
    assert frozen.steps[0].end_s == 20000


def test_weakest_is_the_smallest_integral_of_one_position():
    """Two positions, each hot while the other is cool: what counts is the smaller of their own two integrals, which is
    more than the integral of the coldest of each moment and less than the larger one."""
    times, early, late = [0.0, 600, 1200], [62.0, 62, 56], [56.0, 60, 60]
    entry = record("meat_salmonella")
    own = [float(cumulative_logs(times, curve, entry)[-1]) for curve in (early, late)]
    found = weakest(times, list(zip(early, late, strict=True)), entry)
    coldest = float(cumulative_logs(times, [min(pair) for pair in zip(early, late, strict=True)], entry)[-1])
    assert found.logs == pytest.approx(min(own)) and coldest < found.logs < max(own)
    assert found.peak_c == (62, 60)[own.index(min(own))]


@pytest.mark.parametrize(("alpha", "slow", "fast"), [(1.35e-7, 1.11e-7, 1.40e-7), (1.0e-7, 1.0e-7, 1.40e-7),
                                                     (1.5e-7, 1.11e-7, 1.5e-7)])  # fmt: skip
def test_the_ends_of_the_range_enclose_the_material(alpha, slow, fast):
    """The slow end is 1.11e-7 m2/s or the food's own where that is slower; the fast end 1.40e-7 or its own."""
    piece = Piece(0.03, material=Material(0.48, alpha))
    found = [piece.material_at(end).alpha_m2s for end in ("slow", "likely", "fast")]
    assert found == [slow, alpha, fast]


def test_thawed_at_once():
    """A film just below freezing: the last ice goes before the first sample, and the run goes on from there."""
    found = predict(Piece(0.001, start_c=-1.2), (Step("bath", 600, 60), Step("rest", 60, 20)))
    assert found.steps[0].core_c == pytest.approx(60, abs=0.1) and found.times_s[-1] == pytest.approx(660)


def test_never_thawed():
    """A frozen piece left in the chiller stays frozen and is still predicted."""
    found = predict(Piece(0.05, start_c=-18.0), (Step("chiller", 1800, 3),))
    assert found.steps[0].core_c < -1


def test_codes_for_a_low_bath_and_fire():
    """Low bath, fire: bath is not core, no credit, the finish kills, growth range of C. perfringens, packing."""
    said = cautions(CHOP, predict(CHOP, (LOW_BATH, FIRE, REST)))
    codes = [entry.code for entry in said]
    assert {"bath_not_core", "no_credit", "finish_kills", "perfringens", "packing", "prediction", "local_code"} <= set(
        codes
    )
    assert "non_continuous" not in codes
    assert all("safe" not in entry.text.lower() for entry in said)


def test_codes_for_part_cooked_and_chilled():
    """75 min bath, ice, later fire: non-continuous cooking with a first heating over 60 minutes is a stop."""
    said = cautions(CHOP, predict(CHOP, (LOW_BATH, Step("ice", 3600, 0), FIRE)))
    found = {entry.code: entry for entry in said}
    assert found["non_continuous"].level == "stop"
    assert "75 minutes" in found["non_continuous"].text
    assert found["non_continuous"].section == "3-401.14"
    short = predict(CHOP, (Step("grill", 480, 250, flip_every_s=60), Step("ice", 3600, 0), FIRE))
    assert {entry.code: entry.level for entry in cautions(CHOP, short)}["non_continuous"] == "caution"
    only = predict(CHOP, (LOW_BATH, Step("ice", 3600, 0)))
    assert "no_kill_step" in {entry.code for entry in cautions(CHOP, only)}


def test_growth_minutes():
    """A chop kept in a 50 °C bath for five hours is more than 4 h in the growth range: stop."""
    found = predict(CHOP, (Step("bath", 5 * 3600, 50),))
    assert found.growth_s == pytest.approx(5 * 3600, abs=1200)
    assert {entry.code: entry.level for entry in cautions(CHOP, found)}["growth"] == "stop"


def test_assessment_is_taken_on_the_slow_end():
    """A long bath meets 145 °F for 15 s at the slow end, a shorter one only at the likely end, a low one never."""
    rule = minimum("cook_intact_meat")
    assert assess(predict(CHOP, (Step("bath", 6 * 3600, 64),)), rule).verdict == "met"
    assert assess(predict(CHOP, (Step("bath", 5400, 66),)), rule).verdict != "met"
    likely = first_at_or_above_s(
        *[getattr(predict(CHOP, (Step("bath", 14400, 66),)), name) for name in ("times_s", "coldest_c")], c_from_f(145)
    )
    assert assess(predict(CHOP, (Step("bath", likely + 120, 66),)), rule).verdict == "only if"
    assert assess(predict(CHOP, (LOW_BATH,)), rule).verdict == "not met"


def test_lag_behind_the_prediction():
    """Readings that follow the slow end run late against the likely one, by the difference of the two curves."""
    found = predict(CHOP, (LOW_BATH,))
    late = lag_s(found, from_curve(found.times_s, found.slow_core_c), 40.0)
    assert late == pytest.approx(
        first_at_or_above_s(found.times_s, found.slow_core_c, 40.0)
        - first_at_or_above_s(found.times_s, found.core_c, 40.0)
    )
    assert late > 300
    assert lag_s(found, from_curve(found.times_s, found.slow_core_c), 60.0) is None


def test_batch_agrees_with_single_runs():
    """A batch gives the same cores as one run each, to 0.01 °C."""
    pieces = tuple(Piece(0.015 + 0.01 * index, "factor", beta=0.14 * index) for index in range(4))
    steps = (Step("bath", 3600, 40, 55), Step("bath", 3600, 60), Step("rest", 900, 25))
    times, cores = batch_core(pieces, steps, 30.0, "likely")
    for piece, curve in zip(pieces, cores, strict=True):
        single = simulate(piece, steps, "likely")
        at = [abs(times - single.times_s[row]).argmin() for row in single.step_ends]
        assert curve[at] == pytest.approx(single.core_c[list(single.step_ends)], abs=0.01)
    with pytest.raises(HeatError, match="not grill"):
        batch_core(pieces, (FIRE,), 30.0)
    with pytest.raises(HeatError, match="predict it alone"):
        batch_core((Piece(0.02, start_c=-18.0),), steps, 30.0)


def test_boiling_point():
    """100 °C at the sea, about 95 at 1600 m."""
    assert boiling_point_c(0) == pytest.approx(100.0, abs=0.05)
    assert boiling_point_c(1600) == pytest.approx(94.7, abs=0.1)


def test_surroundings_are_ordered():
    """For steps that heat or chill the slow coefficient is the smallest; a rest's cautious end loses most."""
    for row in surroundings().values():
        ordered = [row.h_slow, row.h_likely, row.h_fast]
        assert ordered == (sorted(ordered, reverse=True) if row.kind == "rest" else sorted(ordered))
        assert row.basis in ("published", "estimate")
