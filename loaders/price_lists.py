"""Suppliers' own price lists, CSV or XLSX under the supplier's headers, and the mapping that says which column is what.

file: saltby-2026-11.csv
supplier: Saltby Dairy
date: 2026-11-02
columns:
  product: Item Desc
  code: SKU
  pack: Pack Size
  price: Unit Price
price per: pack            # where no column says it
currency sign: "£"         # taken off the prices; there is one currency
sheet: November            # only of a workbook; otherwise its first that is not hidden
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path

from stillroom.db.names import fold
from stillroom.db.problems import Place, quoted
from stillroom.loaders.csv_files import DELIMITERS, BrokenRecord, delimiter_of, records, tell_broken
from stillroom.loaders.source import PriceList, Row, Sheet, Source, Value, nearest
from stillroom.loaders.table_shapes import Column, Table
from stillroom.loaders.text_files import can_read
from stillroom.loaders.xlsx_pages import Reader
from stillroom.loaders.yaml_nodes import documents, pairs, place_of, text_of
from yaml.nodes import MappingNode, Node

COLUMNS = ("product", "code", "pack", "price", "price per")
PRICE_LIST = Table("price list", "One line of a supplier's price list.", (
    Column("product", "text", "the supplier's name for it"),
    Column("code", "text", "the supplier's code"),
    Column("pack", "pack", "how it comes"),
    Column("price", "money", "asked price"),
    Column("price per", "text", "pack, a unit or a quantity: kg, lb, ea, 100 g"),
), ("code", "product"))  # fmt: skip
NEEDED = ("file", "supplier", "date", "columns")
KEYS = (*NEEDED, "price per", "currency sign", "sheet")
HEADER_WITHIN = 30  # rows; titles and addresses may stand above the header


@dataclass
class Mapping:
    """What a mapping file says."""

    path: Path
    said: dict[str, Value] = field(default_factory=dict)
    columns: dict[str, Value] = field(default_factory=dict)

    def text(self, key: str) -> str:
        return self.said[key].text.strip() if key in self.said else ""


def read_price_list(path: Path, folder: Path, source: Source) -> None:
    """One mapping file and the list it names, into the source."""
    for node in documents(path, source) or ():
        mapping = _mapping(path, node, source)
        listed = _file(mapping, folder, source) if mapping else None
        if mapping and listed:
            _list(mapping, listed, source)


def _mapping(path: Path, node: Node, source: Source) -> Mapping | None:
    mapping = Mapping(path)
    if not isinstance(node, MappingNode):
        source.problem(
            "yaml-shape",
            place_of(path, node),
            "is no mapping of a price list",
            "",
            f"write {', '.join(NEEDED)}",
        )
        return None
    before = len(source.problems)
    for name, key, value in pairs(path, node, source):
        if name not in KEYS:
            hint = nearest(name, KEYS) or f"Known here: {', '.join(KEYS)}."
            source.problem(
                "column-unknown",
                place_of(path, key),
                f"a price list has no {quoted(name)}",
                hint,
                "rename it, or take it out",
            )
        elif name == "columns":
            _columns(mapping, value, source)
        elif said := text_of(path, value, source):
            mapping.said[name] = said
    missing = [key for key in NEEDED if key != "columns" and not mapping.text(key)]
    if len(source.problems) == before and (
        missing or "price" not in mapping.columns or not {"code", "product"} & set(mapping.columns)
    ):
        words = ", ".join(missing) if missing else "in its columns the price, and the code or the product"
        source.problem("mapping-short", place_of(path, node), f"does not say: {words}", "", "add it")
    return mapping if len(source.problems) == before else None


def _columns(mapping: Mapping, node: Node, source: Source) -> None:
    if not isinstance(node, MappingNode):
        source.problem(
            "yaml-shape",
            place_of(mapping.path, node),
            "is no list of columns",
            "",
            "write `price: their header` on a line for each",
        )
        return
    for name, key, value in pairs(mapping.path, node, source):
        if name not in COLUMNS:
            hint = nearest(name, COLUMNS) or f"Columns: {', '.join(COLUMNS)}."
            what = f"a price list has no column {quoted(name)}"
            source.problem(
                "column-unknown", place_of(mapping.path, key), what, hint, "rename it, or take it out"
            )
        elif said := text_of(mapping.path, value, source):
            mapping.columns[name] = said


def _file(mapping: Mapping, folder: Path, source: Source) -> Path | None:
    """The list's file, beside its mapping; nothing outside the kitchen's folder."""
    said = mapping.said["file"]
    path = mapping.path.parent / said.text.strip()
    try:
        is_inside = not Path(said.text).is_absolute() and path.resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError, ValueError):
        is_inside = False
    if not is_inside:
        source.problem(
            "file-outside",
            said.place,
            f"{quoted(said.text)} leads out of the folder",
            "",
            "put the list beside its mapping",
        )
    elif not path.is_file():
        beside = nearest(path.name, [p.name for p in mapping.path.parent.iterdir()])
        source.problem(
            "file-missing",
            said.place,
            f"there is no file {quoted(said.text)} beside it",
            beside,
            "put the list beside its mapping",
        )
    else:
        return path
    return None


def _list(mapping: Mapping, path: Path, source: Source) -> None:
    sheet = (
        _workbook_sheet(mapping, path, source)
        if path.suffix.lower() == ".xlsx"
        else _csv_sheet(mapping, path, source)
    )
    if sheet is not None:
        source.price_lists.append(PriceList(mapping.said["supplier"], mapping.said["date"], sheet))


def _csv_sheet(mapping: Mapping, path: Path, source: Source) -> Sheet | None:
    if not can_read(path, source):
        return None
    try:
        delimiter = _delimiter(mapping, path)
        found = _header(mapping, str(path), records(path, delimiter), source)
    except BrokenRecord as broken:
        tell_broken(path, broken, source)
        return None
    return found and _sheet(mapping, path, found, _CsvLines(path, delimiter, source), None)


def _delimiter(mapping: Mapping, path: Path) -> str:
    """What parts the cells where the headers stand: a title above them may hold more commas than they do semicolons."""
    wanted = {fold(value.text) for value in mapping.columns.values()}
    delimiters: tuple[str, ...] = (delimiter_of(path), *DELIMITERS)
    for delimiter in delimiters:
        try:
            rows = islice(records(path, delimiter), HEADER_WITHIN)
            if any(wanted <= {fold(cell) for cell in cells} for _, cells in rows):
                return delimiter
        except BrokenRecord:
            continue
    return delimiters[0]


def _workbook_sheet(mapping: Mapping, path: Path, source: Source) -> Sheet | None:
    before = len(source.problems)
    pages = Reader(path, source, merged=True).pages()
    wanted = fold(mapping.text("sheet"))
    seen = [p for p in pages if (fold(p.name) == wanted if wanted else not p.is_hidden)]
    page = seen[0] if seen else None
    if page is None:
        if len(source.problems) == before:
            names = ", ".join(quoted(p.name) for p in pages)
            place = mapping.said["sheet"].place if wanted else Place(str(path))
            source.problem(
                "sheet-missing",
                place,
                f"there is no such sheet in {path.name}",
                f"Sheets: {names}.",
                "name one of them",
            )
        return None
    found = _header(mapping, f'{path}, sheet "{page.name}"', page.rows, source)
    return found and _sheet(mapping, path, found, page.rows, page.name)


def _header(
    mapping: Mapping, where: str, rows: Iterable[tuple[int, Sequence[str]]], source: Source
) -> tuple[int, list[str]] | None:
    """The row that holds every header the mapping names; the nearest miss says what is not there."""
    wanted = {fold(value.text): value for value in mapping.columns.values()}
    best: Sequence[str] = ()
    for (number, values), _ in zip(rows, range(HEADER_WITHIN), strict=False):
        cells = [fold(v) for v in values]
        if wanted.keys() <= set(cells):
            twice = [value for key, value in wanted.items() if cells.count(key) > 1]
            for value in twice:
                _twice(value, where, number, source)
            return None if twice else (number, list(values))
        if len(wanted.keys() & set(cells)) > len(wanted.keys() & {fold(v) for v in best}) or not best:
            best = values
    headers = {fold(v): v for v in best if v.strip()}
    for key, value in wanted.items():
        if key not in headers:
            near = difflib.get_close_matches(key, headers, 1, 0.6)
            hint = (
                f'Nearest: "{headers[near[0]]}".'
                if near
                else f"Columns there: {', '.join(headers.values())}."
            )
            source.problem(
                "column-unknown",
                value.place,
                f"there is no column {quoted(value.text)} in {where}",
                hint,
                "write the header as the list has it",
            )
    if headers.keys() >= wanted.keys():
        source.problem(
            "header-missing",
            Place(str(mapping.path)),
            f"no row of {where} holds all the headers",
            "",
            "look at the list",
        )
    return None


def _twice(header: Value, where: str, row: int, source: Source) -> None:
    """Two columns of one header: nobody can tell which of them is meant."""
    source.problem(
        "column-twice",
        header.place,
        f"{quoted(header.text)} is the header of more than one column in {where}, row {row}",
        "Which of them is meant can't be told.",
        "give the one that is meant another header there, and write that here",
    )


def _sheet(
    mapping: Mapping,
    path: Path,
    header: tuple[int, list[str]],
    lines: Iterable[tuple[int, Sequence[str]]],
    name: str | None,
) -> Sheet:
    """The list under our names for its columns; columns that the mapping does not name keep the supplier's."""
    number, theirs = header
    ours = {fold(value.text): column for column, value in mapping.columns.items()}
    columns = [ours.pop(fold(text), f"{text} (not read)") for text in theirs]
    constant = mapping.text("price per") if "price per" not in mapping.columns else ""
    if constant:
        columns.append("price per")
    rows = _Lines(lines, number, len(theirs), constant, columns.index("price"), mapping.text("currency sign"))
    headers = {column: value.text for column, value in mapping.columns.items()}
    return Sheet(PRICE_LIST, str(path), columns, rows, name, headers)


@dataclass(frozen=True)
class _CsvLines:
    """The records of a list, read anew each time."""

    path: Path
    delimiter: str
    source: Source

    def __iter__(self) -> Iterator[tuple[int, Sequence[str]]]:
        try:
            yield from records(self.path, self.delimiter)
        except BrokenRecord as broken:
            if not any(p.place == Place(str(self.path), line=broken.line) for p in self.source.problems):
                tell_broken(self.path, broken, self.source)


@dataclass(frozen=True)
class _Lines:
    """The rows below the header; lines without a price are headings of the supplier's, and left out."""

    lines: Iterable[tuple[int, Sequence[str]]]
    header: int
    width: int
    constant: str
    price: int
    sign: str

    def __iter__(self) -> Iterator[Row]:
        for number, cells in self.lines:
            if number <= self.header or len(cells) <= self.price or not cells[self.price].strip():
                continue
            values = [
                *cells[: self.width],
                *[""] * (self.width - len(cells)),
                *([self.constant] if self.constant else []),
            ]
            if self.sign:
                values[self.price] = values[self.price].replace(self.sign, "").strip()
            yield Row(number, values)
