"""What is typed into a programme, and what is refused beside its field."""

from __future__ import annotations

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
