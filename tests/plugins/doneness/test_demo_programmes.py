"""The demonstration's own programmes, as a chef would read them: none misses what it aims at."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from stillroom.plugins.doneness.compute import Plan, plan
from stillroom.plugins.doneness.pages import question_of
from stillroom.plugins.doneness.rows import read_pieces, said
from stillroom.plugins.physics.temperature import f_from_c


def programmes(demo_db: Path) -> dict[str, Plan]:
    """Every programme of the demonstration, worked out."""
    connection = sqlite3.connect(demo_db)
    questions = {one.id: question_of(one, said(connection)) for one in read_pieces(connection)}
    assert None not in questions.values()
    return {key: plan(one) for key, one in questions.items() if one is not None}


def test_each_peaks_in_the_band_its_chef_asks_for(demo_db: Path) -> None:
    """The likely core at its highest lies in the piece's own band, which stands between the slow and the fast end."""
    found = programmes(demo_db)
    assert len(found) == 9
    for name, made in found.items():
        likely, slow, fast = map(f_from_c, made.prediction.peak_core_c)
        low, high = made.question.band
        assert low is not None and high is not None, name
        assert low <= likely <= high, (name, likely, low, high)
        assert slow <= high and fast >= low, name


def test_what_is_not_met_is_served_so_on_purpose(demo_db: Path) -> None:
    """A cooking minimum that a programme misses is one that may be missed to order; nothing is stopped, and pork is
    cooked to its rule at the slow end."""
    found = programmes(demo_db)
    for name, made in found.items():
        lines = {rule.rule: rule.verdict for rule in made.rules}
        assert "met" in lines.values() or lines["Served undercooked to order"] == "only if", name
        assert not [one.code for one in made.cautions if one.level == "stop"], name
    pork = found["pork-chop-aged"].rules[0]
    assert (pork.section, pork.verdict) == ("3-401.11(A)(1)(b)", "met")
