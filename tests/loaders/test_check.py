"""Rules across files, the list of codes, and what a check says when nothing is wrong."""

from __future__ import annotations

import ast
import random
import re
import shutil
from pathlib import Path

import pytest
from stillroom.db.problems import report
from stillroom.db.roles import ACTIONS
from stillroom.loaders import logs
from stillroom.loaders.build import check
from stillroom.loaders.commands import understood
from stillroom.loaders.log_fields import COMMON, FIELDS
from stillroom.loaders.stage import Stage
from stillroom.loaders.tables import BY_NAME, TABLES

ROOT = Path(__file__).parents[2]
MINI = Path(__file__).parents[1] / "data" / "mini"
CODE = re.compile(r"[a-z]+(-[a-z]+)+|loop|encoding")
NO_CODES = {"sub-recipe", "sub-recipes", "forget-devices", *ACTIONS}  # words of other kinds


def test_every_code_has_its_line_in_the_list() -> None:
    """The codes written in db and loaders are those of ERRORS.md, each once, with a bad line and a mended one."""
    used: set[str] = set()
    for path in (*ROOT.glob("db/*.py"), *ROOT.glob("loaders/*.py")):
        constants = (n.value for n in ast.walk(ast.parse(path.read_text("utf-8"))) if isinstance(n, ast.Constant))
        used |= {value for value in constants if isinstance(value, str) and CODE.fullmatch(value)}
    rows = [line.strip("|").split("|") for line in (ROOT / "loaders" / "ERRORS.md").read_text("utf-8").splitlines()]
    listed = [cells[0].strip(" `") for cells in rows if cells[0].startswith(" `")]
    assert sorted(listed) == sorted(used - NO_CODES)
    assert all(len(cells) == 4 and all(cell.strip() for cell in cells) for cells in rows if cells[0].startswith(" `"))


def test_a_bad_start_is_found_behind_many_good_ones(tmp_path: Path) -> None:
    """The list of what is wrong is cut short, not the rows that are looked at."""
    folder = Path(shutil.copytree(MINI, tmp_path / "k"))
    row = "C-{},2026-11-24 10:00,68 °F,ambient,2026-11-24 {}\n"
    good = "".join(row.format(n, "09:30") for n in range(logs.SHOWN + 5))
    head = "log,read at,temperature,rule,started at\n"
    (folder / "cooling_readings.csv").write_text(head + good + row.format("late", "10:01"), "utf-8")
    assert [(p.code, p.place.line) for p in check(folder).problems] == [("start-late", logs.SHOWN + 7)]


def test_every_log_table_has_its_fields() -> None:
    """A log column that no field reads would be typed in for nothing."""
    assert set(FIELDS) == {table.name for table in TABLES if table.is_log}
    for name, fields in FIELDS.items():
        read = {header for field in (*fields, *COMMON) for header in field.reads} | {"request id"}
        assert read == {column.name for column in BY_NAME[name].columns}, name


def _deliveries(folder: Path, rows: int) -> Path:
    """The small kitchen with many deliveries, some of them wrong, in texts that come again and again."""
    pick = random.Random(7)
    shutil.copytree(MINI, folder)
    header = "received on,supplier,item,product,ordered,received,rejected,price,price per,door temperature,note\n"
    choices = (
        ["2026-11-24", "2026-11-23", "24.11.26"], ["Lane Dairy", "Marsh Farm", "Lane Diary"],
        ["butter", "leeks", "Leeks", "cream", "lemons"],
        ["", "Farm butter", "Leeks"], ["", "10 kg", "3"], ["5 kg", "1 qt", "12 ea", "0"], ["", "0 kg", "6 kg"],
        ["", "1.50", "£2"], ["", "kg", "pack", "ea"], ["", "38 °F", "3 °C", "4"], ["", "late"],
    )  # fmt: skip
    lines = (",".join(pick.choice(texts) for texts in choices) for _ in range(rows))
    (folder / "deliveries.csv").write_text(header + "\n".join(lines) + "\n")
    return folder


class Forgetful(logs.Memo):
    """Reads every cell anew."""

    def __setitem__(self, key: object, value: object) -> None:
        """Keeps nothing."""


def _staged(folder: Path) -> tuple[list[object], str]:
    from stillroom.loaders.build import _checked, silent

    with Stage() as stage:
        load = _checked(folder, stage, silent)
        columns = ", ".join(field.column for field in FIELDS["deliveries"])
        return stage.connection.execute(f"select request_id, {columns} from deliveries").fetchall(), report(
            load.problems, 10_000
        )


def test_what_is_remembered_is_what_would_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Rows and problems are the same, whether a text that was read before is remembered or read again."""
    folder = _deliveries(tmp_path / "k", 3000)
    remembered = _staged(folder)
    monkeypatch.setattr(logs, "Memo", Forgetful)
    assert _staged(folder) == remembered
    assert len(remembered[0]) > 50 and "product-other" in remembered[1]


def test_rows_of_the_same_words_are_two_rows(tmp_path: Path) -> None:
    """Two identical deliveries in a day are two deliveries, and a second reading gives them the same ids."""
    folder = tmp_path / "k"
    shutil.copytree(MINI, folder)
    row = "2026-11-24,Marsh Farm,leeks,Leeks,10 kg,9 kg,1.50,kg\n"
    (folder / "deliveries.csv").write_text((MINI / "deliveries.csv").read_text() + row)
    first, _ = _staged(folder)
    again, _ = _staged(folder)
    assert len(first) == 4 and len({row[0] for row in first}) == 4 and first == again


def test_quantities_are_said_in_base_units() -> None:
    """`check -v` tells what was made of what was typed."""
    said = list(understood(check(MINI)))
    assert "Walnut crumb: yield 300 g = 300 g" in said
    assert "Leek cream: 1 batch Walnut crumb = 300 g Walnut crumb" in said
    assert "Lamb chop: lamb saddle = 250 g lamb saddle" in said  # 180 / (0.9 x 0.8)
    assert "Lamb saddle: pack catch weight = not known before it is weighed" in said


def test_a_dish_of_four_plates_is_reckoned_by_the_plate(tmp_path: Path) -> None:
    """Brill for two plates is 360 g: 180 g a plate; Leek cream holds 300 g of crumb in 1 kg."""
    from stillroom.db.graph import explode
    from stillroom.loaders.book import graph_of

    found = explode(*graph_of(check(MINI)))
    assert found["brill-and-leeks"]["brill"] == 180
    assert (
        found["brill-and-leeks"]["walnuts"] == 100 * 200 / 1000
    )  # 200 g of 300 g crumb a kilo, 100 g of cream a plate
