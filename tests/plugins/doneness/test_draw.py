"""Plots of heat: the finding in words, bounded size, nothing drawn for nothing."""

from __future__ import annotations

import pytest
from stillroom.plugins.core.charts import Backdrop, Limit, Line, Span, curve_chart
from stillroom.plugins.doneness.compute import Question
from stillroom.plugins.doneness.draw import POINTS, chart, log_chart, minute_table
from stillroom.plugins.doneness.form import read_form


def bath(hours: str) -> Question:
    read = read_form({"food": "lamb", "shape": "slab", "thickness": "38 mm", "start": "38 °F", "step1": "bath",
                      "at1": "140 °F", "time1": hours})  # fmt: skip
    assert read.piece is not None
    return Question("lamb", read.piece, read.steps)


def test_the_plot_says_its_finding_and_names_its_limit() -> None:
    """For those who don't see it: the peak with its range; the line of no credit is named."""
    drawn = str(chart(bath("3 h")))
    assert "the core peaks near 139 °F" in drawn or "the core peaks near 140 °F" in drawn
    assert "no pasteurisation credit" in drawn and 'class="band"' in drawn and drawn.count('class="line') == 3


def test_plot_and_table_stay_small_for_a_week() -> None:
    """A programme of six days draws no more than one of an hour."""
    assert len(chart(bath("6 days"))) < 40_000 and len(minute_table(bath("6 days"))) < 60_000


def test_a_long_log_is_drawn_thinned() -> None:
    """A hundred thousand readings are some hundred points."""
    times = tuple(float(n) for n in range(100_000))
    drawn = str(log_chart(times, tuple(100.0 for _ in times), None, "flat"))
    assert drawn.count("L") <= POINTS * 2 + 50


def test_curves_keep_to_the_frame_and_escape_their_words() -> None:
    """One point is a plot too; words can't break out; no line is refused."""
    behind = Backdrop([Limit(130.0, "<b>")], [1.0])
    drawn = str(curve_chart([Line([(0, 100), (9, 120)], "a&b")], 'x"y', "{:g}".format, "{:g}".format, behind,
                            Span([(0, 99, 101), (9, 110, 130)])))  # fmt: skip
    assert "<b>" not in drawn and "a&amp;b" in drawn and 'x"y' not in drawn
    assert curve_chart([Line([(5, 100)], "one")], "one", "{:g}".format, "{:g}".format)
    with pytest.raises(ValueError, match="at least one line"):
        curve_chart([], "", "{:g}".format, "{:g}".format)
