"""A programme worked out: pull, clocks, rules and reductions, against the planning sheet for a thick chop."""

from __future__ import annotations

import pytest
from stillroom.plugins.doneness.clocks import clock_after, clock_before
from stillroom.plugins.doneness.compute import Question, _longer, last_heat, minutes, plan
from stillroom.plugins.doneness.form import read_form
from stillroom.plugins.doneness.standing import Held, chosen, in_edition
from stillroom.plugins.physics.temperature import c_from_f, f_from_c

BATH = {"food": "lamb", "shape": "slab", "thickness": "38 mm", "start": "38 °F", "step1": "bath", "at1": "125 °F",
        "time1": "75 min"}  # fmt: skip
FINISH = {"step2": "grill", "at2": "500 °F", "time2": "10 min", "turns2": "4", "step3": "rest", "at3": "75 °F",
          "time3": "15 min"}  # fmt: skip


def question(typed: dict[str, str], minimum: str = "cook_intact_meat", edition: str = "2022") -> Question:
    read = read_form(typed)
    assert read.wrong == {} and read.piece is not None
    band = (130.0, 135.0)
    return Question(typed["food"], read.piece, read.steps, read.peak_f, minimum, band, edition)


def codes(typed: dict[str, str]) -> set[str]:
    return {caution.code for caution in plan(question(typed)).cautions}


def test_the_bath_is_not_the_core() -> None:
    """38 mm from 38 °F, 75 min at 125 °F: the core is 112.7 at the slow end. Source: exact series, alpha 1.11e-7, h 95;
    the slow end has h 60, so it lies at or below that, and the fast end at or above 118."""
    result = plan(question(BATH)).prediction.steps[0]
    assert f_from_c(result.slow_core_c) <= 112.7 and f_from_c(result.fast_core_c) >= 118.0


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({}, {"bath_not_core", "no_credit", "no_kill_step", "packing", "prediction", "local_code"}),
        (FINISH, {"bath_not_core", "no_credit", "finish_kills", "packing", "perfringens"}),
        ({"step2": "ice", "at2": "32 °F", "time2": "60 min", "step3": "grill", "at3": "500 °F", "time3": "10 min"},
         {"non_continuous", "cool_in_time"}),
    ],
)  # fmt: skip
def test_the_words_stand_where_they_apply(changes: dict[str, str], said: set[str]) -> None:
    """A bath alone, a bath with a finish, and a bath chilled and finished later."""
    assert said <= codes(BATH | changes)


def test_words_that_do_not_apply_are_not_said() -> None:
    """A grill alone has no bath, no bag and no interruption."""
    alone = {"food": "lamb", "shape": "slab", "thickness": "25 mm", "start": "38 °F", "step1": "grill", "at1": "500 °F",
             "time1": "8 min", "turns1": "3"}  # fmt: skip
    assert not codes(alone) & {"bath_not_core", "no_credit", "packing", "non_continuous", "finish_kills"}


def test_seventy_five_minutes_then_chilled_fails_the_first_heating() -> None:
    """First heating at most 60 minutes. Source: Food Code 3-401.14(A)."""
    chilled = {"step2": "ice", "at2": "32 °F", "time2": "90 min", "step3": "grill", "at3": "500 °F", "time3": "10 min"}
    found = {line.section: line for line in plan(question(BATH | chilled)).rules}
    assert found["3-401.14"].verdict == "not met"
    short = {line.section: line for line in plan(question(BATH | chilled | {"time1": "60 min"})).rules}
    assert short["3-401.14"].verdict == "only if" and "written plan" in short["3-401.14"].why


def test_a_pull_lands_on_the_peak_asked_for() -> None:
    """The last heat is cut so that the likely core peaks at 140 °F, within a tenth of a degree."""
    made = plan(question(BATH | FINISH | {"peak": "140 °F"}))
    assert f_from_c(made.prediction.peak_core_c[0]) == pytest.approx(140.0, abs=0.1)
    assert made.pulled is not None and made.pulled.core_c < c_from_f(140)


def test_until_a_core_ends_the_step_there() -> None:
    """A bath until 120 °F ends with the likely core at 120 °F."""
    made = plan(question(BATH | {"time1": "", "until1": "120 °F"}))
    assert f_from_c(made.prediction.steps[0].core_c) == pytest.approx(120.0, abs=0.2)


def test_both_directions_of_the_clock_agree() -> None:
    """Ready at 19:30 after 2 h 18 is in at 17:12, and back; over midnight it is the day before."""
    assert clock_before("19:30", 2 * 3600 + 18 * 60) == ("17:12", 0)
    assert clock_after("17:12", 2 * 3600 + 18 * 60) == ("19:30", 0)
    assert clock_before("01:00", 2 * 3600) == ("23:00", 1)
    assert clock_before("12:00", 61) == ("11:58", 0)


def test_a_rule_is_taken_from_the_kitchens_edition() -> None:
    """Poultry is 165 °F with no hold from 2017 and 15 s before; injected meat 17 s and 15 s. Source: Food Code
    3-401.11(A)(2) and (3)."""
    assert [row.hold_s for row in chosen(Held("duck", "", "2022"))] == [0]
    assert [row.hold_s for row in chosen(Held("duck", "", "2013"))] == [15]
    holds = {(float(row.temp_f), row.hold_s) for row in chosen(Held("pork", "cook_comminuted_155_2017", "2013"))}
    assert (155.0, 15) in holds and (155.0, 17) not in holds
    assert in_edition("2013 and earlier", "2009") and not in_edition("2013 and earlier", "2017")


def test_without_an_edition_nothing_is_judged() -> None:
    """Unknown stays unknown: a kitchen whose rules are its own gets no verdict from the Food Code, and is told so."""
    assert [rule.verdict for rule in plan(question(BATH | FINISH, edition="own rules")).rules] == ["not judged"]


def test_law_met_needs_the_slow_coldest_point() -> None:
    """Two hours at 160 °F meet 145 °F for 15 s everywhere; the chop of 75 minutes at 125 °F does not."""
    hot = plan(question(BATH | {"at1": "160 °F", "time1": "3 h"})).rules[0]
    assert (hot.verdict, hot.section) == ("met", "3-401.11(A)(1)(b)")
    assert plan(question(BATH)).rules[0].verdict == "not met"
    assert any(line.section.startswith("3-401.11(D)") for line in plan(question(BATH)).rules)


def test_poultry_below_its_records_gets_no_answer() -> None:
    """A duck breast in a bath at 56 °C: no reduction from records that begin at 57 °C."""
    found = plan(question(BATH | {"food": "duck", "at1": "56 °C", "time1": "4 h"}, minimum="")).reductions
    assert found and all(one.shown == "" and not one.reaches and "57" in one.why for one in found)


def test_never_more_than_twelve_logs_are_shown() -> None:
    """Three hours at 160 °F are 'at least 12', however many the line would give."""
    found = plan(question(BATH | {"at1": "160 °F", "time1": "3 h"})).reductions
    assert {one.shown for one in found} == {"≥ 12"}


def test_the_minute_table_has_a_bounded_length() -> None:
    """At most 300 rows and one, whatever the programme; the last row is its end."""
    for hours in ("75 min", "30 h", "6 days"):
        made = plan(question(BATH | {"time1": hours}))
        rows = minutes(made.prediction)
        assert len(rows) <= 302 and rows[-1].minute * 60 >= made.total_s - 1


def test_no_heat_with_a_rest_has_no_pull() -> None:
    """A bath alone: nothing to pull before a rest."""
    made = plan(question(BATH))
    assert (last_heat(made.steps), made.pulled, made.aims) == (None, None, ())


def test_the_houses_own_coefficient_counts_on_a_persons_word_only() -> None:
    """Without the field the ends stand apart; with it they lie closer and the page is told."""
    free, own = (plan(question(BATH | extra)) for extra in ({}, {"own1": "95"}))
    apart = [made.prediction.steps[0].fast_core_c - made.prediction.steps[0].slow_core_c for made in (free, own)]
    assert apart[1] < apart[0] and (free.uses_own, own.uses_own) == (False, True)


def test_a_pull_is_not_looked_for_through_hundreds_of_turns() -> None:
    """Three turns in eight seconds: the longest grill that is tried has 40 turns, not 1,800; one of few turns has its
    hour."""
    quick, slow = (plan(question(BATH | FINISH | {"time2": time, "turns2": "3"})) for time in ("24 s", "8 min"))
    lengths = [_longer(made.steps, 1)[1].duration_s for made in (quick, slow)]
    assert lengths == [40 * 6.0, 3600.0]
