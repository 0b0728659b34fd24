"""The sheets of an XLSX file as text, every cell as a person sees it; what is locked, broken or a bomb is refused."""

from __future__ import annotations

import re
import warnings
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import IO, Any
from xml.etree import ElementTree

from stillroom.db.problems import Place, quoted
from stillroom.loaders.csv_files import LONGEST_CELL, counts
from stillroom.loaders.source import Source, cell_name, plain_name

LARGEST_BYTES = 100_000_000
LARGEST_RATIO = 200
WIDEST = 200  # columns
LOCKED = bytes.fromhex("d0cf11e0a1b11ae1")  # the container that passwords and the old .xls use
SAVE_AGAIN = "open it in a spreadsheet and save it again as .xlsx"
NO_PASSWORD = "save it as .xlsx without a password"
MERGE = re.compile(rb'<(?:\w+:)?mergeCell\s[^>]*?ref="([A-Z0-9:]{1,30})"')
FORMULA = re.compile(rb"<(?:\w+:)?f[ />]")
# What openpyxl and the standard library raise for a file that only looks like a workbook.
BROKEN = (
    ArithmeticError, AttributeError, LookupError, NotImplementedError, OSError, EOFError, RuntimeError, TypeError,
    ValueError, zipfile.BadZipFile, zlib.error, ElementTree.ParseError,
)  # fmt: skip


@dataclass(frozen=True)
class Page:
    """One sheet as text: row numbers with their cells, empty rows and remarks left out.

    is_hidden: whether whoever opens the workbook does not see it.
    """

    name: str
    rows: list[tuple[int, list[str]]]
    is_hidden: bool = False


@dataclass(frozen=True)
class Reader:
    """How one workbook is read.

    mark: the decimal mark that numbers are written with.
    merged: whether merged cells may stand, as on a supplier's sheet.
    """

    path: Path
    source: Source
    mark: str = "."
    merged: bool = False

    def pages(self) -> list[Page]:
        """The sheets that could be read; none of a workbook that can't be opened."""
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")  # what openpyxl leaves out of a file is nothing that is read here
                return list(self._pages()) if self._can_open() else []
        except BROKEN:
            self._problem("workbook-broken", "can't be read as an XLSX workbook", "", SAVE_AGAIN)
            return []

    def _problem(self, code: str, what: str, why: str, fix: str, at: tuple[str, str] | None = None) -> None:
        place = Place(str(self.path), sheet=at[0], cell=at[1]) if at else Place(str(self.path))
        self.source.problem(code, place, what, why, fix)

    def _can_open(self) -> bool:
        with self.path.open("rb") as file:
            if file.read(8) == LOCKED:
                self._problem("workbook-locked", "is locked with a password, or is an old .xls", "", NO_PASSWORD)
                return False
        with zipfile.ZipFile(self.path) as archive:
            entries = archive.infolist()
            size = sum(entry.file_size for entry in entries)
            if size > LARGEST_BYTES or size > LARGEST_RATIO * max(self.path.stat().st_size, 10_000):
                limits = f"At most {LARGEST_BYTES:,}, and {LARGEST_RATIO} times the size of the file."
                self._problem("workbook-large", f"unpacks to {size:,} bytes", limits, "keep long logs in CSV files")
            elif any(entry.flag_bits & 1 for entry in entries):
                self._problem("workbook-locked", "is locked with a password", "", NO_PASSWORD)
            elif any(_declares(archive, e) for e in entries if e.filename.endswith((".xml", ".rels"))):
                self._problem("workbook-broken", "declares entities, which no spreadsheet does", "", SAVE_AGAIN)
            else:
                return True
        return False

    def _pages(self) -> Iterator[Page]:
        from openpyxl import load_workbook

        book = load_workbook(self.path, data_only=True, read_only=True, keep_links=False)
        with zipfile.ZipFile(self.path) as archive:
            for sheet in book.worksheets:
                name = str(sheet.title)
                if self._is_plain(name, str(sheet._worksheet_path), archive):
                    yield Page(name, list(self._rows(name, sheet)), sheet.sheet_state != "visible")
                else:
                    self.source.partial.add(plain_name(name))
        book.close()

    def _is_plain(self, name: str, part: str, archive: zipfile.ZipFile) -> bool:
        """Whether every cell of a sheet has a value of its own: nothing merged, nothing never calculated."""
        with archive.open(part) as stream:
            merges, has_formulas = _look_through(stream)
        if merges and not self.merged:
            why, fix = "Each value has its own cell here.", "unmerge them, and write the value into each"
            self._problem("cells-merged", "cells are merged", why, fix, (name, merges[0]))
            return False
        before = len(self.source.problems)
        if has_formulas:
            with archive.open(part) as stream:
                for cell, formula in _without_result(stream):
                    what = f"the formula {quoted('=' + formula)} has no stored result"
                    fix = "open the workbook in a spreadsheet, let it calculate, save it"
                    self._problem("formula-no-value", what, "", fix, (name, cell))
        return len(self.source.problems) == before

    def _rows(self, name: str, sheet: Any) -> Iterator[tuple[int, list[str]]]:
        sheet.reset_dimensions()  # what a file says of its own size is not always so
        for number, cells in enumerate(sheet.iter_rows(max_col=WIDEST), 1):
            values = [self._cell(c, name, n, number) if c.value is not None else "" for n, c in enumerate(cells)]
            while values and not values[-1]:
                values.pop()
            if counts(values):
                yield number, values

    def _cell(self, cell: Any, sheet: str, column: int, row: int) -> str:
        """One cell as text; a failed formula and an endless text are problems."""
        at = (sheet, cell_name(column, row))
        if cell.data_type == "e":
            what = f"the sheet shows {quoted(str(cell.value))}"
            self._problem("cell-error", what, "The formula failed.", "mend the formula, or write the value", at)
            return ""
        text = seen(cell.value, str(cell.number_format or ""), self.mark)
        if len(text) > LONGEST_CELL:
            self._problem("cell-long", f"the cell is longer than {LONGEST_CELL:,} characters", "", "shorten it", at)
            return ""
        return text


def _declares(archive: zipfile.ZipFile, entry: zipfile.ZipInfo) -> bool:
    with archive.open(entry) as part:
        return b"<!DOCTYPE" in part.read(4096)


def _look_through(stream: IO[bytes]) -> tuple[list[str], bool]:
    """Merged ranges, and whether there are formulas, in one pass over the sheet's XML in pieces."""
    merges: list[str] = []
    has_formulas, rest = False, b""
    while piece := stream.read(1_000_000):
        text = rest + piece
        merges += [ref.decode("ascii") for ref in MERGE.findall(text)]
        has_formulas = has_formulas or FORMULA.search(text) is not None
        rest = text[-200:].rpartition(b">")[2]
    return merges, has_formulas


def _without_result(stream: IO[bytes]) -> Iterator[tuple[str, str]]:
    """Cells whose formula was never calculated: no result is stored beside it."""
    for _, element in ElementTree.iterparse(stream):
        kind = element.tag.rpartition("}")[2]
        if kind == "c":
            inner = {child.tag.rpartition("}")[2]: child for child in element}
            has_result = "v" in inner and (inner["v"].text or element.get("t") == "str")  # a text may be empty
            if "f" in inner and not has_result:
                yield element.get("r", "A1"), inner["f"].text or ""
        elif kind == "row":
            element.clear()


def seen(value: Any, shown_as: str, mark: str) -> str:
    """A cell's value as a person reads it; a date is ISO whatever the sheet's format."""
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time(0) else value.strftime("%Y-%m-%d %H:%M")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, time):
        return value.strftime("%H:%M")
    if isinstance(value, timedelta):
        return f"{value // timedelta(minutes=1)} min"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        is_share = "%" in shown_as
        return _plain(value * 100 if is_share else value).replace(".", mark) + (" %" if is_share else "")
    return str(value)


def _plain(number: float) -> str:
    """A number in the 15 digits that a spreadsheet keeps, never with an exponent.

    Example:
        >>> _plain(0.1 + 0.2), _plain(12.0), _plain(1e-7)
        ('0.3', '12', '0.0000001')
    """
    text = f"{number:.15g}"
    if "e" in text:
        text = f"{number:.20f}" if abs(number) < 1 else f"{number:.0f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
