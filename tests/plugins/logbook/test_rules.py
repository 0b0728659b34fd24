"""Readings against published rules; the source stands beside each case."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from stillroom.plugins.logbook.rules import (
    Minimum,
    Rule,
    judged,
    judged_again,
    judged_core,
    judged_door,
    judged_hold,
    pan,
    pick_rule,
)
from stillroom.plugins.logbook.watch import cooling, forgotten, span, tags
from stillroom.plugins.physics.editions import in_edition
from stillroom.plugins.physics.reheating import reheat_rule
from stillroom.plugins.physics.rules import cooling_rule

TWO = datetime(2026, 11, 25, 14, 0, tzinfo=UTC)
RULES = {
    "recv_cold": Rule("recv_cold", "receive refrigerated food", 41, "at most", "2013 to 2022*", "3-202.11(A)"),
    "recv_eggs": Rule("recv_eggs", "receive raw shell eggs", 45, "at most", "2013 to 2022*", "3-202.11(C)"),
    "recv_hot": Rule("recv_hot", "receive hot cooked food", 135, "at least", "2013 to 2022*", "3-202.11(D)"),
    "recv_frozen": Rule("recv_frozen", "receive frozen food", None, "method", "2013 to 2022*", "3-202.11(E)"),
    "hot_hold": Rule("hot_hold", "hot holding", 135, "at least", "2005 to 2022*", "3-501.16(A)(1)"),
    "cold_hold": Rule("cold_hold", "cold holding", 41, "at most", "2013 to 2022*", "3-501.16(A)(2)"),
}


def at(clock: str) -> datetime:
    hours, minutes = (int(part) for part in clock.split(":"))
    return TWO.replace(hour=hours, minute=minutes)


def log(*readings: tuple[str, float], now: str = "20:30") -> str:
    return pan("P1", "stock", [(at(clock), temp) for clock, temp in readings], cooling_rule(), at(now)).answer.verdict


def test_two_stage_cooling_worked_cases() -> None:
    """Delaware's text of Food Code 3-501.14(A): 135 to 70 °F in 2 h, to 41 °F in 6 h in all, from 135 °F.

    135 °F at 14:00: 70 at 15:00 and 41 at 20:00 meets it (a fast first stage lends its time); 70 at
    16:10 fails the first stage though 41 comes at 17:00; 70 at 15:50 and 41 at 20:01 fails the total.
    """
    assert log(("14:00", 135), ("15:00", 70), ("20:00", 41)) == "met"
    assert log(("14:00", 135), ("16:10", 70), ("17:00", 41)) == "not met"
    assert log(("14:00", 135), ("15:50", 70), ("20:01", 41)) == "not met"


def test_the_clock_starts_at_135_going_down_not_at_the_first_reading() -> None:
    """Half an hour above 135 °F is not cooling time."""
    assert log(("13:30", 180), ("14:00", 135), ("16:00", 70), ("20:00", 41)) == "met"


def test_a_log_without_a_hot_reading_cannot_tell() -> None:
    assert log(("14:00", 120), ("15:00", 70), ("19:00", 41)) == "cannot tell"


def test_what_to_do_depends_on_which_limit_was_missed() -> None:
    first = pan("P", "", [(at("14:00"), 135), (at("16:10"), 75)], cooling_rule(), at("16:11"))
    assert first.answer.verdict == "not met" and "reheat to 165 °F" in first.answer.do
    total = pan("P", "", [(at("14:00"), 135), (at("15:50"), 70), (at("20:01"), 45)], cooling_rule(), at("20:02"))
    assert total.answer.verdict == "not met" and total.answer.do.startswith("Throw it away")


def test_time_left_is_to_the_next_limit_and_never_said_longer() -> None:
    """At 15:00:30 there are 59 min left to 70 °F; below 70 the next limit is 41 by 20:00."""
    now = at("15:00") + timedelta(seconds=30)
    open_ = pan("P1", "stock", [(at("14:00"), 135), (at("15:00"), 90)], cooling_rule(), now)
    (shown,) = cooling([(open_, {"recipe_id": "stock"})], now)
    assert shown.left == "59 min left to 70 °F" and not shown.is_late
    late = pan("P1", "stock", [(at("14:00"), 135), (at("15:00"), 90)], cooling_rule(), at("16:20"))
    assert cooling([(late, {})], at("16:20"))[0].left == "should have been at 70 °F 20 min ago"
    second = pan("P1", "stock", [(at("14:00"), 135), (at("15:00"), 70)], cooling_rule(), at("16:00"))
    assert cooling([(second, {})], at("16:00"))[0].left == "4 h 00 left to 41 °F"
    assert (
        cooling([(pan("P", "", [(at("14:00"), 135), (at("19:00"), 41)], cooling_rule(), at("19:01")), {})], at("19:01"))
        == []
    )
    assert span(3599) == "59 min"


def test_a_salad_and_oysters_have_four_hours() -> None:
    """Food Code 3-501.14(B) and (C): from the first reading, and nothing is asked at 70 °F on the way."""
    now = at("15:30")
    salad = pan("P2", "tuna salad", [(at("14:00"), 68), (at("15:00"), 55)], cooling_rule("ambient"), now)
    (shown,) = cooling([(salad, {})], now)
    assert (shown.left, shown.is_late) == ("2 h 30 left to 41 °F", False)
    assert shown.rule == "made from ingredients at room temperature: to 41 °F in 4 h"
    assert salad.answer.rule == "Food Code 3-501.14(B): to 41 °F in 4 h"
    oysters = pan("P3", "", [(at("14:00"), 50), (at("18:01"), 44)], cooling_rule("received"), at("18:02"))
    assert oysters.answer.verdict == "not met" and oysters.answer.do.startswith("Throw it away")
    assert cooling([(oysters, {})], at("18:20"))[0].left == "should have been at 41 °F 20 min ago"
    done = pan("P2", "", [(at("14:00"), 68), (at("17:00"), 41)], cooling_rule("ambient"), at("17:01"))
    assert "counted from the first reading" in done.answer.reason and not done.is_open


def test_the_clock_of_a_salad_starts_when_it_was_made() -> None:
    """Food Code 3-501.14(B), (C): four hours from preparation or receiving. Made at 13:00, first read at 14:00: 41 °F
    by 17:00, not by 18:00; at 41 °F at 17:30, which is in time only if it was made as it was first read."""
    readings, now = [(at("14:00"), 68), (at("15:00"), 55)], at("15:30")
    said = pan("P2", "tuna salad", readings, cooling_rule("ambient"), now, at("13:00"))
    (shown,) = cooling([(said, {})], now)
    assert (shown.left, shown.began) == ("1 h 30 left to 41 °F", "counted from 13:00, when it was made or came in")
    (unsaid,) = cooling([(pan("P2", "", readings, cooling_rule("ambient"), now), {})], now)
    assert (unsaid.left, unsaid.began) == ("2 h 30 left to 41 °F", "counted from its first reading")
    done = [*readings, (at("17:30"), 41)]
    late, met = (pan("P2", "", done, cooling_rule("ambient"), at("17:31"), word) for word in (at("13:00"), None))
    assert (late.answer.verdict, met.answer.verdict) == ("not met", "met")
    seen = pan("P2", "", [*readings, (at("17:01"), 44)], cooling_rule("ambient"), at("17:02"), at("13:00"))
    assert seen.answer.verdict == "not met" and seen.answer.do.startswith("Throw it away")
    assert "first reading" in met.answer.reason and "first reading" not in late.answer.reason


def test_a_start_can_only_be_earlier_and_only_of_what_was_not_cooked() -> None:
    """A word after the first reading counts from the first reading; cooked food's clock starts at 135 °F."""
    readings = [(at("14:00"), 68), (at("15:00"), 55)]
    after = pan("P", "", readings, cooling_rule("ambient"), at("15:01"), at("14:30"))
    assert after.by == (at("18:00"),)
    cooked = pan("P", "", [(at("14:00"), 135), (at("15:00"), 90)], cooling_rule(), at("15:01"), at("12:00"))
    assert cooked.by == (at("16:00"), at("20:00")) and cooked.started is None
    assert cooling([(cooked, {})], at("15:01"))[0].began == ""


@pytest.mark.parametrize(
    ("rule", "temp", "verdict"),
    [
        ("recv_cold", 41.0, "met"), ("recv_cold", 41.1, "not met"),  # 41 °F
        ("recv_eggs", 45.0, "met"), ("recv_eggs", 46.0, "not met"),  # air 45 °F
        ("recv_hot", 135.0, "met"), ("recv_hot", 134.6, "not met"),  # 57 °C is 134.6 °F, under the legal 135
        ("recv_frozen", -4.0, "cannot tell"),  # frozen solid: no temperature in the code
    ],
)  # fmt: skip
def test_receiving_temperatures(rule: str, temp: float, verdict: str) -> None:
    """Food Code 3-202.11 (training text and Florida's text of it, as in cooling_holding.csv)."""
    assert judged_door(temp, RULES[rule], "2022").verdict == verdict


def test_the_rule_is_named_with_what_it_says_to_do() -> None:
    found = judged(50, RULES["recv_cold"])
    assert found.rule == "Food Code 3-202.11(A): receive refrigerated food" and found.do.startswith("Refuse it")
    assert found.reason == "50 °F (10.0 °C) is over 41 °F"


def test_holding() -> None:
    """Food Code 3-501.16: hot 135 °F or more, cold 41 °F or less; frozen has no number."""
    assert judged_hold("hot", 135, RULES, "2022").verdict == "met"
    assert judged_hold("hot", 134.9, RULES, "2022").verdict == "not met"
    assert judged_hold("cold", 41, RULES, "2022").verdict == "met"
    assert judged_hold("cold", 41.2, RULES, "2022").verdict == "not met"
    assert judged_hold("frozen", 10, RULES, "2022").verdict == "cannot tell"


def test_rules_of_another_edition_judge_nothing() -> None:
    """An edition that the rows on file don't print is told, not guessed."""
    assert judged_hold("hot", 140, RULES, "1999").verdict == "not judged"
    assert pick_rule(RULES, "cold_hold", "2009") is None and pick_rule(RULES, "hot_hold", "2009") is not None
    assert (
        in_edition("2005 to 2022*", "2005") and in_edition("2005 to 2022*", "2017") and not in_edition("2009", "2013")
    )
    assert in_edition("2013; 2017; 2022*", "2017") and not in_edition("2013 to 2022*", "")


def test_a_core_reading_proves_no_time() -> None:
    """Food Code 3-401.11(A): 145 °F for 15 s. A single reading shows the temperature, not the hold."""
    chop = [Minimum("chops", 145, 15, "3-401.11(A)(1)(b)", "read")]
    assert judged_core(146, chop).verdict == "cannot tell"
    assert judged_core(144.9, chop).verdict == "not met"
    instant = [Minimum("birds", 165, 0, "3-401.11(A)(3)", "read")]
    assert judged_core(165, instant).verdict == "met"
    assert judged_core(200, []).verdict == "not judged"


@pytest.mark.parametrize(
    ("step", "core", "verdict", "said"),
    [
        ("reheat", 165, "cannot tell", "165 °F or above in one reading alone; asked 165 °F for 15 s"),  # (A)
        ("reheat", 164.9, "not met", "highest 164.9 °F, asked 165 °F for 15 s"),
        ("reheat microwave", 165, "only if", "rotated or stirred, covered, and left covered for 2 min"),  # (B)
        ("reheat packed", 135, "only if", "no more than 2 h 00 min"),  # (C), (D)
        ("reheat packed", 134.9, "not met", "highest 134.9 °F, asked 135 °F"),
        ("reheat roast", 158, "only if", "the oven was set as 3-401.11(B) has it"),  # (E)
        ("reheat roast", 150, "cannot tell", "the log ends after 0 s"),
        ("reheat roast", 129, "not met", "no row of the time table is held"),
    ],
)
def test_one_reading_of_food_heated_again(step: str, core: float, verdict: str, said: str) -> None:
    """Food Code 3-403.11, Delaware's text: a reading shows its temperature, and neither the hold nor the two hours."""
    found = judged_again(core, reheat_rule(step), "2022")
    assert found.verdict == verdict and said in found.reason
    assert found.rule.startswith(f"Food Code {reheat_rule(step).section}: ")
    assert bool(found.do) and judged_again(core, reheat_rule(step), "2009").verdict == "not judged"


def test_shellfish_tags_ninety_days_from_the_last_served() -> None:
    """Food Code 3-203.12: 90 calendar days from the day the last was served; California counts from the harvest."""
    rows = [
        ("L1", "oyster", "RD 1", "2025-12-20", "Lay 3", "2025-12-22", "2026-01-01", None),
        ("L2", "oyster", "RD 2", "2026-03-01", "Lay 3", "2026-03-03", None, None),
    ]
    kept = tags(rows, "last served", date(2026, 4, 1))
    assert [(one.lot_code, one.until, one.state) for one in kept] == [
        ("L2", None, "no day of last service on it yet"), ("L1", date(2026, 4, 1), "keep"),
    ]  # fmt: skip
    assert [one.state for one in tags(rows[:1], "last served", date(2026, 4, 2))] == ["may go"]
    assert tags(rows[:1], "harvested", date(2026, 4, 1))[0].until == date(2026, 3, 20)
    assert [one.lot_code for one in forgotten(kept, date(2026, 4, 1))] == ["L2"]


def test_an_open_log_looked_at_after_its_limit_says_that_the_limit_has_passed() -> None:
    """Food Code 3-501.14(A): at 70 °F two hours after 135 °F. Read last at 15:00, looked at at 15:30 and at 18:00."""
    readings = [(at("14:00"), 140.0), (at("15:00"), 100.0)]
    early = pan("P1", "stock", readings, cooling_rule(), at("15:30")).answer
    assert (early.verdict, early.reason.split(";")[0]) == ("cannot tell", "Still cooling: its first limit is to come")
    late = pan("P1", "stock", readings, cooling_rule(), at("18:00")).answer
    assert late.verdict == "cannot tell" and "to come" not in late.reason
    assert late.reason.startswith("It should have been at 70 °F by now and no reading shows it: take one")


def test_a_pan_that_was_cold_enough_and_rose_again_is_not_said_to_have_no_reading() -> None:
    """68 °F after 1 h 50 shows the first limit of 3-501.14(A) met, 72 °F later that it rose: both are told."""
    kept = [(at("14:00"), 140.0), (at("15:50"), 68.0), (at("16:10"), 72.0)]
    found = pan("P1", "stock", kept, cooling_rule(), at("17:00")).answer
    assert found.verdict == "cannot tell" and "no reading shows it" not in found.reason
    assert "135 to 70 °F in 1 h 50 min, allowed 2 h 00 min" in found.reason and "rose above 70 °F again" in found.reason


def test_the_time_left_counts_from_the_first_fall_below_135() -> None:
    """Below 135 °F at 14:05 and at 136 again at 17:00: its six hours end at 20:00, not at 23:00. 3-501.14(A)."""
    kept = [(at("14:00"), 140), (at("14:05"), 130), (at("17:00"), 136)]
    found = pan("P1", "stock", kept, cooling_rule(), at("17:01"))
    assert found.by == (at("16:00"), at("20:00"))


def test_a_pan_read_cold_and_then_warm_is_not_met() -> None:
    """A probe in the walk-in's air read 40 °F at 14:20; the food was at 110 °F an hour later, and is told so."""
    kept = [(at("14:00"), 136), (at("14:20"), 40), (at("15:20"), 110), (at("20:30"), 44)]
    found = pan("P1", "stock", kept, cooling_rule(), at("20:31")).answer
    assert found.verdict == "cannot tell" and "was the probe out of the food?" in found.reason
