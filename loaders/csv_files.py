"""Tables in CSV, read row by row: a file of any length takes no more memory than one row."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path

from stillroom.db.problems import Place
from stillroom.loaders.source import Row, Sheet, Source, check_columns, header_of, table_called
from stillroom.loaders.text_files import can_read

LONGEST_CELL = 100_000  # characters
DELIMITERS = ",;\t"
BROKEN = {
    "unexpected end of data": (
        "a quotation mark is opened and never closed",
        'close it; inside a cell write it twice: ""',
    ),
    "field larger": (
        f"a cell is longer than {LONGEST_CELL:,} characters",
        "look for a quotation mark that is never closed",
    ),
    "expected after": (
        "text follows a closing quotation mark",
        'write a quotation mark inside a cell twice: ""',
    ),
}


class BrokenRecord(Exception):
    """A record that can't be parted into cells, and the line on which it begins."""

    def __init__(self, line: int, words: str) -> None:
        self.line, self.words = line, words


def read_csv(path: Path, source: Source) -> None:
    """One table's file into the source."""
    table = table_called(path.stem, source, Place(str(path)))
    if table is None:
        return
    header = first_record(path, source) if can_read(path, source) else None
    if header is not None and not header.values:
        source.problem(
            "header-missing", Place(str(path), line=1), "has no header", "", f"begin with: {header_of(table)}"
        )
    columns = None
    if header is not None and header.values:
        columns = check_columns(table, header.values, source, lambda n: header_place(path, header, n))
    if header is None or columns is None:
        source.partial.add(table.name)
        return
    rows = CsvRows(path, header.number, len(columns), source, table.name)
    source.add(Sheet(table, str(path), columns, rows))


def first_record(path: Path, source: Source) -> Row | None:
    """The first record that is neither empty nor a remark; without values where there is none."""
    try:
        for number, values in records(path, delimiter_of(path)):
            if counts(values):
                return Row(number, values)
    except BrokenRecord as broken:
        tell_broken(path, broken, source)
        return None
    return Row(1, [])


def header_place(path: Path, header: Row, position: int | None) -> Place:
    """Where a cell of the header stands."""
    name = None if position is None else header.values[position].strip() or None
    return Place(str(path), line=header.number, column_name=name)


def counts(values: list[str]) -> bool:
    """Whether a record is a row: not empty, and no remark, which begins with #."""
    return bool(values) and not values[0].startswith("#") and any(values)


def delimiter_of(path: Path) -> str:
    """What parts the cells: the commonest of comma, semicolon and tab in the first line that is no remark.

    Spreadsheets write semicolons in countries where the decimal mark is a comma.
    """
    with path.open(encoding="utf-8-sig", newline="") as file:
        line = next((text for text in file if text.strip() and not text.startswith("#")), "")
    return max(DELIMITERS, key=line.count)


def records(path: Path, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    """Records with the line on which each begins.

    Raises:
        BrokenRecord: where the text can't be parted any further.
    """
    csv.field_size_limit(LONGEST_CELL)
    begins = 1
    with path.open(encoding="utf-8-sig", newline="") as file:
        reader = csv.reader(file, delimiter=delimiter, strict=True)
        try:
            for values in reader:
                yield begins, values
                begins = reader.line_num + 1
        except csv.Error as error:
            raise BrokenRecord(begins, str(error)) from None


def tell_broken(path: Path, broken: BrokenRecord, source: Source) -> None:
    """The words of the csv module in the words of a kitchen."""
    words = next((said for part, said in BROKEN.items() if part in broken.words), None)
    what, fix = words or (
        f"the row can't be parted into cells: {broken.words}",
        "look at its quotation marks",
    )
    source.problem("csv-broken", Place(str(path), line=broken.line), what, "", fix)


class CsvRows:
    """The rows below a header, read from the file each time they are gone through; a problem is told once."""

    def __init__(self, path: Path, header_line: int, width: int, source: Source, table: str) -> None:
        self.path, self.header_line, self.width = path, header_line, width
        self.source, self.table = source, table
        self.told = 0

    def __iter__(self) -> Iterator[Row]:
        # One loop, and rows made without their constructor: half the time of a long file is spent here.
        width, header, make = self.width, self.header_line, tuple.__new__
        csv.field_size_limit(LONGEST_CELL)
        begins = 1
        with self.path.open(encoding="utf-8-sig", newline="") as file:
            reader = csv.reader(file, delimiter=delimiter_of(self.path), strict=True)
            try:
                for values in reader:
                    number, begins = begins, reader.line_num + 1
                    if number <= header:
                        continue
                    if len(values) == width and values[0] and values[0][0] != "#":
                        yield make(Row, (number, values, "", 0, None))
                    elif counts(values) and (fitted := self._fitted(number, values)) is not None:
                        yield Row(number, fitted)
            except csv.Error as error:
                if self._is_new(begins):
                    tell_broken(self.path, BrokenRecord(begins, str(error)), self.source)

    def _fitted(self, number: int, values: list[str]) -> list[str] | None:
        """A row's cells, as many as the header has; None and a problem where there are more."""
        if any(value.strip() for value in values[self.width :]):
            self._too_long(number, len(values))
            return None
        return [*values[: self.width], *[""] * (self.width - len(values))]

    def _too_long(self, line: int, cells: int) -> None:
        if self._is_new(line):
            self.source.problem(
                "row-long", Place(str(self.path), line=line), f"the row has {cells} cells, the header {self.width}", "",
                "put a cell that holds a comma in quotation marks",
            )  # fmt: skip

    def _is_new(self, line: int) -> bool:
        """Whether a problem on this line is met for the first time; the table then lacks a row."""
        is_new, self.told = line > self.told, max(self.told, line)
        self.source.partial.add(self.table)
        return is_new
