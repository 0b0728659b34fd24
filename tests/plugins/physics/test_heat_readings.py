"""Readings: cleaned, and held against rules in exact °F."""

from __future__ import annotations

import time
from decimal import Decimal
from fractions import Fraction

import pytest
from stillroom.plugins.physics.errors import HeatError
from stillroom.plugins.physics.judging import judge_cooling, judge_lethality, judge_minimum
from stillroom.plugins.physics.kinetics import record
from stillroom.plugins.physics.learning import ProbedRun, fit_h, learnt_carryover, learnt_h
from stillroom.plugins.physics.programme import Piece, Step
from stillroom.plugins.physics.readings import clean, looks_like_other_unit
from stillroom.plugins.physics.rules import cooling_rule, minimum, poultry_table, roast_table
from stillroom.plugins.physics.simulate import simulate
from stillroom.plugins.physics.temperature import exact_f


def log(*pairs, unit="F"):
    return clean([(minute * 60.0, value) for minute, value in pairs], unit)


def clock(text):
    hours, minutes = text.split(":")
    return int(hours) * 60 + int(minutes)


def test_exact_fahrenheit():
    """57.2 °C is 134.96 °F: below 135 although both print as 135; 57.3 is above; text, Decimal and float agree."""
    assert exact_f("57.2", "C") == Fraction("134.96")
    assert exact_f(57.2, "C") == exact_f(Decimal("57.2"), "C") < 135 < exact_f("57.3", "C")
    with pytest.raises(HeatError, match="allowed are C and F"):
        exact_f(57, "K")


def test_rule_in_fahrenheit_is_not_rounded():
    """62.7 °C, shown as 63 and as 145 °F, does not meet 145 °F; 62.8 does."""
    rule = minimum("cook_intact_meat")
    assert judge_minimum(log((0, "62.7"), (1, "62.7"), unit="C"), rule).verdict == "not met"
    assert judge_minimum(log((0, "62.8"), (1, "62.8"), unit="C"), rule).verdict == "met"


def test_time_must_not_go_back():
    """A reading earlier than the one before it is refused by number."""
    with pytest.raises(HeatError, match="reading 3 goes back in time by 60 s"):
        log((0, 40), (2, 50), (1, 60))


def test_repeated_minutes():
    """The same minute twice: dropped and noted when alike, refused when not."""
    assert log((0, 40), (1, 50), (1, 50)).notes == ("1 repeated readings dropped",)
    with pytest.raises(HeatError, match="second temperature"):
        log((0, 40), (1, 50), (1, 51))


def test_broken_probe():
    """Below -40 the probe is broken, in either unit; words are not temperatures; an empty log is refused."""
    for unit in ("C", "F"):
        with pytest.raises(HeatError, match="below -40"):
            log((0, -41), unit=unit)
    with pytest.raises(HeatError, match='reading 1 is "hot"'):
        log((0, "hot"))
    with pytest.raises(HeatError, match="reading 1"):
        log((0, "nan"))
    with pytest.raises(HeatError, match="no readings"):
        clean([], "F")


def test_gaps_are_known():
    """A missing quarter of an hour among one-minute readings is a gap, and a hold across it proves nothing."""
    readings = [(minute, 150) for minute in (*range(5), *range(20, 25))]
    found = log(*readings)
    assert found.gaps_s == ((240.0, 1200.0),)
    assert "longest 16 min" in found.notes[0]
    assert judge_minimum(found, minimum("roast_140")).verdict == "cannot tell"
    assert judge_minimum(found, minimum("roast_145")).verdict == "met"


def test_two_readings_far_apart_hold_nothing():
    """146 °F, and 146 again two hours later: it may have been put away and heated again. Half an hour is a hold."""
    rule = minimum("cook_comminuted_145")
    assert judge_minimum(log((0, 146), (120, 146)), rule).verdict == "cannot tell"
    assert judge_minimum(log((0, 146), (120, 146), (240, 146), (360, 146)), rule).verdict == "cannot tell"
    assert judge_minimum(log((0, 146), (30, 146)), rule).verdict == "met"


def test_a_gap_earns_no_log_reductions():
    """Two minutes at 60 °C on each side of an hour without readings count as four minutes, not as 64."""
    kinetics = record("meat_salmonella")
    each = judge_lethality(log((0, 60), (1, 60), (2, 60), unit="C"), kinetics).logs
    both = log((0, 60), (1, 60), (2, 60), (62, 60), (63, 60), (64, 60), unit="C")
    assert judge_lethality(both, kinetics).logs == pytest.approx(2 * each)


def test_two_probes_in_one_file_meet_nothing():
    """One in a pan that cools, one in the walk-in's air, row by row: no limit is met by the colder of the two."""
    hot, cold = [(0, 140), (30, 136), (60, 110), (100, 80)], [(1, 60), (31, 45), (61, 40), (101, 38)]
    assert judge_cooling(log(*sorted(hot + cold)), cooling_rule()).verdict == "cannot tell"


def test_unit_slip_is_noticed():
    """A log that peaks at 63 where 145 was expected was in °C; one at 140 was not."""
    assert looks_like_other_unit(log((0, 40), (1, 63)), 145)
    assert not looks_like_other_unit(log((0, 40), (1, 140)), 145)


def test_hundred_thousand_rows():
    """A logger file of 100,000 rows is cleaned and judged in a few seconds; over 200,000 is refused."""
    begun = time.perf_counter()
    found = clean(((second, f"{140 + second % 7}.5") for second in range(100_000)), "F")
    assert judge_minimum(found, minimum("roast_140")).verdict == "met"
    assert judge_cooling(found, cooling_rule()).verdict == "cannot tell"
    assert time.perf_counter() - begun < 10
    with pytest.raises(HeatError, match="split the log"):
        clean(((second, 100) for second in range(200_001)), "F")


@pytest.mark.parametrize(
    ("pairs", "verdict", "first", "total"),
    [
        ((("14:00", 135), ("15:00", 70), ("20:00", 41)), "met", "met", "met"),
        ((("14:00", 135), ("16:10", 70), ("17:00", 41)), "not met", "not met", "met"),
        ((("14:00", 135), ("15:50", 70), ("20:01", 41)), "not met", "met", "not met"),
        ((("14:00", 135), ("16:00", 70), ("20:00", 41)), "met", "met", "met"),
        ((("14:00", 150), ("14:30", 120), ("16:05", 69), ("19:00", 40)), "cannot tell", "cannot tell", "met"),
        ((("14:00", 135), ("16:05", 71), ("17:00", 40)), "not met", "not met", "met"),
        ((("14:00", 135), ("15:00", 68), ("18:00", 50)), "cannot tell", "met", "cannot tell"),
        ((("14:00", 135), ("15:00", 68), ("20:30", 45)), "not met", "met", "not met"),
        ((("14:00", 120), ("15:00", 68), ("17:00", 41)), "cannot tell", "cannot tell", "cannot tell"),
    ],
)
def test_two_stage_cooling(pairs, verdict, first, total):
    """Food Code 3-501.14(A): both clocks run from 135 °F; what readings leave open stays open."""
    found = judge_cooling(log(*[(clock(at), value) for at, value in pairs]), cooling_rule())
    assert (found.verdict, found.stages[0].verdict, found.stages[-1].verdict) == (verdict, first, total)


def test_cooling_clock_starts_at_135_not_at_the_door():
    """In the walk-in at 160 °F: the two hours begin as it passes 135, and a known start replaces the guess."""
    pairs = [(0, 160), (30, 135), (149, 70), (300, 41)]
    found = judge_cooling(log(*pairs), cooling_rule())
    assert (found.stages[0].longest_s, found.verdict) == (119 * 60, "met")
    early = judge_cooling(log(*pairs), cooling_rule(), started_s=20 * 60.0)
    assert early.stages[0].verdict == "not met"


def test_cooling_notes():
    """A rise after 70 °F is noted, and an unknown start is said."""
    found = judge_cooling(log((0, 135), (60, 70), (90, 75), (200, 41)), cooling_rule())
    assert found.notes == ("rose above 70 °F again",)
    assert "nobody wrote down" in judge_cooling(log((0, 120), (60, 41)), cooling_rule()).notes[0]


@pytest.mark.parametrize(
    ("pairs", "first", "total"),
    [
        # out of the food and in the walk-in's air for half an hour, then back in a pan that was too slow
        (((0, 136), (10, 130), (20, 45), (30, 40), (40, 118), (240, 80), (480, 60)), "cannot tell", "cannot tell"),
        (((0, 136), (90, 69), (150, 60), (155, 38), (165, 59), (300, 50), (480, 42)), "met", "cannot tell"),
        # the same, and the food itself is there in time by what was read afterwards
        (((0, 136), (20, 40), (40, 110), (115, 70), (300, 41)), "met", "met"),
        # above 70 °F for longer than two hours by the readings after it: not met stays not met
        (((0, 135), (130, 80), (140, 69), (150, 79), (160, 60), (300, 41)), "not met", "met"),
        # a door that opens, and a probe that is taken out into a kitchen at 74 °F when all is over
        (((0, 135), (60, 69), (200, 41), (400, 45), (410, 41)), "met", "met"),
        (((0, 135), (60, 69), (200, 40), (205, 60), (210, 74)), "met", "met"),
    ],
)
def test_a_probe_in_cold_air_proves_nothing_of_the_food(pairs, first, total):
    """Food Code 3-501.14(A) is about the food: what is warm after it was cold had not cooled, or was heated."""
    found = judge_cooling(log(*pairs), cooling_rule())
    assert [stage.verdict for stage in found.stages] == [first, total]
    if "cannot tell" in (first, total):
        assert "was the probe out of the food?" in found.reason


def test_food_made_cold_is_not_cooled_by_a_cold_probe():
    """Food Code 3-501.14(B): read at 40 °F with a probe from the walk-in, then at 70 and, five hours on, at 50 °F."""
    assert judge_cooling(log((0, 40), (10, 70), (300, 50)), cooling_rule("ambient")).verdict == "cannot tell"


@pytest.mark.parametrize(
    ("pairs", "verdict"),
    [
        # three hours below 135 °F, then 136 °F: stirred, or warmed a little; its clock had started
        (((0, 140), (5, 134), (60, 110), (180, 136), (250, 70), (400, 41)), "cannot tell"),
        (((0, 140), (5, 134), (60, 110), (180, 135), (301, 71), (302, 70), (350, 41)), "not met"),
        # heated again to 165 °F, Food Code 3-403.11(A): it cools anew
        (((0, 140), (5, 134), (60, 110), (180, 165), (185, 135), (250, 70), (500, 41)), "met"),
        # a probe's error about 135 °F starts no clock, 4-203.11(B); nor does a fall that all limits are kept from
        (((0, 140), (60, 134), (200, 136), (300, 70), (500, 41)), "met"),
        (((0, 140), (5, 134), (10, 130), (15, 136), (100, 70), (300, 41)), "met"),
    ],
)
def test_the_clock_is_not_started_anew_by_a_little_warmth(pairs, verdict):
    """3-501.14(A) gives six hours in all: food that fell below 135 °F and was hot again is not given them twice."""
    assert judge_cooling(log(*pairs), cooling_rule()).verdict == verdict


def test_cooling_in_celsius_is_exact():
    """21.1 °C is 69.98 °F and passes 70; 21.2 is 70.16 and does not."""
    for reading, first in (("21.1", "met"), ("21.2", "not met")):
        found = judge_cooling(
            log((0, "57.3"), (1, "57.2"), (119, reading), (121, reading), (300, "5.0"), unit="C"), cooling_rule()
        )
        assert found.stages[0].verdict == first


def test_minimum_still_running():
    """A log that ends hot but short of its hold cannot tell; one that never got there is not met."""
    rule = minimum("roast_130")
    assert judge_minimum(log((0, 131), (60, 131)), rule).verdict == "cannot tell"
    assert judge_minimum(log((0, 131), (60, 131), (61, 100)), rule).verdict == "not met"
    assert judge_minimum(log((0, 128), (200, 129)), rule).reason == "highest 129 °F, asked 130 °F"


def test_lethality_of_a_log():
    """Eleven minutes at 140 °F are worth just under the 6.5 log that the law gives for 11.2."""
    found = judge_lethality(log((0, 140), (11, 140)), record("roast_law"))
    assert found.logs == pytest.approx(6.5 * 11 / 11.18, rel=0.002)
    assert not found.reaches_target


def test_tables_refuse_below_their_first_row():
    """No answer below 130 °F for roasts, nor below 136 °F for poultry; unknown fat levels are named."""
    with pytest.raises(HeatError, match="below 130 °F"):
        roast_table().hold_s(129.9)
    with pytest.raises(HeatError, match="below 136 °F"):
        poultry_table("chicken", 12).hold_s(135)
    with pytest.raises(HeatError, match="no poultry table for duck 12 %"):
        poultry_table("duck", 12)


def probed(h, thickness=0.03):
    piece, steps = Piece(thickness), (Step("bath", 5400, 58),)
    history = simulate(piece, (Step("bath", 5400, 58, h_w_m2k=h),), "likely")
    pairs = zip(history.times_s[::4].tolist(), [f"{value:.2f}" for value in history.core_c[::4]], strict=True)
    return ProbedRun(piece, steps, clean(pairs, "C"), 0)


def test_surface_coefficient_is_learnt():
    """A core that was made with h 70 gives h 70 back; three runs give a spread that holds them."""
    assert fit_h(probed(70)) == pytest.approx(70, rel=0.02)
    found = learnt_h((probed(60), probed(70), probed(80)))
    assert found.count == 3
    assert found.low < 60 < found.value < 80 < found.high
    with pytest.raises(HeatError, match="2 runs; an estimate needs 3"):
        learnt_h((probed(60), probed(70)))


def test_carryover_is_learnt():
    """Mean rise with the range of single runs; a fall is refused."""
    found = learnt_carryover(((50, 58), (52, 59), (51, 60)))
    assert found.value == pytest.approx(8)
    assert found.low < 7 < 9 < found.high
    with pytest.raises(HeatError, match="below the core at the pull"):
        learnt_carryover(((50, 49), (50, 51), (50, 52)))


@pytest.mark.parametrize(("temp_f", "verdict"), [("144.96", "not met"), ("144.999999", "not met"), ("145", "met"),
                                                 ("145.0000001", "met")])  # fmt: skip
def test_a_hair_below_is_not_there(temp_f, verdict):
    """145 °F for 15 s: a logger's 144.96 prints as 145.0 and is not 145."""
    log = clean([(0, temp_f), (20, temp_f)], "F")
    assert judge_minimum(log, minimum("cook_intact_meat")).verdict == verdict


def test_the_spread_of_a_single_run():
    """Rises of 8, 9 and 10 K: mean 9, and nine in ten further runs within 2.920 x 1 x sqrt(1 + 1/3) of it.
    Source: prediction interval of a normal sample; Student's t, 90 %, two degrees of freedom."""
    found = learnt_carryover(((50.0, 58.0), (50.0, 59.0), (50.0, 60.0)))
    assert (found.value, found.count) == (9.0, 3)
    assert (found.low, found.high) == pytest.approx((9 - 3.3717, 9 + 3.3717), abs=1e-3)


@pytest.mark.parametrize(("temp", "unit", "shown"), [("144.999", "F", "144.999 °F"), ("62.777", "C", "144.998 °F")])
def test_a_reading_just_short_is_not_rounded_up_to_its_limit(temp, unit, shown):
    """62.777 °C is 144.9986 °F: 'highest 145, asked 145: not met' would be no reason."""
    found = judge_minimum(clean([(0, temp), (60, temp)], unit), minimum("cook_intact_meat"))
    assert (found.verdict, found.reason) == ("not met", f"highest {shown}, asked 145 °F")
