"""A kitchen's files as sheets of text: CSV tables and YAML recipes in a folder, or the sheets of one XLSX workbook.

Nothing is interpreted here; every value keeps the place it came from. Mistakes of a file as a file (wrong encoding,
unknown column, a link out of the folder) are collected as problems; a sheet that can't be read is left out.
"""

from __future__ import annotations

import csv
import difflib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

from stillroom.db.names import fold
from stillroom.db.problems import Place, Problem, quoted
from stillroom.loaders.tables import BY_NAME, SETTINGS, Table

LONGEST_CELL = 100_000
RECIPE_FOLDER = "recipes"
SETTINGS_FILE = "kitchen.yaml"
PRICE_LISTS = "price_lists"
IGNORED = {"readme.md", "readme.txt", "notes.txt"}


class Row(NamedTuple):
    """One row: the line it begins at (or the sheet's row), and its values in the sheet's columns."""

    number: int
    values: Sequence[str]
    path: str = ""
    column: int = 0


@dataclass(frozen=True)
class Value:
    """One setting and where it stands."""

    text: str
    place: Place


@dataclass
class Sheet:
    """One table as it was written. rows may be read once only where the sheet streams from a file."""

    table: Table
    path: str
    columns: list[str]
    rows: Iterable[Row]
    sheet: str | None = None

    def place(self, row: Row, column: str | None = None) -> Place:
        """Where a value of a row stands."""
        if self.sheet is not None:
            cell = f"{_letters(self.columns.index(column))}{row.number}" if column in self.columns else f"A{row.number}"
            return Place(self.path, sheet=self.sheet, cell=cell)
        if row.path:
            return Place(row.path, line=row.number, column=row.column or None)
        return Place(self.path, line=row.number, column_name=column)


@dataclass
class Source:
    """All that was found: settings, sheets by table name (several files may fill one table), price lists, problems."""

    path: Path
    settings: dict[str, Value] = field(default_factory=dict)
    sheets: dict[str, list[Sheet]] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def add(self, sheet: Sheet) -> None:
        self.sheets.setdefault(sheet.table.name, []).append(sheet)

    def problem(self, code: str, place: Place, what: str, why: str = "", fix: str = "") -> None:
        self.problems.append(Problem(code, place, what, why, fix))


def read_source(path: Path) -> Source:
    """A folder or workbook as sheets; never raises for what a person did."""
    source = Source(path)
    if path.is_dir():
        _read_folder(path, source)
    elif path.suffix.lower() == ".xlsx" and path.is_file():
        from stillroom.loaders.workbooks import read_workbook

        read_workbook(path, source)
    else:
        source.problem("source-missing", Place(str(path)), "there is no such folder or workbook", "", "name a folder, or a file that ends in .xlsx")
    return source


def _read_folder(folder: Path, source: Source) -> None:
    from stillroom.loaders.recipe_yaml import read_recipes, read_settings

    found = sorted(p for p in folder.iterdir() if not p.name.startswith("."))
    if not found:
        source.problem(
            "source-empty", Place(str(folder)), "the folder is empty", "", f"stillroom blank {folder} writes an empty kitchen into it"
        )
    for path in found:
        if not _inside(path, folder, source):
            continue
        if path.is_dir() and path.name == RECIPE_FOLDER:
            for recipe in sorted(path.glob("*.yaml")):
                if _inside(recipe, folder, source):
                    read_recipes(recipe, source)
        elif path.name == SETTINGS_FILE:
            read_settings(path, source)
        elif path.suffix.lower() == ".csv":
            _read_csv(path, source)
        elif not path.is_dir() and path.name.lower() not in IGNORED:
            _unknown_file(path, source)


def read_text(path: Path, source: Source) -> str | None:
    """A file's text in UTF-8, or None and a problem that says how to save it."""
    place = Place(str(path))
    try:
        data = path.read_bytes()
    except OSError as error:
        source.problem("file-unreadable", place, f"can't be read: {error.strerror}", "", "give this account the right to read it")
        return None
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        source.problem("encoding", place, "is saved as UTF-16", "Files here are UTF-8.", "save it again as CSV UTF-8")
        return None
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        source.problem(
            "encoding", Place(str(path), line=line), f"is not UTF-8: byte {data[error.start]:#04x}", "", "save it again as CSV UTF-8"
        )
        return None
    if "\x00" in text:
        line = text[: text.index("\x00")].count("\n") + 1
        source.problem("nul-byte", Place(str(path), line=line), "holds a NUL byte", "Text files hold none.", "export the file again")
        return None
    return text


def _inside(path: Path, folder: Path, source: Source) -> bool:
    """Whether a file stays within the kitchen's folder when links are followed."""
    if path.resolve().is_relative_to(folder.resolve()):
        return True
    source.problem("file-outside", Place(str(path)), "is a link that leads out of the folder", "", "put the file itself here")
    return False


def _read_csv(path: Path, source: Source) -> None:
    table = table_called(path.stem, source, Place(str(path)))
    if table is None:
        return
    text = read_text(path, source)
    if text is None:
        return
    records = _records(path, text, source)
    header = next(records, None)
    if header is None:
        source.problem("header-missing", Place(str(path), line=1), "has no header", "", f"begin with: {_header(table)}")
        return
    columns = check_columns(table, header.values, source, lambda n: Place(str(path), line=header.number, column_name=n))
    rows = list(_data_rows(records, len(columns), path, source))
    source.add(Sheet(table, str(path), columns, rows))


def _records(path: Path, text: str, source: Source) -> Iterator[Row]:
    """Records with the line on which each begins; a broken one ends the file with a problem."""
    csv.field_size_limit(LONGEST_CELL)
    reader = csv.reader(text.splitlines(keepends=True), strict=True)
    begins = 1
    while True:
        try:
            values = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            _broken_record(path, begins, str(error), source)
            return
        if any(values) and not values[0].startswith("#"):
            yield Row(begins, values)
        begins = reader.line_num + 1


def _broken_record(path: Path, line: int, words: str, source: Source) -> None:
    if "field larger" in words:
        what, fix = f"a cell is longer than {LONGEST_CELL:,} characters", "look for a missing closing quotation mark"
    else:
        what, fix = f"the row can't be parted into cells: {words}", 'write a quotation mark inside a cell twice: ""'
    source.problem("csv-broken", Place(str(path), line=line), what, "", fix)


def _data_rows(records: Iterator[Row], width: int, path: Path, source: Source) -> Iterator[Row]:
    for row in records:
        if len(row.values) > width and any(v.strip() for v in row.values[width:]):
            source.problem(
                "row-long", Place(str(path), line=row.number), f"the row has {len(row.values)} cells, the header {width}", "",
                "put a cell that holds a comma in quotation marks",
            )  # fmt: skip
            continue
        yield Row(row.number, [*row.values[:width], *[""] * (width - len(row.values))])


def table_called(name: str, source: Source, place: Place) -> Table | None:
    """The table that a file or sheet is named after."""
    plain = fold(name.replace("_", " "))
    if plain in BY_NAME:
        return BY_NAME[plain]
    near = difflib.get_close_matches(plain, BY_NAME, 1, 0.6)
    hint = f'Nearest: "{near[0]}".' if near else f"Known: {', '.join(BY_NAME)}."
    source.problem("table-unknown", place, f"there is no table {quoted(name)}", hint, "rename it, or take it out of the folder")
    return None


def check_columns(table: Table, header: Sequence[str], source: Source, place: object) -> list[str]:
    """The header as column names; unknown, doubled and missing ones are problems."""
    known = {column.name: column for column in table.columns}
    names = [" ".join(h.strip().lower().replace("_", " ").split()) for h in header]
    while names and not names[-1]:
        names.pop()
    for position, name in enumerate(names):
        where = place(name)  # type: ignore[operator]
        if name not in known:
            near = difflib.get_close_matches(name, known, 1, 0.6)
            hint = f'Nearest: "{near[0]}".' if near else f"Columns here: {', '.join(known)}."
            source.problem("column-unknown", where, f"there is no column {quoted(name)} in {table.name}", hint, "rename it or take it out")
        elif name in names[:position]:
            source.problem("column-twice", where, f"the column {quoted(name)} stands twice", "", "keep one of them")
    for column in table.columns:
        if column.required and column.name not in names and not (table.name == "recipes" and column.name == "yield"):
            source.problem(
                "column-missing", place(""), f"the column {quoted(column.name)} is missing", f"It says: {column.note}.", "add it"  # type: ignore[operator]
            )
    return names


def _unknown_file(path: Path, source: Source) -> None:
    source.problem(
        "file-unknown", Place(str(path)), "is none of the kitchen's files", "A kitchen is kitchen.yaml, tables as .csv, and recipes/*.yaml.",
        "rename it, or take it out of the folder",
    )  # fmt: skip


def unknown_setting(name: str, place: Place, source: Source) -> None:
    """A setting that stillroom does not have."""
    near = difflib.get_close_matches(name, SETTINGS, 1, 0.6)
    hint = f'Nearest: "{near[0]}".' if near else f"Settings: {', '.join(SETTINGS)}."
    source.problem("setting-unknown", place, f"there is no setting {quoted(name)}", hint, "rename it or take it out")


def _header(table: Table) -> str:
    return ",".join(column.name for column in table.columns if column.required)


def _letters(index: int) -> str:
    """Column number from 0 as a sheet names it: A, B, ... AA."""
    text = ""
    while True:
        text = chr(65 + index % 26) + text
        index = index // 26 - 1
        if index < 0:
            return text
