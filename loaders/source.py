"""A kitchen's files as sheets of text: CSV tables and YAML recipes in a folder, or the sheets of one XLSX workbook.

Nothing is interpreted here; every value keeps the place it came from. Mistakes of a file as a file (wrong encoding,
unknown column, a link out of the folder) are collected as problems, never raised. A sheet that can't be read is left
out, and its table's name goes into `partial`, so that names which it may hold are not called unknown as well.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

from stillroom.db.names import fold
from stillroom.db.problems import Place, Problem, quoted
from stillroom.loaders.table_shapes import Table
from stillroom.loaders.tables import BY_NAME, SETTINGS

Mark = tuple[int, int]  # line and column, from 1
SHORT = 12  # names that are listed one by one
CLOSE = 0.7  # how like two names must be for one to be offered in the other's place


class Row(NamedTuple):
    """One row: the line it begins at (or the sheet's row), and its values in the sheet's columns.

    path, column and marks are filled where rows of one sheet come from several YAML files: file, column of the row, and
    where each value stands.
    """

    number: int
    values: Sequence[str]
    path: str = ""
    column: int = 0
    marks: Mapping[str, Mark] | None = None


@dataclass(frozen=True)
class Aside:
    """Words behind the name in a line of a recipe. recipe: its id; thing: the name that the line was read as."""

    recipe: str
    thing: str
    words: str
    place: Place


@dataclass(frozen=True)
class Value:
    """One text and where it stands."""

    text: str
    place: Place


@dataclass
class Sheet:
    """One table as it was written. rows can be gone through again; those of a CSV file are then read anew.

    headers: what a column is called in the file, where that differs from the name in `columns`.
    """

    table: Table
    path: str
    columns: list[str]
    rows: Iterable[Row]
    sheet: str | None = None
    headers: Mapping[str, str] = field(default_factory=dict)

    def place(self, row: Row, column: str | None = None) -> Place:
        """Where a value of a row stands."""
        if self.sheet is not None:
            index = self.columns.index(column) if column in self.columns else 0
            return Place(self.path, sheet=self.sheet, cell=cell_name(index, row.number))
        if row.path:
            line, at = (row.marks or {}).get(column or "", (row.number, row.column))
            return Place(row.path, line=line, column=at or None)
        return Place(
            self.path, line=row.number, column_name=self.headers.get(column or "", column or "") or None
        )


@dataclass(frozen=True)
class PriceList:
    """A supplier's own list of prices: whose, of which day, and its rows under our names for the columns."""

    supplier: Value
    date: Value
    sheet: Sheet


@dataclass
class Source:
    """All that was found: settings, sheets by table name (several files may fill one table), price lists, problems.

    partial: tables of which some rows could not be read.
    """

    path: Path
    settings: dict[str, Value] = field(default_factory=dict)
    sheets: dict[str, list[Sheet]] = field(default_factory=dict)
    price_lists: list[PriceList] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    partial: set[str] = field(default_factory=set)

    def add(self, sheet: Sheet) -> None:
        self.sheets.setdefault(sheet.table.name, []).append(sheet)

    def problem(self, code: str, place: Place, what: str, why: str = "", fix: str = "") -> None:
        self.problems.append(Problem(code, place, what, why, fix))


def read_source(path: Path) -> Source:
    """A folder or workbook as sheets; never raises for what a person did."""
    source = Source(path)
    place = Place(str(path))
    if path.is_dir():
        from stillroom.loaders.folder import read_folder

        read_folder(path, source)
    elif not path.exists():
        source.problem(
            "source-missing",
            place,
            "there is no such folder or workbook",
            "",
            "name a folder, or a file that ends in .xlsx",
        )
    elif path.suffix.lower() == ".xlsx":
        from stillroom.loaders.workbooks import read_workbook

        read_workbook(path, source)
    else:
        source.problem(
            "source-kind", place, "is neither a folder nor an .xlsx workbook", "",
            "save a workbook as .xlsx, or name the folder that holds the files",
        )  # fmt: skip
    return source


def table_called(name: str, source: Source, place: Place) -> Table | None:
    """The table that a file or sheet is named after; upper case and _ for a space do not matter."""
    plain = fold(name.replace("_", " "))
    if plain in BY_NAME:
        return BY_NAME[plain]
    hint = nearest(plain, BY_NAME) or listed("Tables", list(BY_NAME))
    source.problem(
        "table-unknown", place, f"there is no table {quoted(name)}", hint, "rename it, or take it out"
    )
    return None


def check_columns(
    table: Table, header: Sequence[str], source: Source, place: Callable[[int | None], Place]
) -> list[str] | None:
    """The header as column names; unknown, doubled and missing ones are problems.

    Args:
        table: whose columns they should be.
        header: the cells of the first row.
        source: takes the problems.
        place: where the cell of a position stands; of None, the whole header.

    Returns:
        The names in the file's order, or None where the first row is no header.
    """
    known = [column.name for column in table.columns]
    names = [plain_name(cell) for cell in header]
    while names and not names[-1]:
        names.pop()
    if not set(names) & set(known):
        source.problem(
            "header-missing", place(None), f"the first row is no header: it names no column of {table.name}",
            listed("Columns", known), f"begin with: {header_of(table)}",
        )  # fmt: skip
        return None
    meant = {_unknown_column(table, names, n, source, place(n)) for n in range(len(names))}
    missing = [
        c for c in table.columns if c.required and c.name not in names and not _may_miss(table, c.name)
    ]
    for column in missing:
        if column.name not in meant:
            source.problem(
                "column-missing", place(None), f"the column {quoted(column.name)} is missing",
                f"It says: {column.note}.", f"begin with: {header_of(table)}",
            )  # fmt: skip
    if missing:
        source.partial.add(table.name)
    return names


def _may_miss(table: Table, column: str) -> bool:
    """A cut has no yield of its own, so a list of cuts need not have the column."""
    return table.name == "recipes" and column == "yield"


def _unknown_column(table: Table, names: list[str], position: int, source: Source, place: Place) -> str:
    """Tells what is wrong with one header; returns the column that it may have meant."""
    known, name = [column.name for column in table.columns], names[position]
    if name in known:
        if name in names[:position]:
            source.problem(
                "column-twice", place, f"the column {quoted(name)} stands twice", "", "keep one of them"
            )
        return ""
    if not name:
        source.problem(
            "column-unnamed", place, f"column {position + 1} has no header", "", "write its name, or take it out"
        )
        return ""
    near = difflib.get_close_matches(name, known, 1, CLOSE)
    source.problem(
        "column-unknown", place, f"there is no column {quoted(name)} in {table.name}",
        f'Nearest: "{near[0]}".' if near else listed("Columns", known), "rename it, or take it out",
    )  # fmt: skip
    return near[0] if near else ""


def set_setting(name: str, at: Place, value: Value, source: Source) -> None:
    """One setting of the kitchen; unknown and doubled ones are problems."""
    plain = plain_name(name)
    if plain not in SETTINGS:
        hint = nearest(plain, SETTINGS) or listed("Settings", list(SETTINGS))
        source.problem(
            "setting-unknown", at, f"there is no setting {quoted(name)}", hint, "rename it, or take it out"
        )
    elif plain in source.settings:
        first = source.settings[plain].place
        source.problem(
            "setting-twice", at, f"{quoted(plain)} stands twice", f"First at {first}.", "keep one of them"
        )
    else:
        source.settings[plain] = value


def nearest(name: str, known: Iterable[str]) -> str:
    """A sentence with the name most like it, or '' where none is."""
    near = difflib.get_close_matches(name, list(known), 1, CLOSE)
    return f'Nearest: "{near[0]}".' if near else ""


def listed(label: str, known: Sequence[str]) -> str:
    """The whole choice where it is short enough to read; otherwise where it is written down."""
    if len(known) > SHORT:
        return "The files that `stillroom blank` writes name them all."
    return f"{label}: {', '.join(known)}."


def plain_name(text: str) -> str:
    """A header or key as its name: lower case, a space for _, single spaces."""
    return " ".join(text.strip().lower().replace("_", " ").split())


def header_of(table: Table) -> str:
    """The header that a table needs at least."""
    return ",".join(column.name for column in table.columns if column.required)


def cell_name(index: int, row: int) -> str:
    """Column number from 0 and row number from 1 as a sheet names the cell: A1, AA31."""
    text = ""
    while index >= 0:
        text = chr(65 + index % 26) + text
        index = index // 26 - 1
    return f"{text}{row}"
