"""Cores in the logbook are held to the minimum of what the piece is, and of how it was worked."""

from __future__ import annotations

import sqlite3
from datetime import UTC, datetime
from pathlib import Path

import pytest
from stillroom.plugins.logbook.entries import judge_row
from stillroom.plugins.logbook.rules import Judged

NOW = datetime(2026, 11, 25, 18, 0, tzinfo=UTC)


def judged(path: Path, core_f: float, **piece: str) -> Judged:
    """A core of the demonstration's mutton chop with something else written of its piece."""
    connection = sqlite3.connect(path, isolation_level=None)
    for column, value in piece.items():
        connection.execute(f"update pieces set {column} = ? where recipe_id = 'mutton-loin-chop'", (value,))
    row = {"recipe_id": "mutton-loin-chop", "core_f": core_f, "step": "grill"}
    found = judge_row(connection, "probe_readings", row, {"food code": "2017"}, NOW)
    connection.close()
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("piece", "asked", "section"),
    [
        ({}, "145 °F, held 15 s", "3-401.11(A)(1)(b)"),
        ({"worked": "stuffed"}, "165 °F", "3-401.11(A)(3)"),
        ({"food": "stuffed mutton"}, "165 °F", "3-401.11(A)(3)"),
        ({"worked": "minced"}, "145 °F, held 180 s", "3-401.11(A)(2)"),
        ({"food": "mutton sausage"}, "145 °F, held 180 s", "3-401.11(A)(2)"),
    ],
)
def test_a_core_is_held_to_how_the_piece_was_worked(
    own_db: Path, piece: dict[str, str], asked: str, section: str
) -> None:
    """146 °F: enough for a chop that is held, three minutes of it for mince, never for a stuffed one. Source: Food Code
    3-401.11(A)(1)(b), (2) with its chart, (3)."""
    found = judged(own_db, 146, **piece)
    assert asked in found.reason and section in found.rule
    assert found.verdict == ("not met" if "165" in asked else "cannot tell")


def test_a_core_beyond_boiling_is_not_judged(own_db: Path) -> None:
    """145 °F written down as 145 °C is 293 °F: no moist food is so hot. Water boils at 212 °F (1 atm); a probe may be
    2 °F off (Food Code 4-203.11(B)), so 214 is judged still."""
    found = judged(own_db, 293)
    assert found.verdict == "cannot tell" and "was it 145 °F?" in found.reason
    assert judged(own_db, 214, worked="stuffed").verdict == "met"
    assert judged(own_db, 215, worked="stuffed").verdict == "cannot tell"


@pytest.mark.parametrize(
    ("item", "core_f", "verdict", "section"),
    [
        ("ling", 144, "not met", "3-401.11(A)(1)(b)"),
        ("ling", 146, "cannot tell", "3-401.11(A)(1)(b)"),  # one reading shows no 15 s
        ("goose crown", 160, "not met", "3-401.11(A)(3)"),
        ("ling, minced", 146, "cannot tell", "3-401.11(A)(2)"),
        ("white loins", 146, "not judged", ""),
    ],
)
def test_a_cut_without_a_piece_is_held_to_what_it_is_cut_from(
    own_db: Path, item: str, core_f: float, verdict: str, section: str
) -> None:
    """A probe of a cut that has no cooking programme: Food Code 3-401.11 by the name of what was bought."""
    connection = sqlite3.connect(own_db, isolation_level=None)
    connection.execute("update items set name = ? where id = 'ling'", (item,))
    row = {"recipe_id": "ling-portion", "core_f": core_f, "step": "pan"}
    found = judge_row(connection, "probe_readings", row, {"food code": "2022"}, NOW)
    connection.close()
    assert found is not None and (found.verdict, section in found.rule) == (verdict, True)
    assert section or "wants a piece" in found.reason
