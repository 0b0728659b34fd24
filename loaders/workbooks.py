"""A kitchen in one XLSX workbook: the same tables as sheets, and a sheet `kitchen` with the settings."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from stillroom.db.problems import Place
from stillroom.loaders.source import (
    Row,
    Sheet,
    Source,
    Value,
    cell_name,
    check_columns,
    header_of,
    plain_name,
    set_setting,
    table_called,
)
from stillroom.loaders.tables import BY_NAME
from stillroom.loaders.xlsx_pages import Page, Reader

SETTINGS_SHEET = "kitchen"


def read_workbook(path: Path, source: Source) -> None:
    """All sheets of a workbook into the source."""
    pages = Reader(path, source).pages()
    for page in pages:
        if plain_name(page.name) == SETTINGS_SHEET:
            _settings(path, page, source)
    mark = source.settings["decimal mark"].text.strip() if "decimal mark" in source.settings else "."
    if mark == ",":  # a number in a sheet has no mark of its own: the kitchen's is written
        pages = Reader(path, Source(path), mark).pages()
    for page in pages:
        if plain_name(page.name) != SETTINGS_SHEET:
            _table(path, page, source)


def _table(path: Path, page: Page, source: Source) -> None:
    place = Place(str(path), sheet=page.name)
    if not page.rows and plain_name(page.name) not in BY_NAME:
        return  # the empty sheet that a spreadsheet begins with
    table = table_called(page.name, source, place)
    if table is None:
        return
    if not page.rows:
        source.problem("header-missing", place, "has no header", "", f"begin with: {header_of(table)}")
        source.partial.add(table.name)
        return
    number, header = page.rows[0]
    columns = check_columns(
        table, header, source, lambda n: Place(str(path), sheet=page.name, cell=cell_name(n or 0, number))
    )
    if columns is None:
        source.partial.add(table.name)
        return
    rows = list(_rows(path, page, len(columns), source, table.name))
    source.add(Sheet(table, str(path), columns, rows, sheet=page.name))


def _rows(path: Path, page: Page, width: int, source: Source, table: str) -> Iterator[Row]:
    for number, values in page.rows[1:]:
        beyond = next((n for n, value in enumerate(values) if n >= width and value.strip()), None)
        if beyond is None:
            yield Row(number, [*values[:width], *[""] * (width - len(values))])
        else:
            place = Place(str(path), sheet=page.name, cell=cell_name(beyond, number))
            what, fix = "something stands right of the last column", "give its column a header, or empty the cell"
            source.problem("row-long", place, what, "", fix)
            source.partial.add(table)


def _settings(path: Path, page: Page, source: Source) -> None:
    """The sheet `kitchen`: a setting and its value in each row, below a header or not."""
    for number, values in page.rows:
        if plain_name(values[0]) == "setting":
            continue
        name, value = cell_name(0, number), cell_name(1, number)
        said = Value(values[1] if len(values) > 1 else "", Place(str(path), sheet=page.name, cell=value))
        set_setting(values[0], Place(str(path), sheet=page.name, cell=name), said, source)
