"""One mistake at a time, laid over the small kitchen: the whole report, word for word, stands beside it.

Each folder of `data/broken` holds `overlay` (files laid over `data/mini`) or `kitchen` (a whole one), and
`expected.txt`. What can't lie in a folder as a file, or is too large, is made here.
"""

from __future__ import annotations

import os
import shutil
import tempfile
import tracemalloc
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from stillroom.db.problems import report
from stillroom.loaders.build import check
from stillroom.loaders.source import read_source

DATA = Path(__file__).parents[1] / "data"
KINDS = sorted(path.name for path in (DATA / "broken").iterdir())


def mini(folder: Path) -> Path:
    """A copy of the small kitchen."""
    shutil.copytree(DATA / "mini", folder)
    return folder


def said(path: Path) -> str:
    """The report on a kitchen, with its own folder's name left out."""
    return (
        report(check(path).problems).replace(f"{path}{os.sep}", "").replace(f"{path.parent}{os.sep}", "")
        + "\n"
    )


def test_the_small_kitchen_is_right(tmp_path: Path) -> None:
    """Whatever is said below is said of the mistake."""
    assert said(mini(tmp_path / "k")) == "\n"


@pytest.mark.parametrize("kind", KINDS)
def test_a_mistake_is_told_word_for_word(kind: str, tmp_path: Path) -> None:
    """Where, what, why and how to mend it, and nothing about anything else."""
    given = DATA / "broken" / kind
    if (given / "kitchen").is_dir():
        folder = Path(shutil.copytree(given / "kitchen", tmp_path / "k"))
    else:
        folder = mini(tmp_path / "k")
        shutil.copytree(given / "overlay", folder, dirs_exist_ok=True)
    assert said(folder) == (given / "expected.txt").read_text("utf-8")


def _write(name: str, data: bytes) -> Callable[[Path], object]:
    return lambda folder: (folder / name).write_bytes(data)


MADE: dict[str, tuple[Callable[[Path], object], str]] = {
    "utf-16": (
        _write("people.csv", "name,stations\nMarit,Stove\n".encode("utf-16")),
        "people.csv: error: is saved as UTF-16  [encoding]\n  Files here are UTF-8.\n"
        '  Fix: save it again: "CSV UTF-8" in a spreadsheet, encoding UTF-8 in an editor\n',
    ),
    "utf-16 without a mark": (
        _write("people.csv", "name,stations\nMarit,Stove\n".encode("utf-16-be")),
        "people.csv: error: is saved as UTF-16  [encoding]\n  Files here are UTF-8.\n"
        '  Fix: save it again: "CSV UTF-8" in a spreadsheet, encoding UTF-8 in an editor\n',
    ),
    "latin-1": (
        _write("people.csv", "name,stations\nMarit,Stove\nRené,Grill\n".encode("latin-1")),
        'people.csv:3: error: is not UTF-8: byte 0xe9, which is "é" in Windows-1252 and Latin-1  [encoding]\n'
        '  Files here are UTF-8.\n  Fix: save it again: "CSV UTF-8" in a spreadsheet, encoding UTF-8 in an editor\n',
    ),
    "latin-1 recipe": (
        _write("recipes/more.yaml", "# eins\nname: Purée\n".encode("latin-1")),
        'recipes/more.yaml:2: error: is not UTF-8: byte 0xe9, which is "é" in Windows-1252 and Latin-1  [encoding]\n'
        '  Files here are UTF-8.\n  Fix: save it again: "CSV UTF-8" in a spreadsheet, encoding UTF-8 in an editor\n',
    ),
    "nul bytes": (
        _write("people.csv", b"name,stations\nMarit,Stove\nOw\x00en,Grill\n"),
        "people.csv:3: error: holds a NUL byte  [nul-byte]\n  Text has none.\n  Fix: export the file again\n",
    ),
    "byte order mark": (_write("people.csv", b"\xef\xbb\xbfname,stations\r\nMarit,Stove\r\n"), "\n"),
    "semicolons": (_write("people.csv", b'name;stations\nMarit;"Stove; Grill"\n'), "\n"),
    "long cell": (
        _write("people.csv", b"name,stations\nMarit," + b"x" * 100_001 + b"\n"),
        "people.csv:2: error: a cell is longer than 100,000 characters  [csv-broken]\n"
        "  Fix: look for a quotation mark that is never closed\n",
    ),
    "link out of the folder": (
        lambda folder: (folder / "equipment.csv").symlink_to("/etc/hostname"),
        "equipment.csv: error: is a link that leads out of the folder  [file-outside]\n"
        "  Fix: put the file itself here\n",
    ),
    "link to a folder above": (
        lambda folder: (folder / "recipes" / "all.yaml").symlink_to("../../"),
        "recipes/all.yaml: error: is a link that leads out of the folder  [file-outside]\n"
        "  Fix: put the file itself here\n",
    ),
    "link in a circle": (
        lambda folder: (folder / "equipment.csv").symlink_to("equipment.csv"),
        "equipment.csv: error: is a link that leads in a circle  [file-outside]\n  Fix: put the file itself here\n",
    ),
    "pipe": (
        lambda folder: os.mkfifo(folder / "equipment.csv"),
        "equipment.csv: error: is no ordinary file  [file-unreadable]\n  Fix: put the file itself here\n",
    ),
    "folder for a file": (
        lambda folder: (folder / "equipment.csv").mkdir(),
        "equipment.csv: error: is a folder, where a file should be  [file-unreadable]\n"
        "  Fix: put the file itself here\n",
    ),
    "large recipe file": (
        _write("recipes/more.yaml", b"#" + b"x" * 5_000_000),
        "recipes/more.yaml: error: has 5,000,001 bytes  [file-large]\n  At most 5,000,000.\n"
        "  Fix: part it into several files\n",
    ),
}


@pytest.mark.parametrize("kind", MADE)
def test_a_made_mistake_is_told_word_for_word(kind: str, tmp_path: Path) -> None:
    """Encodings, links, pipes and long cells."""
    make, expected = MADE[kind]
    make(folder := mini(tmp_path / "k"))
    assert said(folder) == expected


def test_ten_thousand_mistakes_are_cut_at_fifty_a_file(tmp_path: Path) -> None:
    """Fifty of each file in the order of their lines, then how many more; other files keep theirs."""
    folder = mini(tmp_path / "k")
    rows = "".join(f"2026-11-24,butter,{n} kg,too much\n" for n in range(10_000))
    (folder / "counts.csv").write_text(f"counted on,of,on hand\n{rows}")
    (folder / "pars.csv").write_text("of,par\nflour,1 kg,x\n")
    lines = [line for line in said(folder).splitlines() if not line.startswith("  ")]
    assert len(lines) == 52 and lines[50] == "counts.csv: and 9,950 more"
    assert lines[0] == "counts.csv:2: error: the row has 4 cells, the header 3  [row-long]"
    assert lines[51] == "pars.csv:2: error: the row has 3 cells, the header 2  [row-long]"


def test_a_cell_of_100_mb_is_refused_in_little_memory(tmp_path: Path) -> None:
    """On one line or on many: never more than a few MB of it at once."""
    folder = mini(tmp_path / "k")
    for name, piece in (("people.csv", b"x" * 1_000_000), ("counts.csv", b"x" * 999 + b"\n")):
        with (folder / name).open("wb") as file:
            file.write(
                b'name,stations\nMarit,"' if name == "people.csv" else b'counted on,of,on hand\n2026-11-24,"'
            )
            for _ in range(100_000_000 // len(piece)):
                file.write(piece)
    tracemalloc.start()
    source = read_source(folder)
    for sheet in source.sheets["counts"]:
        assert list(sheet.rows) == []
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert report(source.problems).replace(f"{folder}/", "").splitlines() == [
        "counts.csv:2: error: a cell is longer than 100,000 characters  [csv-broken]",
        "  Fix: look for a quotation mark that is never closed",
        "people.csv:2: error: the line is longer than 1,000,000 bytes  [line-long]",
        "  Fix: look for a missing line break or a quotation mark that is never closed",
    ]
    assert peak < 10_000_000


def test_a_file_that_may_not_be_read_is_said_to_be_so() -> None:
    """As the account that meets it: a superuser is not refused, so steps down for the while."""
    with tempfile.TemporaryDirectory() as top:
        os.chmod(top, 0o755)
        folder = mini(Path(top) / "k")
        (folder / "counts.csv").chmod(0)
        (folder / "recipes").chmod(0)
        root = os.geteuid() == 0
        if root:
            os.seteuid(65534)
        try:
            problems = report(read_source(folder).problems).replace(f"{folder}/", "")
        finally:
            if root:
                os.seteuid(0)
            (folder / "recipes").chmod(0o700)
    assert problems == (
        "counts.csv: error: can't be read: Permission denied  [file-unreadable]\n"
        "  Fix: give this account the right to read it\n"
        "recipes: error: can't be looked into: Permission denied  [file-unreadable]\n"
        "  Fix: give this account the right to read it"
    )


def test_a_source_that_is_none(tmp_path: Path) -> None:
    """Missing, empty, or of another kind."""
    (tmp_path / "empty").mkdir()
    (tmp_path / "kitchen.xls").write_text("x")
    assert said(tmp_path / "empty") == (
        "empty: error: the folder holds no file of a kitchen  [source-empty]\n"
        "  Fix: stillroom blank empty writes an empty kitchen into it\n"
    )
    assert said(tmp_path / "nowhere") == (
        "nowhere: error: there is no such folder or workbook  [source-missing]\n"
        "  Fix: name a folder, or a file that ends in .xlsx\n"
    )
    assert said(tmp_path / "kitchen.xls") == (
        "kitchen.xls: error: is neither a folder nor an .xlsx workbook  [source-kind]\n"
        "  Fix: save a workbook as .xlsx, or name the folder that holds the files\n"
    )


def _workbook(folder: Path, change: Callable[[Any], object]) -> Path:
    """The small kitchen's stations and people as a workbook, changed by openpyxl."""
    from openpyxl import Workbook

    book = Workbook()
    book.active.title = "stations"
    for row in (["name"], ["Stove"], ["Grill"]):
        book["stations"].append(row)
    book.create_sheet("people")
    for row in (["name", "stations"], ["Marit", "Stove"]):
        book["people"].append(row)
    change(book)
    book.save(folder / "kitchen.xlsx")
    return folder / "kitchen.xlsx"


def _put(sheet: str, cell: str, value: object) -> Callable[[Any], object]:
    return lambda book: book[sheet].__setitem__(cell, value)


SHEETS: dict[str, tuple[Callable[[Any], object], str]] = {
    "right": (lambda book: None, "\n"),
    "empty extra sheet": (lambda book: book.create_sheet("Sheet1"), "\n"),
    "extra sheet": (
        lambda book: book.create_sheet("peple").append(["name"]),
        'kitchen.xlsx, sheet "peple": error: there is no table "peple"  [table-unknown]\n  Nearest: "people".\n'
        "  Fix: rename it, or take it out\n",
    ),
    "merged cells": (
        lambda book: book["people"].merge_cells("A2:B2"),
        'kitchen.xlsx, sheet "people", cell A2:B2: error: cells are merged  [cells-merged]\n'
        "  Each value has its own cell here.\n  Fix: unmerge them, and write the value into each\n",
    ),
    "formula never calculated": (
        _put("people", "B2", '="Sto" & "ve"'),
        'kitchen.xlsx, sheet "people", cell B2: error: the formula "="Sto" & "ve"" has no stored result'
        "  [formula-no-value]\n  Fix: open the workbook in a spreadsheet, let it calculate, save it\n",
    ),
    "formula that failed": (
        _put("people", "B2", "#N/A"),
        'kitchen.xlsx, sheet "people", cell B2: error: the sheet shows "#N/A"  [cell-error]\n'
        "  The formula failed.\n  Fix: mend the formula, or write the value\n",
    ),
    "failed formula in the first column": (  # which is no remark, though it begins with #
        _put("stations", "A4", "#REF!"),
        'kitchen.xlsx, sheet "stations", cell A4: error: the sheet shows "#REF!"  [cell-error]\n'
        "  The formula failed.\n  Fix: mend the formula, or write the value\n",
    ),
    "cell beyond the header": (
        _put("people", "D2", "late"),
        'kitchen.xlsx, sheet "people", cell D2: error: something stands right of the last column  [row-long]\n'
        "  Fix: give its column a header, or empty the cell\n",
    ),
    "column misspelt": (
        _put("people", "B1", "statoins"),
        'kitchen.xlsx, sheet "people", cell B1: error: there is no column "statoins" in people  [column-unknown]\n'
        '  Nearest: "stations".\n  Fix: rename it, or take it out\n',
    ),
    "unknown name": (
        _put("people", "B2", "Stov"),
        'kitchen.xlsx, sheet "people", cell B2: error: there is no "Stov" in stations  [name-unknown]\n'
        '  Nearest: "Stove".\n  Fix: add it to stations, or mend the spelling\n',
    ),
}


@pytest.mark.parametrize("kind", SHEETS)
def test_a_mistake_in_a_sheet_is_told_with_its_cell(kind: str, tmp_path: Path) -> None:
    """Sheet and cell, and the same words as for a file."""
    change, expected = SHEETS[kind]
    assert said(_workbook(tmp_path, change)) == expected


def _repack(path: Path, name: str, data: bytes) -> None:
    """The workbook with one of its parts exchanged."""
    with zipfile.ZipFile(path) as archive:
        parts = {entry: archive.read(entry) for entry in archive.namelist()}
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for entry, old in {**parts, name: data}.items():
            archive.writestr(entry, data if entry == name else old)


BOMB = b'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
HOSTILE: dict[str, tuple[Callable[[Path], object], str]] = {
    "locked": (
        lambda path: path.write_bytes(bytes.fromhex("d0cf11e0a1b11ae1") + b"\x00" * 600),
        "is locked with a password, or is an old .xls  [workbook-locked]\n  Fix: save it as .xlsx without a password\n",
    ),
    "no zip": (
        lambda path: path.write_bytes(b"hello"),
        "can't be read as an XLSX workbook  [workbook-broken]\n"
        "  Fix: open it in a spreadsheet and save it again as .xlsx\n",
    ),
    "cut short": (
        lambda path: path.write_bytes(path.read_bytes()[:2000]),
        "can't be read as an XLSX workbook  [workbook-broken]\n"
        "  Fix: open it in a spreadsheet and save it again as .xlsx\n",
    ),
    "broken sheet": (
        lambda path: _repack(path, "xl/worksheets/sheet1.xml", b"<worksheet><sheetData><row r='x'><c"),
        "can't be read as an XLSX workbook  [workbook-broken]\n"
        "  Fix: open it in a spreadsheet and save it again as .xlsx\n",
    ),
    "bomb": (
        lambda path: _repack(path, "xl/media/x", b"\x00" * 20_000_000),
        "unpacks to 20,0",
    ),
    "entities": (
        lambda path: _repack(path, "xl/sharedStrings.xml", b"<?xml version='1.0'?>" + BOMB + b"<sst/>"),
        "declares entities, which no spreadsheet does  [workbook-broken]\n"
        "  Fix: open it in a spreadsheet and save it again as .xlsx\n",
    ),
}


@pytest.mark.parametrize("kind", HOSTILE)
def test_a_hostile_workbook_is_refused_before_it_is_opened(kind: str, tmp_path: Path) -> None:
    """Locked, no workbook at all, cut short, or far larger than it looks."""
    change, expected = HOSTILE[kind]
    change(path := _workbook(tmp_path, lambda book: None))
    assert said(path).startswith(f"kitchen.xlsx: error: {expected}")
