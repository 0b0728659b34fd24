"""Programmes in the kitchen's files: every kind of step and shape reaches the page as it was written."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest
from stillroom.db.pieces import SHAPES, SIZES, STEPS
from stillroom.loaders.build import build
from stillroom.loaders.dump import dump
from stillroom.plugins.doneness.compute import Question, plan
from stillroom.plugins.doneness.form import KIND_WORDS, RULE_FIELDS, SHAPE_WORDS, read_form
from stillroom.plugins.doneness.rows import read_pieces
from stillroom.plugins.physics.programme import surroundings

MINI = Path(__file__).parents[2] / "data" / "mini"
AT = {"bath": "140 °F", "oven": "250 °F", "rest": "75 °F", "ice": "32 °F", "chiller": "38 °F", "blast chiller": "5 °F",
      "hang": "230 °F"}  # fmt: skip
CUT = """name: Pork chop
kind: cut
input: lamb saddle
portion: 180 g
piece:
  food: pork
  thickness: 38 mm
{piece}
cooking steps:
{steps}
"""


def kitchen(folder: Path, piece: str, steps: str) -> sqlite3.Connection:
    """The small kitchen with one more piece, built."""
    import shutil

    shutil.copytree(MINI, folder / "k")
    (folder / "k" / "recipes" / "more.yaml").write_text(CUT.format(piece=piece, steps=steps), "utf-8")
    result = build(folder / "k", folder / "kitchen.db")
    assert result.errors == 0, result.problems
    return sqlite3.connect(folder / "kitchen.db")


def test_every_kind_of_step_can_be_written_in_a_file(tmp_path: Path) -> None:
    """Each of the closed list is one the form and the engine know, and comes back with its own temperature."""
    lines = [f"  - step: {kind}\n    at: {AT.get(kind, '400 °F')}\n    time: 5 min" for kind in STEPS]
    lines.append("  - step: oven\n    at: 212 °F\n    time: 5 min\n    humidity: humid")
    (stored,) = read_pieces(kitchen(tmp_path, "  shape: slab\n  start: 38 °F", "\n".join(lines)), "pork-chop")
    kinds = [stored.typed[f"step{n}"] for n in range(1, len(lines) + 1)]
    assert set(kinds) == set(KIND_WORDS) == set(surroundings())
    read = read_form(stored.typed)
    assert read.wrong == {} and [step.seconds for step in read.steps] == [300.0] * len(lines)
    assert [stored.typed[f"at{n}"] for n in (1, 12)] == ["60 °C", "100 °C"]  # a metric kitchen


@pytest.mark.parametrize("shape", SHAPES)
def test_every_shape_can_be_written_in_a_file(shape: str, tmp_path: Path) -> None:
    """With the sizes it needs, read back in millimetres, and worked out."""
    sizes = "".join(f"\n  {name}: 90 mm" for name in SIZES.get(shape, ()))
    factor = "\n  shape factor: 0.7" if shape == "factor" else ""
    piece = f"  shape: {shape}\n  start: 38 °F{sizes}{factor}"
    steps = "  - step: bath\n    at: 140 °F\n    time: 2 h"
    (stored,) = read_pieces(kitchen(tmp_path, piece, steps), "pork-chop")
    read = read_form(stored.typed)
    assert read.wrong == {} and read.piece is not None and stored.typed["shape"] in SHAPE_WORDS
    assert read.piece.thickness_m == 0.038 and plan(Question("pork", read.piece, read.steps)).total_s == 7200


def test_a_frozen_piece_starts_in_the_freezer(tmp_path: Path) -> None:
    """Said frozen with no temperature: 0 °F, which is -18 °C to the half degree; the engine thaws it."""
    piece, steps = "  shape: slab\n  frozen: yes", "  - step: bath\n    at: 140 °F\n    time: 4 h"
    (stored,) = read_pieces(kitchen(tmp_path, piece, steps), "pork-chop")
    read = read_form(stored.typed)
    assert read.piece is not None and read.piece.frozen and read.piece.start_c == pytest.approx(-17.8, abs=0.3)


def test_the_example_of_the_small_kitchen_is_worked_out(tmp_path: Path) -> None:
    """1.5 in of lamb, 75 min at 125 °F, the hot zone until 128 °F: the step ends there, and the rest carries over."""
    connection = kitchen(tmp_path, "  shape: slab", "  - step: bath\n    at: 140 °F\n    time: 2 h")
    (stored,) = read_pieces(connection, "lamb-chop")
    read = read_form(stored.typed)
    assert read.piece is not None and read.piece.thickness_m == pytest.approx(0.0381)
    made = plan(Question("lamb", read.piece, read.steps, None, stored.minimum_id, stored.band))
    assert made.pulled is not None and made.pulled.core_c * 1.8 + 32 == pytest.approx(128, abs=0.3)
    assert made.pulled.carryover_k > 0
    assert stored.own is not None and (float(stored.own.temp_f), stored.own.hold_s) == (145.4, 180)
    assert (stored.own.section, stored.band) == ("house plan, sheet 3", (130.0, 135.0))


def test_a_ramp_can_be_written_in_a_file_and_is_dumped_again(tmp_path: Path) -> None:
    """A bath from 20 to 60 °C in 30 min: read as the form reads it; written out and built again, it is the same."""
    steps = "  - step: bath\n    at: 20 °C\n    ends at: 60 °C\n    time: 30 min"
    (stored,) = read_pieces(kitchen(tmp_path, "  shape: slab\n  start: 38 °F", steps), "pork-chop")
    assert (stored.typed["at1"], stored.typed["to1"], stored.typed["time1"]) == ("20 °C", "60 °C", "30 min")
    (step,) = read_form(stored.typed).steps
    assert (step.temp_c, step.end_c) == (pytest.approx(20), pytest.approx(60))
    dump(tmp_path / "kitchen.db", tmp_path / "out")
    assert build(tmp_path / "out", tmp_path / "again.db").errors == 0
    (again,) = read_pieces(sqlite3.connect(tmp_path / "again.db"), "pork-chop")
    assert again.typed == stored.typed


def test_a_kitchen_s_own_rule_stands_in_the_form(tmp_path: Path) -> None:
    """As written in its files, with nothing said where there is none."""
    connection = kitchen(tmp_path, "  shape: slab", "  - step: bath\n    at: 140 °F\n    time: 2 h")
    (lamb,), (pork,) = (read_pieces(connection, key) for key in ("lamb-chop", "pork-chop"))
    assert [lamb.typed[name] for name in RULE_FIELDS] == ["63 °C", "3 min", "house plan, sheet 3"]
    assert [pork.typed[name] for name in RULE_FIELDS] == ["", "", ""]


def test_how_a_piece_was_worked_can_be_written_in_a_file(tmp_path: Path) -> None:
    """`worked: minced` reaches the form and the rule, and is dumped; a file that says nothing goes by its names."""
    steps = "  - step: bath\n    at: 140 °F\n    time: 2 h"
    connection = kitchen(tmp_path, "  shape: slab\n  worked: minced", steps)
    (stored,), (lamb,) = (read_pieces(connection, key) for key in ("pork-chop", "lamb-chop"))
    assert (stored.typed["worked"], lamb.typed["worked"]) == ("minced", "intact")
    assert stored.held("2022").taken.start == "cook_comminuted" and lamb.held("2022").taken.worked == "intact"
    dump(tmp_path / "kitchen.db", tmp_path / "out")
    assert build(tmp_path / "out", tmp_path / "again.db").errors == 0
    (again,) = read_pieces(sqlite3.connect(tmp_path / "again.db"), "pork-chop")
    assert again.typed == stored.typed


def test_a_programme_of_a_kitchen_that_writes_a_comma(tmp_path: Path) -> None:
    """37.5 mm from 2.5 °C, to be pulled at 54.5 °C: what stands in its form can be read there, and is the same."""
    steps = "  - step: oven\n    at: 180 °C\n    until core: 54.5 °C"
    connection = kitchen(tmp_path, "  shape: slab\n  start: 2.5 °C", steps)
    connection.executemany(
        "insert or replace into kitchen (key, value) values (?, ?)", [("decimal mark", ","), ("units", "metric")]
    )
    connection.execute("update pieces set thickness_mm = 37.5 where recipe_id = 'pork-chop'")
    (stored,) = read_pieces(connection, "pork-chop")
    read = read_form(stored.typed, ",")
    assert (stored.typed["thickness"], stored.typed["start"]) == ("37,5 mm", "2,5 °C") and read.wrong == {}
    assert read.piece is not None and (read.piece.thickness_m, read.piece.start_c) == pytest.approx((0.0375, 2.5))
    assert stored.typed["until1"] == "54,5 °C"


def test_an_american_kitchen_reads_inches(tmp_path: Path) -> None:
    """1.5 in of lamb are 38.1 mm in the file (an inch is 25.4 mm, NIST Handbook 44), and 1.5 in again in the form."""
    connection = kitchen(tmp_path, "  shape: slab", "  - step: bath\n    at: 140 °F\n    time: 2 h")
    connection.execute("insert or replace into kitchen (key, value) values ('units', 'US')")
    (lamb,), (pork,) = (read_pieces(connection, key) for key in ("lamb-chop", "pork-chop"))
    assert (lamb.typed["thickness"], pork.typed["thickness"]) == ("1.5 in", "38 mm")
    assert read_form(lamb.typed).piece.thickness_m == pytest.approx(0.0381)  # type: ignore[union-attr]
