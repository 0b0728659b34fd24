"""Heating again for hot holding, against FDA Food Code 2022, section 3-403.11.

The text was read in a state's adoption of it: Delaware, 16 Del. Admin. Code 4011, 3-403.11 (A) to (E); the 165 °F and
15 s of (A) in Wisconsin's too. The rows of the roast table, 3-401.11(B), were read in Washington, WAC 246-215-03400.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.db.pieces import REHEATS
from stillroom.plugins.physics.editions import in_edition
from stillroom.plugins.physics.errors import HeatError
from stillroom.plugins.physics.readings import ProbeLog, clean
from stillroom.plugins.physics.reheating import judge_reheat, reheat_rule

# Paragraph: [°F] that every part reaches, hold there [s], and (D): hours after 41 °F; (E) goes by its table.
FOOD_CODE_2022 = {
    "reheat": ("3-403.11(A)", 165, 15, 2),  # "at least 165 °F for 15 seconds"
    "reheat microwave": ("3-403.11(B)", 165, 0, 2),  # "rotated or stirred, covered, and allowed to stand covered 2 min"
    "reheat packed": ("3-403.11(C)", 135, 0, 2),  # ready to eat, commercially processed and packaged: "at least 135 °F"
    "reheat roast": ("3-403.11(E)", None, 0, None),  # "oven parameters and minimum time and temperature" of 3-401.11(B)
}


def log(*readings: tuple[float, float | str], unit: str = "F") -> ProbeLog:
    """Minutes and temperatures."""
    return clean([(minute * 60, str(temp)) for minute, temp in readings], unit)


def verdict(key: str, *readings: tuple[float, float | str], unit: str = "F") -> str:
    return judge_reheat(log(*readings, unit=unit), reheat_rule(key)).verdict


def test_each_paragraph_has_its_own_figures() -> None:
    """What each way asks, where it is printed, that it was read, and that the edition prints it."""
    rules = {key: reheat_rule(key) for key in REHEATS}
    found = {
        key: (rule.section, rule.to_f, rule.hold_s, rule.within_s and rule.within_s / 3600)
        for key, rule in rules.items()
    }
    assert found == FOOD_CODE_2022
    assert all(rule.basis == "read" and in_edition(rule.edition, "2022") for rule in rules.values())
    assert {rule.from_f for rule in rules.values()} == {41}
    assert [row.temp_f for row in rules["reheat roast"].rows][:3] == [130, 131, 133]
    with pytest.raises(HeatError, match='no rule of heating again "grill"'):
        reheat_rule("grill")


@pytest.mark.parametrize(
    ("key", "readings", "found"),
    [
        # (A) "all parts of the food reach a temperature of at least 165 °F for 15 seconds"
        ("reheat", [(0, 41), (60, 120), (119.5, 165), (120, 166)], "met"),
        ("reheat", [(0, 38), (60, 120), (90, 164.9), (90.5, 164.9), (91, 150)], "not met"),
        ("reheat", [(0, 38), (89.98, 164), (90, 165), (90.2, 165), (90.22, 164)], "not met"),  # 12 s; 14.4 at most
        ("reheat", [(0, 38), (60, 120), (90, 166), (95, 160)], "cannot tell"),  # one reading, five minutes beside it
        ("reheat", [(0, 38), (89.8, 164), (90, 165), (90.1, 165), (90.2, 164)], "cannot tell"),  # 6 s, 24 at most
        ("reheat", [(0, 38), (60, 120), (90, 166)], "cannot tell"),  # the log ends as it gets there
        # (D) "the time the food is between 41 °F and the temperatures specified ... may not exceed 2 hours"
        ("reheat", [(0, 41), (120, 165), (121, 165)], "met"),  # two hours to the minute
        ("reheat", [(0, 41), (121, 165), (122, 165)], "not met"),
        ("reheat", [(0, 41), (125, 160), (130, 165), (131, 165)], "not met"),
        ("reheat", [(0, 40), (10, 42), (129, 164), (131, 166), (132, 166)], "cannot tell"),  # 1 h 59 to 2 h 11
        ("reheat", [(0, 41), (120, 164), (121, 166), (122, 166)], "not met"),  # at 164 two hours on: more than two
        ("reheat", [(0, 38), (30, 38), (140, 166), (141, 166)], "met"),  # two hours of the last cold reading
        ("reheat", [(0, 41), (130, 165), (131, 165), (200, 40)], "not met"),  # and not of one that comes after
        # held too late: at 90 minutes it was hot for less than 12 s
        ("reheat", [(0, 41), (89.9, 164), (90, 166), (90.1, 160), (121, 160), (125, 166), (126, 166)], "not met"),
        # or was it at 90 minutes, where two minutes beside one reading have room for 15 s
        ("reheat", [(0, 41), (89, 164), (90, 166), (91, 160), (121, 160), (125, 166), (126, 166)], "cannot tell"),
        # it was out of the cold before the first reading: what came before is the condition
        ("reheat", [(0, 60), (60, 120), (100, 166), (101, 166)], "only if"),
        ("reheat", [(0, 60), (60, 120), (121, 164), (122, 166), (123, 166)], "not met"),
        ("reheat", [(0, 170), (1, 170)], "only if"),
        ("reheat", [(0, 60), (100, 164), (125, 166), (126, 166)], "cannot tell"),  # 1 h 40 at least
        ("reheat", [(0, 166), (0.1, 150), (5, 140)], "cannot tell"),  # it may have been hot before
        # (B) in a microwave oven: no probe sees a cover or a spoon
        ("reheat microwave", [(0, 40), (6, 165), (7, 150)], "only if"),
        ("reheat microwave", [(0, 40), (6, 164), (9, 150)], "not met"),
        ("reheat microwave", [(0, 41), (125, 164), (126, 165)], "not met"),
        # (C) packed in an inspected plant: 135 °F
        ("reheat packed", [(0, 41), (100, 135)], "met"),
        ("reheat packed", [(0, 41), (100, 134.9), (101, 100)], "not met"),
        ("reheat packed", [(0, 41), (120, 134), (121, 135)], "not met"),
        # (E) a row of the roast table, 130 °F for 112 min (6720 s); (D) does not name (E): three hours are no fault
        ("reheat roast", [(0, 38), *((180 + 28 * n, 130) for n in range(5))], "only if"),
        ("reheat roast", [(0, 38), (180, 130), (292, 130)], "cannot tell"),  # nothing is known of nearly two hours
        ("reheat roast", [(0, 38), (180, 130), (291, 130), (292, 129)], "not met"),
        ("reheat roast", [(0, 38), (180, 130), (291, 130)], "cannot tell"),
        # 132 °F for 80 min: a row of the table of the 1990s (77 min), and none of today's (131 °F for 89 min)
        ("reheat roast", [(0, 38), (100, 132), (180, 132), (181, 120)], "not met"),
        ("reheat roast", [(0, 38), (60, 158)], "only if"),  # 158 °F: no hold
        ("reheat roast", [(0, 38), (60, 129)], "not met"),
    ],
)  # fmt: skip
def test_worked_cases(key: str, readings: list[tuple[float, float]], found: str) -> None:
    """At the limit is within: 'at least', 'may not exceed'."""
    assert verdict(key, *readings) == found


def test_what_the_rule_asks_and_what_to_do_are_told() -> None:
    """The condition of only if, the time left, and that too slow is thrown away."""
    covered = judge_reheat(log((0, 40), (6, 166)), reheat_rule("reheat microwave"))
    assert "reached 165 °F; only if it was rotated or stirred, covered, and left covered for 2 min" in covered.reason
    warm = judge_reheat(log((0, 60), (60, 120), (100, 166), (101, 166)), reheat_rule())
    assert "the log begins at 60 °F; only if it was at 41 °F or below no more than 0 h 20 min before" in warm.reason
    short = judge_reheat(log((0, 41), (60, 120), (70, 150)), reheat_rule())
    assert short.parts[0].reason == "highest 150 °F, asked 165 °F for 15 s"
    assert short.do.startswith("Heat it on: every part at 165 °F for 15 s, no more than 2 h after 41 °F")
    assert short.do.endswith("0 h 50 min were left at the last reading.")
    slow = judge_reheat(log((0, 41), (121, 165), (122, 165)), reheat_rule())
    assert slow.parts[1].section == "3-403.11(D)" and slow.do.startswith("Too slow: throw it away")
    unsure = judge_reheat(log((0, 40), (10, 42), (129, 150)), reheat_rule())
    assert unsure.parts[1].verdict == "cannot tell" and "were left" not in unsure.do
    never = judge_reheat(log((0, 41), (120, 150)), reheat_rule())
    assert never.do.startswith("Too slow")  # two hours, and not there yet
    oven = judge_reheat(log((0, 38), (60, 158)), reheat_rule("reheat roast"))
    assert "only if the oven was set as 3-401.11(B) has it" in oven.reason
    assert judge_reheat(log((0, 41), (60, 165), (61, 165)), reheat_rule()).do == ""


def test_it_was_warm_before_is_said() -> None:
    """Out of the cold, back, and heated: the two hours are those of the last rise; the first is to be looked at."""
    found = judge_reheat(log((0, 38), (30, 55), (60, 40), (120, 166), (121, 166)), reheat_rule())
    assert found.verdict == "met"
    assert found.notes == ("was above 41 °F before that, and fell again: look at the readings",)


def test_a_hold_across_a_gap_proves_nothing() -> None:
    """A reading a second but for half a minute at 165 °F that nobody saw."""
    cold = [(second, 40 + second) for second in range(0, 125, 5)]
    found = clean([*cold, (130, 165), (160, 165), (165, 150), (170, 140)], "F")
    assert found.gaps_s == ((130.0, 160.0),) and judge_reheat(found, reheat_rule()).verdict == "cannot tell"


@pytest.mark.parametrize(
    ("key", "celsius", "found"),
    [("reheat", "73.8", "not met"), ("reheat", "73.9", "met"), ("reheat packed", "57.2", "not met"),
     ("reheat packed", "57.3", "met")],
)  # fmt: skip
def test_celsius_is_held_against_the_figure_in_fahrenheit(key: str, celsius: str, found: str) -> None:
    """73.9 °C is 165.02 °F and there, 73.8 is 164.84; 57.2 °C is 134.96 °F, 57.3 is 135.14. 5.0 °C is 41 °F."""
    assert verdict(key, (0, "5.0"), (60, celsius), (61, celsius), (62, "40"), unit="C") == found


def test_a_long_log_is_judged_in_time() -> None:
    """100,000 readings that cross 165 °F with every second one: a few seconds at most."""
    import time

    found = clean(((second, 40 if second < 60 else 164 + second % 2 * 2) for second in range(100_001)), "F")
    begun = time.perf_counter()
    assert judge_reheat(found, reheat_rule()).verdict == "not met"
    assert time.perf_counter() - begun < 5


TEMPS = st.lists(st.integers(min_value=34, max_value=200), min_size=2, max_size=12)
STEPS = st.lists(st.integers(min_value=5, max_value=3600), min_size=12, max_size=12)
BETTER = {"not met": 0, "cannot tell": 1, "only if": 2, "met": 3}


def made(temps: list[int], steps: list[int], slower: int = 1) -> ProbeLog:
    at, pairs = 0, []
    for temp, step in zip(temps, steps, strict=False):
        pairs.append((at * slower, temp))
        at += step
    return clean(pairs, "F")


def rising(temps: list[int]) -> list[int]:
    return [40, *sorted(temps)]


@given(TEMPS, STEPS, st.integers(min_value=2, max_value=4))
def test_a_slower_rise_is_never_better(temps: list[int], steps: list[int], slower: int) -> None:
    """(D): the same curve stretched in time is not in time where it was not."""
    for key in ("reheat microwave", "reheat packed"):  # no hold there that a stretched curve would lengthen
        quick, slow = (judge_reheat(made(rising(temps), steps, n), reheat_rule(key)).parts[1] for n in (1, slower))
        assert BETTER[slow.verdict] <= BETTER[quick.verdict]


@given(st.integers(34, 80), TEMPS, STEPS, st.integers(min_value=1, max_value=60))
def test_hotter_is_never_worse(first: int, temps: list[int], steps: list[int], by: int) -> None:
    """Every reading as hot or hotter: what reached and held its temperature did so too.

    One time of heating: cold at most where it begins. Of food that was warmed, chilled and heated, more warmth before
    the chill may well be worse: from 70 °F on that is a time of heating, too, and has to reach what the rule asks.
    """
    shown = [first, *(max(temp, 42) for temp in temps[:-1])]
    for key in REHEATS:
        cool, warm = (judge_reheat(made([t + n for t in shown], steps), reheat_rule(key)).parts[0] for n in (0, by))
        assert cool.verdict not in {"met", "only if"} or warm.verdict in {"met", "only if"}


@given(TEMPS, STEPS)
def test_what_meets_a_meets_c(temps: list[int], steps: list[int]) -> None:
    """165 °F for 15 s within two hours is 135 °F within two hours; the other way round it need not be."""
    found = made(rising(temps), steps)
    if judge_reheat(found, reheat_rule()).verdict == "met":
        assert judge_reheat(found, reheat_rule("reheat packed")).verdict == "met"


@given(TEMPS, STEPS, st.integers(min_value=0, max_value=10))
def test_one_reading_more_settles_and_never_turns(temps: list[int], steps: list[int], where: int) -> None:
    """A reading on the straight line between two: met stays met and not met stays not met."""
    pairs = [(reading.at_s, reading.temp_f) for reading in made([40, *temps], steps).readings]
    index = where % (len(pairs) - 1)
    (a, low), (b, high) = pairs[index : index + 2]
    between = ((a + b) / 2, (low + high) / 2)
    for key in REHEATS:
        rule = reheat_rule(key)
        one = judge_reheat(_log(pairs), rule).verdict
        more = judge_reheat(_log([*pairs[: index + 1], between, *pairs[index + 1 :]]), rule).verdict
        assert {one, more} != {"met", "not met"}


def _log(pairs: list[tuple[float, Fraction]]) -> ProbeLog:
    """Readings without gaps, so that one more among them makes none."""
    from stillroom.plugins.physics.readings import Reading

    return ProbeLog(tuple(Reading(at, temp) for at, temp in pairs), (), ())


RISE = ((0, 40), (30, 166), (31, 167))  # heated again as it should be


@pytest.mark.parametrize(
    ("later", "said"),
    [
        (((360, 40), (570, 150)), "not met"),  # warmed once more and never hot enough
        (((360, 40), (365, 60), (590, 150), (600, 166), (601, 167)), "not met"),  # hot enough, in four hours
        (((360, 40), (400, 166), (401, 167)), "met"),
        (((360, 40), (380, 44), (400, 40)), "met"),  # the door of the walk-in
        (((360, 40),), "met"),
        (((360, 40), (380, 70), (390, 40)), "met"),  # 70 °F is not yet heating
        (((360, 40), (380, 71), (390, 40)), "not met"),  # and what is heated has to get there
    ],
)
def test_each_time_of_heating_is_judged_and_the_worst_counts(later: tuple[tuple[float, float], ...], said: str) -> None:
    """Every part reaches 165 °F within two hours each time that it is heated for hot holding: 3-403.11(A), (D)."""
    assert verdict("reheat", *RISE, *later) == said


@pytest.mark.parametrize(
    ("before", "said"),
    [
        (((-200, 40), (-150, 164), (-60, 40)), "not met"),  # no better than a degree more, held for no 15 s
        (((-200, 40), (-150, 165), (-60, 40)), "cannot tell"),  # long enough between two readings, perhaps
        (((-200, 40), (-151, 164), (-150.9, 165), (-150.8, 164), (-60, 40)), "not met"),
        (((-200, 40), (-180, 60), (-160, 40)), "met"),  # the door of the walk-in
        (((-1, 74),), "met"),  # the probe came from the shelf
        (((-200, 150), (-100, 120), (-60, 40)), "met"),  # it falls: nothing was heated there
        (((-200, 150), (-190, 155), (-60, 40)), "only if"),  # it rises: the end of its cook, or a heating that failed
    ],
)
def test_what_was_before_counts_as_what_came_after(before: tuple[tuple[float, float], ...], said: str) -> None:
    """Heated from cold and chilled again, it was heated twice: 3-403.11(A). A cook is not a heating again."""
    assert verdict("reheat", *((minute + 300, temp) for minute, temp in (*before, *RISE))) == said


def test_a_cook_before_the_cold_is_a_condition_beside_the_others() -> None:
    """A microwave oven's cover and the cook that the log may begin with are both told."""
    found = judge_reheat(log((0, 150), (10, 155), (200, 40), (230, 166), (231, 167)), reheat_rule("reheat microwave"))
    assert found.verdict == "only if"
    assert "left covered for 2 min afterwards and what came before the cold was its cooking" in found.reason


def test_a_log_that_begins_at_the_cook_is_judged_by_what_came_after_the_chill() -> None:
    """Hot at first, cold, warm for the dinner: (D) is not asked of the cook, and not met by what followed."""
    found = judge_reheat(log((0, 170), (300, 40), (540, 150)), reheat_rule("reheat"))
    assert found.verdict == "not met" and found.reason.startswith("highest 150 °F")
    assert verdict("reheat", (0, 170), (300, 40), (330, 166), (331, 167)) == "met"
    roast = judge_reheat(log((0, 40), (60, 150), (300, 40), (400, 100), (500, 120)), reheat_rule("reheat roast"))
    assert roast.verdict == "not met"


@given(st.lists(st.tuples(st.integers(1, 200), st.integers(33, 200)), min_size=1, max_size=30))
def test_more_of_a_log_behind_a_chill_never_makes_it_better(steps: list[tuple[int, int]]) -> None:
    """What failed stays failed, whatever was done with the food afterwards: 3-403.11(D)."""
    failed = [(0.0, 40), (10.0, 60), (300.0, 150), (301.0, 166), (302.0, 167), (600.0, 40)]
    at, more = 600.0, []
    for minutes, temp in steps:
        at += minutes
        more.append((at, temp))
    assert verdict("reheat", *failed, *more) == "not met"
