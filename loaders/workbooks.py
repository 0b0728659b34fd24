"""A kitchen in one XLSX workbook: the same tables as sheets, every cell as the text a person sees."""

from __future__ import annotations

import zipfile
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

from stillroom.db.problems import Place, quoted
from stillroom.loaders.source import Row, Sheet, Source, Value, check_columns, table_called, unknown_setting
from stillroom.loaders.tables import SETTINGS

LARGEST_BYTES = 200_000_000
LARGEST_RATIO = 200


def read_workbook(path: Path, source: Source) -> None:
    """All sheets of a workbook into the source."""
    if not _can_open(path, source):
        return
    from openpyxl import load_workbook

    book = load_workbook(path, data_only=True)
    formulas = load_workbook(path, data_only=False)
    for sheet in book.worksheets:
        _read_sheet(path, sheet, formulas[sheet.title], source)


def _can_open(path: Path, source: Source) -> bool:
    """Refuses what is no workbook, is locked with a password, or unpacks to far more than it is."""
    place = Place(str(path))
    with path.open("rb") as file:
        if file.read(8) == bytes.fromhex("d0cf11e0a1b11ae1"):
            source.problem("workbook-locked", place, "is locked with a password, or is an old .xls", "", "save it as .xlsx without a password")
            return False
    try:
        with zipfile.ZipFile(path) as archive:
            size = sum(entry.file_size for entry in archive.infolist())
    except (zipfile.BadZipFile, OSError):
        source.problem("workbook-broken", place, "is not an XLSX workbook", "", "save it again as .xlsx")
        return False
    if size > LARGEST_BYTES or size > LARGEST_RATIO * max(path.stat().st_size, 10_000):
        source.problem("workbook-large", place, f"unpacks to {size:,} bytes", f"At most {LARGEST_BYTES:,}.", "keep long logs in CSV files")
        return False
    return True


def _read_sheet(path: Path, sheet: Any, formulas: Any, source: Source) -> None:
    name = str(sheet.title)
    if sheet.merged_cells.ranges:
        first = str(next(iter(sheet.merged_cells.ranges)))
        source.problem("cells-merged", Place(str(path), sheet=name, cell=first), "cells are merged", "Each value has its own cell here.", "unmerge them")
        return
    rows = [Row(n, [_seen(c.value) for c in cells]) for n, cells in enumerate(sheet.iter_rows(), 1)]
    _formulas_without_value(path, sheet, formulas, source)
    rows = [r for r in rows if any(r.values) and not r.values[0].startswith("#")]
    if name.strip().lower() == "kitchen":
        _settings(path, name, rows[1:], source)
        return
    table = table_called(name, source, Place(str(path), sheet=name))
    if table is None or not rows:
        return
    columns = check_columns(table, rows[0].values, source, lambda n: Place(str(path), sheet=name, cell=f"row {rows[0].number}"))
    width = len(columns)
    data = [Row(r.number, [*r.values[:width], *[""] * (width - len(r.values))]) for r in rows[1:]]
    source.add(Sheet(table, str(path), columns, data, sheet=name))


def _formulas_without_value(path: Path, sheet: Any, formulas: Any, source: Source) -> None:
    for cells in formulas.iter_rows():
        for cell in cells:
            if cell.data_type == "f" and sheet[cell.coordinate].value is None:
                place = Place(str(path), sheet=str(sheet.title), cell=cell.coordinate)
                source.problem("formula-no-value", place, f"the formula {quoted(str(cell.value))} has no stored result", "", "open the workbook, let it calculate, save it")


def _settings(path: Path, name: str, rows: list[Row], source: Source) -> None:
    for row in rows:
        key = row.values[0].strip().lower()
        place = Place(str(path), sheet=name, cell=f"A{row.number}")
        if key not in SETTINGS:
            unknown_setting(key, place, source)
        elif len(row.values) > 1:
            source.settings[key] = Value(row.values[1], place)


def _seen(value: Any) -> str:
    """A cell's value as a person reads it; a date is ISO whatever the sheet's format."""
    if value is None:
        return ""
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time(0) else value.strftime("%Y-%m-%d %H:%M")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, time):
        return value.strftime("%H:%M")
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() else repr(value)
    return str(value)
