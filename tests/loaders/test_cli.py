"""The command line: exit codes, words on the right stream, help that works, an empty kitchen that passes."""

from __future__ import annotations

import csv
import json
import re
import shlex
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from stillroom.loaders.build import build, check
from stillroom.loaders.cli import _parser, main

ROOT = Path(__file__).parents[2]
MINI = Path(__file__).parents[1] / "data" / "mini"
COMMANDS = ("build", "check", "serve", "blank", "backup", "restore", "dump", "people")


def _help(command: str, capsys: pytest.CaptureFixture[str]) -> str:
    with pytest.raises(SystemExit) as left:
        main([command, "--help"])
    assert left.value.code == 0
    return capsys.readouterr().out


@pytest.mark.parametrize("command", COMMANDS)
def test_help_ends_with_an_example_that_can_be_typed(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    """The last line of each help is one command, and the parser takes it."""
    last = _help(command, capsys).strip().splitlines()[-1]
    words = shlex.split(last.removeprefix("example: "))
    assert words[:2] == ["stillroom", command]
    assert _parser().parse_args(words[1:]).command == command


@pytest.mark.parametrize("command", ("build", "check", "blank"))
def test_the_examples_work_on_the_demonstration(
    command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """As typed in the project's folder, a database apart."""
    last = _help(command, capsys).strip().splitlines()[-1]
    words = shlex.split(last.removeprefix("example: "))[1:]
    (tmp_path / "db").symlink_to(ROOT / "db")
    monkeypatch.chdir(tmp_path)
    assert main(words) == 0


def test_a_right_kitchen_ends_with_0(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """check and build say so on standard output, and at most how far they are on the other."""
    folder = Path(shutil.copytree(MINI, tmp_path / "k"))
    (folder / "promotions.csv").unlink()  # one of them earns a warning
    assert main(["check", str(folder)]) == 0
    assert main(["build", str(folder), "--db", str(tmp_path / "var" / "k.db")]) == 0
    out, err = capsys.readouterr()
    assert "nothing wrong" in out and re.search(r"[\d,]+ rows in", out)
    assert [line for line in err.splitlines() if not line.endswith(" ...")] == []  # progress of a slow machine


def test_mistakes_end_with_1_and_write_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Problems on standard error; no database appears."""
    folder = Path(shutil.copytree(MINI, tmp_path / "k"))
    (folder / "counts.csv").write_text("counted on,of,on hand\n2026-11-24,buter,2 kg\n")
    assert main(["check", str(folder)]) == 1
    assert main(["build", str(folder), "--db", str(tmp_path / "k.db")]) == 1
    assert not (tmp_path / "k.db").exists()
    err = capsys.readouterr().err
    assert err.count('there is no "buter" in items or recipes  [name-unknown]') == 2 and "nothing was written" in err


def test_problems_as_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Standard output is one JSON list with place, code and cure."""
    folder = Path(shutil.copytree(MINI, tmp_path / "k"))
    (folder / "counts.csv").write_text("counted on,of,on hand\n2026-11-24,butter,2 cupp\n")
    assert main(["check", "--format", "json", str(folder)]) == 1
    (problem,) = json.loads(capsys.readouterr().out)
    assert (problem["code"], problem["place"]["line"], problem["severity"]) == ("unit-unknown", 2, "error")
    assert problem["fix"] and problem["place"]["column_name"] == "on hand"


def test_verbose_says_what_was_made_of_a_line(capsys: pytest.CaptureFixture[str]) -> None:
    """check -v tells every quantity in base units."""
    assert main(["check", "-v", str(MINI)]) == 0
    assert "Brown butter: 500 g butter = 500 g butter" in capsys.readouterr().err


@pytest.mark.parametrize(
    "words",
    (
        ["serve", "--host", "0.0.0.0"],
        ["serve", "--host", "192.168.1.4"],
        ["serve", "--host", "kitchen.local"],
        ["blank"],
    ),
    ids=" ".join,
)
def test_misuse_ends_with_2_and_words(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """Any address but loopback is refused before anything is opened."""
    assert main(words) == 2
    assert capsys.readouterr().err.startswith("stillroom: ")


def test_unknown_words_end_with_2(capsys: pytest.CaptureFixture[str]) -> None:
    """A command that is none, and none at all."""
    for words in ([], ["cook"], ["build"]):
        with pytest.raises(SystemExit) as left:
            main(words)
        assert left.value.code == 2
    assert "usage: stillroom" in capsys.readouterr().err


def test_a_database_that_is_none_ends_with_2(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """build and serve leave it as it is."""
    (tmp_path / "k.db").write_text("a list of things to buy\n" * 50)
    assert main(["build", str(MINI), "--db", str(tmp_path / "k.db")]) == 2
    assert main(["serve", "--db", str(tmp_path / "k.db")]) == 2
    said = capsys.readouterr().err
    assert said.count("can't be opened as a kitchen's database") == said.count("stillroom restore BACKUP.db --db") == 2
    assert (tmp_path / "k.db").read_text().startswith("a list of things")


def test_an_empty_kitchen_passes_and_is_not_overwritten(tmp_path: Path) -> None:
    """Headers, notes and examples, as a folder and as a workbook; a second time is refused."""
    for words in (["blank", str(tmp_path / "new")], ["blank", "--workbook", str(tmp_path / "new.xlsx")]):
        assert main(words) == 0
        assert main(["check", words[-1]]) == 0
        assert main(words) == 2
    assert (tmp_path / "new" / "items.csv").read_text().startswith("name,category,unit")


def test_the_examples_of_an_empty_kitchen_are_one_kitchen(tmp_path: Path) -> None:
    """With all marks taken away, whatever they stand before, nothing is wrong and nothing is doubtful; it builds, and
    its dish is a plate of what the examples say.
    """
    new = tmp_path / "new"
    main(["blank", str(new)])
    for path in new.glob("*.csv"):
        with path.open(encoding="utf-8", newline="") as file:
            header, _, *examples = csv.reader(file)
        with path.open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows([header, *([cells[0].removeprefix("# "), *cells[1:]] for cells in examples)])
        assert examples, path.name
    for path in (new / "kitchen.yaml", new / "recipes" / "example.yaml"):
        lines = path.read_text("utf-8").splitlines()
        said = [re.sub(r"^# (?=[a-z ]+:|  )", "", line) for line in lines]
        assert said != lines
        path.write_text("\n".join(said) + "\n", "utf-8")
    assert [(p.place, p.what) for p in check(new).problems] == []
    assert build(new, tmp_path / "k.db").errors == 0
    with sqlite3.connect(tmp_path / "k.db") as kitchen:
        plate = kitchen.execute("select item from dish_item where dish = 'Chop and leeks' order by item").fetchall()
    assert [item for (item,) in plate] == ["butter, salted", "leeks", "marsh mutton saddle"]


def test_what_a_kitchen_must_choose_stands_open(tmp_path: Path) -> None:
    """The list of allergens above all: what holds until it is chosen is there to be seen."""
    main(["blank", str(tmp_path / "new")])
    lines = (tmp_path / "new" / "kitchen.yaml").read_text("utf-8").splitlines()
    assert [x.split(":")[0] for x in lines if not x.startswith("#")] == [
        "name", "regime", "units", "currency", "time zone",
    ]  # fmt: skip
    assert lines[2].startswith("regime: US   # whose allergen list: US, EU, UK")


def test_help_loads_nothing_heavy() -> None:
    """No Datasette, openpyxl, pydantic or pint before they are needed: help answers in 0.3 s."""
    heavy = "datasette", "openpyxl", "pydantic", "pint", "numpy", "yaml", "uvicorn", "sqlite_utils"
    code = f"""
import sys
from stillroom.loaders.cli import main
try:
    main(["--help"])
except SystemExit:
    pass
print([name for name in {heavy!r} if name in sys.modules], file=sys.stderr)
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "[]"
    assert "stillroom" in done.stdout
