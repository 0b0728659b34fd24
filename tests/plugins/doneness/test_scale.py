"""The kitchen's scale: figures in its own, law as printed with the other beside it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.db.quantity import read_temperature
from stillroom.plugins.doneness.scale import Scale, scale_of

C, F = Scale(True), Scale()


def test_a_figure_is_in_the_kitchens_scale() -> None:
    """145 °F is 62.78 °C. Source: exact conversion, 5/9 of (145 - 32)."""
    assert (F.deg(145), C.deg(145), C.deg(145, 1), C.deg(41, 1)) == ("145 °F", "63 °C", "62.8 °C", "5 °C")
    assert C.deg(31.9) == "0 °C" and C.bare(212) == "100"


def test_a_rise_has_no_32_in_it() -> None:
    """18 °F of rise are 10 °C of rise, not -8."""
    assert (F.rise(18), C.rise(18)) == ("18 °F", "10 °C")


def test_a_range_may_be_open() -> None:
    """Both ends, one of them, or one point."""
    assert C.between(130, 135) == "54 to 57 °C" and F.between(160, None) == "160 °F and up"
    assert F.between(None, 135) == "up to 135 °F" and F.between(145, 145) == "145 °F"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("145 °F for 15 s", "145 °F (62.8 °C) for 15 s"),
        ("135 to 70 °F in 2 h, to 41 °F in 6 h", "135 to 70 °F (57.2 to 21.1 °C) in 2 h, to 41 °F (5 °C) in 6 h"),
        ("90 minutes between 41 and 130 °F.", "90 minutes between 41 and 130 °F (5 and 54.4 °C)."),
        ("Food Code 3-401.11, 112.0 min", "Food Code 3-401.11, 112.0 min"),
    ],
)
def test_law_stands_as_printed(text: str, said: str) -> None:
    """The printed °F never changes; °C stands beside it in a metric kitchen alone."""
    assert (C.said(text), F.said(text)) == (said, text)


def test_beside_a_limit_no_rounding_falls_short_of_it() -> None:
    """155.25 °F is 68.47 °C and has reached 155 °F, which is 68.33 °C: "68 °C" would read as if it had not."""
    assert (C.deg(155.25), C.deg(155.25, 0, [155.0])) == ("68 °C", "68.4 °C")
    assert C.deg(155.0, 0, [155.0]) == "68.4 °C"  # a tenth cannot say 68.33: the nearest that has reached it
    assert C.deg(155.6, 1, [155.0]) == "68.7 °C" and C.deg(40.9, 0, [155.0]) == "5 °C"


def test_beside_a_limit_no_rounding_reaches_it() -> None:
    """62.6 °C is 144.68 °F: not 63 °C and not 145 °F, which are the law's. 5.2 °C is not the 5 °C of cooling."""
    short = 62.6 * 1.8 + 32
    assert (C.deg(short), F.deg(short)) == ("63 °C", "145 °F")  # where no limit stands beside
    assert (C.deg(short, 0, [145.0]), F.deg(short, 0, [145.0])) == ("62.6 °C", "144.6 °F")
    assert (C.deg(145.4, 0, [145.0]), F.deg(145.4, 0, [145.0])) == ("63 °C", "145 °F")
    assert (C.deg(41.3, 0, [145.0]), F.deg(41.3, 0, [145.0])) == ("5.2 °C", "41.3 °F")
    assert C.between(140, short, 0, [145.0]) == "60 to 62.6 °C"
    assert (C.at_least(144.68), F.at_least(144.68)) == ("62.6 °C", "144.7 °F")


@given(st.floats(30, 215), st.sampled_from([130.0, 145.0, 155.0, 165.0]), st.booleans(), st.integers(0, 2))
def test_no_figure_seems_to_reach_a_minimum_that_it_does_not(temp_f: float, limit: float, is_c: bool, by: int) -> None:
    """Whatever the temperature, scale and decimals: read as a number, it stands on its own side of the limit."""
    scale = Scale(is_c)
    shown = float(scale.bare(temp_f, by, [limit]))
    # nearer to the limit than the last decimal that is shown, there is no telling apart
    assert (shown < scale.number(limit)) == (temp_f < limit) or abs(temp_f - limit) < 1e-8
    if temp_f > 41:
        assert shown > scale.number(41) or temp_f - 41 < 1e-8
    assert abs(shown - scale.number(temp_f)) <= 1.0


@pytest.mark.parametrize("temp_f", [-0.4, 38.0, 134.6, 145.4, 572.0])
def test_what_a_field_shows_reads_back(temp_f: float) -> None:
    """Within a hundredth of a degree in either scale."""
    for scale in (C, F):
        assert read_temperature(scale.typed(temp_f), ".").f == pytest.approx(temp_f, abs=0.02)


def test_a_metric_kitchen_reads_celsius() -> None:
    """By its setting `units`."""
    assert scale_of({"units": "metric"}) == C and scale_of({"units": "US"}) == F
