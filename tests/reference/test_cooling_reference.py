"""Cooling by the paragraph that fits the food, against FDA Food Code 2022, section 3-501.14.

The text was read in states' adoptions of it: Delaware, 16 Del. Admin. Code 3-501.14 (A) to (D); Minnesota Rules
4626.0385; Washington, WAC 246-215-03515 (2) to (4). All three print the same figures.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.db.pieces import COOLS_AS
from stillroom.plugins.physics.editions import in_edition
from stillroom.plugins.physics.judging import FROM_FIRST, judge_cooling
from stillroom.plugins.physics.readings import ProbeLog, clean
from stillroom.plugins.physics.rules import cooling_rule

H = 3600
# Paragraph: where the clock starts [°F], and each limit: [°F], seconds from the start.
FOOD_CODE_2022 = {
    "cooked": ("3-501.14(A)", 135, [(70, 2 * H), (41, 6 * H)]),  # (1) 135 to 70 °F in 2 h, (2) to 41 °F in 6 h in total
    "ambient": ("3-501.14(B)", None, [(41, 4 * H)]),  # from ingredients at ambient temperature: 41 °F within 4 hours
    "received": ("3-501.14(C)", None, [(41, 4 * H)]),  # received above 41 °F as the law allows: 41 °F within 4 hours
}


def log(*readings: tuple[str, float]) -> ProbeLog:
    """Readings of one day by the clock, °F."""
    times = [int(clock[:2]) * 60 + int(clock[3:]) for clock, _ in readings]
    return clean([((at - times[0]) * 60, str(temp)) for at, (_, temp) in zip(times, readings, strict=True)], "F")


def test_each_paragraph_has_its_own_figures() -> None:
    """Start, limits and section of every rule that a log may be held to; each was read, and the edition prints it."""
    rules = {key: cooling_rule(key) for key in COOLS_AS}
    found = {
        key: (rule.section, rule.start_f, [(stage.temp_f, stage.within_s) for stage in rule.stages])
        for key, rule in rules.items()
    }
    assert found == FOOD_CODE_2022
    assert all(rule.basis == "read" and in_edition(rule.edition, "2022") for rule in rules.values())
    assert all(isinstance(stage.temp_f, Fraction) for rule in rules.values() for stage in rule.stages)


@pytest.mark.parametrize(
    ("cools_as", "readings", "verdict"),
    [
        # (A), Delaware's text: 1 h + 5 h is six in all; a slow first stage fails though 41 °F comes early; 6 h 01 fails
        ("cooked", [("14:00", 135), ("15:00", 70), ("20:00", 41)], "met"),
        ("cooked", [("14:00", 135), ("16:10", 70), ("17:00", 41)], "not met"),
        ("cooked", [("14:00", 135), ("15:50", 70), ("20:01", 41)], "not met"),
        # (B), canned tuna is the code's own example. North Carolina's food handlers' manual: salad of canned tuna from
        # the shelf is to be at 41 °F within four hours of preparation
        ("ambient", [("10:00", 68), ("12:00", 50), ("14:00", 41)], "met"),
        ("ambient", [("10:00", 68), ("14:00", 42), ("14:30", 41)], "not met"),
        ("ambient", [("10:00", 68), ("13:59", 42), ("14:01", 40)], "cannot tell"),
        ("ambient", [("10:00", 68), ("12:00", 50)], "cannot tell"),
        ("ambient", [("10:00", 68), ("14:10", 50)], "not met"),
        # (C), live shellfish: received at 50 °F inside at most, at 41 °F within four hours of receiving (training text)
        ("received", [("09:00", 50), ("12:30", 41)], "met"),
        ("received", [("09:00", 50), ("13:00", 41.1), ("13:05", 41)], "not met"),
    ],
)
def test_worked_cases(cools_as: str, readings: list[tuple[str, float]], verdict: str) -> None:
    """At the limit and at the hour is within: '41 °F or less', 'within 4 hours'."""
    assert judge_cooling(log(*readings), cooling_rule(cools_as)).verdict == verdict


def test_one_log_is_another_thing_under_another_paragraph() -> None:
    """Five hours from a room to 41 °F fail (B); nobody saw that log at 135 °F, so (A) can't tell. From 135 °F in five
    hours by way of 70 meets (A), and fails (B), which gives four."""
    salad = log(("10:00", 68), ("12:00", 55), ("14:30", 44), ("15:00", 41))
    stock = log(("10:00", 135), ("11:30", 70), ("14:30", 44), ("15:00", 41))
    rules = [cooling_rule(key) for key in ("cooked", "ambient")]
    verdicts = [judge_cooling(one, rule).verdict for one in (salad, stock) for rule in rules]
    assert verdicts == ["cannot tell", "not met", "met", "not met"]


def test_the_clock_of_b_and_c_starts_as_it_is_made_or_comes_in() -> None:
    """The code names no temperature for it: at the first reading, which is said; earlier by a person's word."""
    tuna = log(("10:30", 60), ("14:10", 41))
    told, word = (judge_cooling(tuna, cooling_rule("ambient"), started) for started in (None, -30 * 60.0))
    assert (told.verdict, told.notes) == ("met", (FROM_FIRST,))
    assert (word.verdict, word.notes) == ("not met", ())
    assert judge_cooling(log(("10:00", 60), ("11:00", 41), ("12:00", 45)), cooling_rule("ambient")).notes == (
        FROM_FIRST, "rose above 41 °F again",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("cools_as", "started", "verdict"),
    [
        # (B) "within 4 hours ... if prepared from ingredients at ambient temperature": a salad made at 09:30
        ("ambient", "09:30", "not met"), ("ambient", "10:00", "met"), ("ambient", "10:29", "met"),
        # (C) "received in compliance with laws allowing a temperature above 41 °F during shipment": came at 09:59
        ("received", "09:59", "not met"), ("received", "10:00", "met"),
        # a word after the first reading can't be so: the first reading counts
        ("ambient", "12:00", "met"),
    ],
)  # fmt: skip
def test_made_or_come_in_before_the_first_reading(cools_as: str, started: str, verdict: str) -> None:
    """First read at 10:30, at 41 °F at 14:00: four hours from the word, to the minute. No condition is left."""
    first = 10 * 60 + 30
    word = (int(started[:2]) * 60 + int(started[3:]) - first) * 60.0
    found = judge_cooling(log(("10:30", 50), ("14:00", 41)), cooling_rule(cools_as), word)
    assert (found.verdict, found.notes) == (verdict, ())


def test_a_word_that_cannot_be_gains_no_time() -> None:
    """Half an hour after the first reading: the four hours run from that reading all the same."""
    assert judge_cooling(log(("10:00", 68), ("14:10", 41)), cooling_rule("ambient"), 1800.0).verdict == "not met"


@given(st.lists(st.integers(30, 70), min_size=1, max_size=6), st.lists(st.integers(60, 7200), min_size=6, max_size=6),
       st.integers(0, 4 * H), st.integers(0, 4 * H))  # fmt: skip
def test_an_earlier_start_is_never_better(temps: list[int], steps: list[int], early: int, more: int) -> None:
    """What was not in time from one moment is not in time from an earlier one; nobody's word is the latest of all."""
    pairs = [(sum(steps[:n]), str(temp)) for n, temp in enumerate(temps)]
    order = ["not met", "cannot tell", "met"]
    rule, found = cooling_rule("ambient"), clean(pairs, "F")
    words = [float(-early - more), float(-early), None]
    verdicts = [order.index(judge_cooling(found, rule, word).verdict) for word in words]
    assert verdicts == sorted(verdicts)


def test_a_reading_in_celsius_is_held_against_the_figure_in_fahrenheit() -> None:
    """5 °C is 41 °F exactly and within; 5.1 °C is 41.18 °F and is not."""
    for reading, verdict in (("5.0", "met"), ("5.1", "not met")):
        found = clean([(0, "20.0"), (4 * H, reading), (4 * H + 60, "5.0")], "C")
        assert judge_cooling(found, cooling_rule("ambient")).verdict == verdict
