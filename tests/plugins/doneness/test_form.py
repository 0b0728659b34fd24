"""What is typed into a programme, and what is refused beside its field."""

from __future__ import annotations

import numpy as np
import pytest
from stillroom.plugins.doneness.compute import Question, Refused, plan
from stillroom.plugins.doneness.form import read_form

CHOP = {"food": "lamb", "shape": "slab", "thickness": "38 mm", "start": "38 °F", "step1": "bath", "at1": "125 °F",
        "time1": "75 min", "step2": "grill", "at2": "500 °F", "time2": "10 min", "turns2": "4", "step3": "rest",
        "at3": "75 °F", "time3": "8 min"}  # fmt: skip


def asked(**changes: str) -> Question:
    """The chop with something changed, as a question."""
    read = read_form(CHOP | changes)
    assert read.wrong == {} and read.piece is not None
    return Question(CHOP["food"], read.piece, read.steps, read.peak_f, "cook_intact_meat", (130.0, 135.0))


def test_a_chop_is_read_exactly() -> None:
    """1.5 in is 38.1 mm; 75 min is 4500 s; four turns part ten minutes in five."""
    made = plan(asked(thickness="1.5 in"))
    assert made.question.piece.thickness_m == pytest.approx(0.0381)
    assert (made.steps[0].duration_s, made.steps[1].flip_every_s) == (4500, 120)


@pytest.mark.parametrize(
    ("field", "text", "words"),
    [
        ("thickness", "0", "0.5 to 500 mm"),
        ("thickness", "0 mm", "0.5 to 500 mm"),
        ("thickness", "3 m", "500 mm"),
        ("thickness", "", "how thick"),
        ("thickness", "38", "length"),
        ("start", "90 °C", "hotter than a raw piece"),
        ("start", "38", "scale"),
        ("at1", "60 °F", "60 °C was meant"),
        ("at1", "140 °C", "140 °F was meant"),
        ("time1", "", "without end"),
        ("time1", "9 days", "168 h"),
        ("step1", "broil", "Choose"),
        ("turns1", "3", "nothing to turn"),
        ("until2", "hot", "not a temperature"),
        ("own1", "5000", "2000"),
        ("to1", "160 °C", "20 to 100 °C"),
        ("to1", "60", "scale"),
        ("rule_core", "70 °C", "rule_stands"),
        ("rule_hold", "2 min", "rule_core"),
        ("rule_stands", "house plan 3", "rule_core"),
        ("ready", "25:00", "time of day"),
        ("peak", "30 °F", "above what it is to reach"),
        ("width", "", ""),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_beside_its_field(field: str, text: str, words: str) -> None:
    """Every bad input has its words at its own field and nowhere else; an unused field may be empty."""
    wrong = read_form(CHOP | {field: text}).wrong
    if not words:
        assert wrong == {}
    elif words.startswith("rule_"):
        assert list(wrong) == [words]  # half a rule: the other half is asked for
    elif words == "scale":
        assert list(wrong) == [field] and "°F" in wrong[field]
    else:
        assert list(wrong) == [field] and words in wrong[field]


def test_a_shape_asks_for_its_own_sizes() -> None:
    """A brick without width and length can't be; a factor is 0 to 4."""
    assert set(read_form(CHOP | {"shape": "brick"}).wrong) == {"width", "length"}
    assert set(read_form(CHOP | {"shape": "factor", "factor": "9"}).wrong) == {"factor"}
    assert read_form(CHOP | {"shape": "brick", "width": "90 mm", "length": "130 mm"}).wrong == {}


def test_a_bath_cannot_bring_the_core_above_itself() -> None:
    """20 °C of water asked for a core of 60 °C: not reachable, at the field that asked."""
    with pytest.raises(Refused, match="not reachable") as refused:
        plan(asked(at1="20 °C", time1="", until1="60 °C"))
    assert refused.value.field == "until1"


def test_a_core_already_past_is_refused() -> None:
    """A piece from 60 °F is not brought to 50 °F by a bath."""
    with pytest.raises(Refused, match="already above") as refused:
        plan(asked(start="60 °F", time1="", until1="50 °F"))
    assert refused.value.field == "until1"


def test_both_clocks_at_once_are_one_too_many() -> None:
    """Ready at and in at: one follows from the other."""
    assert set(read_form(CHOP | {"ready": "19:30", "begin": "17:00"}).wrong) == {"begin"}


def test_composition_changes_the_heat_properties() -> None:
    """Fat conducts worse: 30 % fat gives a lower diffusivity than 5 %. Source: Choi and Okos 1986."""
    lean, fat = (read_form(CHOP | {"water": w, "fat": f}).piece for w, f in (("72 %", "5 %"), ("52 %", "30 %")))
    assert lean is not None and fat is not None
    assert fat.material.k_w_mk < lean.material.k_w_mk


RAMP = {"food": "lamb", "shape": "factor", "factor": "0.28", "thickness": "40 mm", "start": "5 °C",
        "step1": "bath", "at1": "20 °C", "to1": "60 °C", "time1": "30 min",
        "step2": "bath", "at2": "60 °C", "time2": "30 min"}  # fmt: skip


def test_a_bath_that_runs_up() -> None:
    """20 to 60 °C in 30 min, then 60: core 23.103 °C at 30 min, 46.616 at 60. Two solvers agree (check set of the
    engine: R 20 mm, shape factor 0.28, 5 °C start, h 95)."""
    read = read_form(RAMP)
    assert read.wrong == {} and read.piece is not None
    made = plan(Question("lamb", read.piece, read.steps))
    assert [step.core_c for step in made.prediction.steps] == pytest.approx([23.103, 46.616], abs=0.005)
    assert made.backwards is None  # that question is about a steady bath


def test_a_bath_that_runs_down_is_another_than_one_that_stays() -> None:
    """60 running to 50 °C in two hours leaves the core above 50 and below what a steady 60 makes of it."""
    cores = []
    for ends in ("60 °C", "50 °C"):
        read = read_form(RAMP | {"at1": "60 °C", "to1": ends, "time1": "2 h", "step2": ""})
        assert read.wrong == {} and read.piece is not None
        cores.append(plan(Question("lamb", read.piece, read.steps)).prediction.core_c[-1])
    assert 50 < cores[1] < cores[0] < 60


@pytest.mark.parametrize("change", [{"time1": "", "until1": "50 °C"}, {"until1": "50 °C"}])
def test_a_ramp_has_a_time_of_its_own(change: dict[str, str]) -> None:
    """Until a core, nobody would know how fast it runs."""
    wrong = read_form(RAMP | change).wrong
    assert list(wrong) == ["to1"] and "the next step may go on until the core" in wrong["to1"]


def test_a_pull_from_an_oven_that_runs_up_keeps_its_speed() -> None:
    """Cut short, it has not got as hot as it would: at the pull the piece is as in the whole run at that moment."""
    typed = RAMP | {"step1": "oven_dry", "at1": "60 °C", "to1": "140 °C", "time1": "2 h",
                    "step2": "rest", "at2": "20 °C", "time2": "20 min"}  # fmt: skip
    read = read_form(typed)
    assert read.wrong == {} and read.piece is not None
    whole = plan(Question("lamb", read.piece, read.steps, None, "", (130.0, None)))
    pull = whole.aims[0].pull
    assert pull is not None and 0 < pull.after_s < 7200
    curve = whole.prediction
    assert pull.core_c == pytest.approx(np.interp(pull.after_s, curve.times_s, curve.core_c), abs=0.05)
    cut = plan(Question("lamb", read.piece, read.steps, 130.0))
    assert cut.steps[0].end_c == pytest.approx(60 + 80 * cut.steps[0].duration_s / 7200)


def test_a_kitchen_s_own_rule_is_judged_beside_the_law() -> None:
    """70 °C for 2 min by the house's plan: a bath of 60 °C never gets there, and it stands first among the rules."""
    read = read_form(CHOP | {"rule_core": "70 °C", "rule_hold": "2 min", "rule_stands": "house plan 3"})
    assert read.wrong == {} and read.own is not None and read.piece is not None
    assert (read.own.temp_f, read.own.hold_s, read.own.section) == (158, 120, "house plan 3")
    made = plan(Question("lamb", read.piece, read.steps, None, "cook_intact_meat", own=read.own))
    first = made.rules[0]
    assert (first.is_own, first.wanted, first.verdict, first.stands) == (
        True, "158 °F for 120 s", "not met", "house plan 3",
    )  # fmt: skip
    assert made.law[1].section == "3-401.11(A)(1)(b)"
