"""A mistake is told once, in words that fit what the cell may hold."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from stillroom.loaders.build import check

MINI = Path(__file__).parents[1] / "data" / "mini"


@pytest.mark.parametrize("trim", ["130 %", "abc", "-5 %"])
def test_a_cell_that_two_steps_read_is_told_once(tmp_path: Path, trim: str) -> None:
    """Trim and shrink of a cut are read for its row and for its input."""
    folder = shutil.copytree(MINI, tmp_path / "k")
    cut = f"name: Brill steak\nkind: cut\ninput: brill\nshrink: {trim}\ntrim: {trim}\nportion: 200 g\n"
    (folder / "recipes" / "cuts.yaml").write_text(cut)
    assert [p.place.line for p in check(folder).problems] == [4, 5]


def test_below_zero_where_nothing_may_be_counted(tmp_path: Path) -> None:
    """A count may be 0: minus 3 kg is below zero. A batch may not."""
    folder = shutil.copytree(MINI, tmp_path / "k")
    (folder / "counts.csv").write_text("counted on,of,on hand\n2026-11-24,butter,-3 kg\n2026-11-24,leeks,0 kg\n")
    (folder / "batches.csv").write_text("made on,recipe,made\n2026-11-24,Brown butter,0 g\n")
    found = {(p.what, p.fix) for p in check(folder).problems if p.code == "quantity-low"}
    assert found == {
        ('"-3 kg" is below zero', "write how much there is, 0 if nothing"),
        ('"0 g" is not above zero', "write how much there is"),
    }
