"""Cells into values: every kind of column read by one function, every mistake one problem, and names into ids."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

from stillroom.db import quantity as q
from stillroom.db.exact import exact_text
from stillroom.db.names import fold, near_hint, near_names, slug
from stillroom.db.problems import Place, Problem, quoted
from stillroom.db.recipe_lines import in_base_unit
from stillroom.db.units import two_sizes
from stillroom.loaders.source import Aside, Row, Sheet, Source
from stillroom.loaders.table_shapes import Column
from stillroom.loaders.tables import BY_NAME

Record = dict[str, Any]
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
SHIPPED = {"allergens", "cooking_minimums", "holding_rules"}
JOINED = re.compile(r"\s*(?:[,/+&\n]|\band\b)\s*")  # how people part the names of a list, where a semicolon is read
NOTHING = {"none", "no", "nil", "n/a", "na", "-", "–", "—", "0", "x", "nothing"}  # written where there is none
SYSTEMS = {"US": "US", "metric": "metric", "imperial": "imperial"}


@dataclass(frozen=True)
class Known:
    """A name that other rows may use: which table, its id, its base unit and measures where it has them, and its place.

    batch is what one batch of a recipe, or one pack of a product, holds. of is the item that a product is.
    """

    table: str
    id: str
    name: str
    place: Place
    unit: str = ""
    measures: dict[str, Fraction] = field(default_factory=dict)
    batch: Fraction | None = None
    of: Known | None = None


@dataclass
class Load:
    """One load under way: what was said, what is known by name, the rows to be written, and the problems met.

    photos: pictures made small by an earlier load (`loaders.photos`), by the hash of their files.
    asides: what stands behind the names in recipe lines (`loaders.line_check`).
    several: words that mean more than one thing of a kind, with the names of those.
    earlier: names that recipes of the kitchen's file had (`loaders.recipe_names`), with the recipe's id.
    """

    source: Source
    settings: dict[str, str]
    now: str = ""
    names: dict[str, dict[str, Known]] = field(default_factory=dict)
    found: dict[tuple[str, str], Known] = field(default_factory=dict)
    ids: dict[str, dict[str, Known]] = field(default_factory=dict)
    rows: dict[str, list[Record]] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    failed: set[str] = field(default_factory=set)
    alike: dict[tuple[str, str], list[Place]] = field(default_factory=dict)
    asides: list[Aside] = field(default_factory=list)
    several: dict[tuple[str, str], list[str]] = field(default_factory=dict)
    photos: Mapping[str, Any] = field(default_factory=dict)
    earlier: Sequence[tuple[str, str]] = ()

    @property
    def count(self) -> int:
        """Rows that are not in a log."""
        return sum(map(len, self.rows.values()))

    @property
    def latest(self) -> str:
        """The last day that may have begun anywhere: the clock's next day, or the kitchen's own `today`."""
        day = date.fromisoformat(self.now[:10]) + timedelta(days=1)
        return max(day.isoformat(), self.settings["today"])

    @property
    def mark(self) -> str:
        return self.settings["decimal mark"]

    @property
    def system(self) -> str:
        return SYSTEMS.get(self.settings["units"], "US")

    def add(self, table: str, record: Record) -> None:
        self.rows.setdefault(table, []).append(record)

    def problem(
        self, code: str, place: Place, what: str, why: str = "", fix: str = "", severity: Any = "error"
    ) -> None:
        self.problems.append(Problem(code, place, what, why, fix, severity))

    def error(self, place: Place, error: q.ReadError) -> None:
        self.problem(error.code, place, error.what, error.why, error.fix)

    def cells(self, table: str) -> Iterator[Cells]:
        """Every row of a table that is not a log, wherever it was written."""
        for sheet in self.source.sheets.get(table, []):
            if not isinstance(sheet.rows, list):
                sheet.rows = list(sheet.rows)
            view = View(sheet)
            for row in sheet.rows:
                if any(value.strip() for value in row.values):
                    yield Cells(self, view, row)

    def register(self, known: Known, *kinds: str) -> bool:
        """Gives a name to the rows that follow; a name or id taken already is a problem that cites both places."""
        key = fold(known.name)
        for kind in kinds:
            taken = self.names.setdefault(kind, {}).get(key)
            twin = taken or self.ids.setdefault(kind, {}).get(known.id)
            if twin is not None:
                self.problem(
                    "name-twice", known.place, f"{quoted(known.name)} is there already", f"First at {twin.place}.",
                    "give one of them another name",
                )  # fmt: skip
                self.failed.add(key)
                return False
        for kind in kinds:
            self.names[kind][key] = self.ids[kind][known.id] = known
        return True

    def find(self, kind: str, text: str) -> Known | None:
        """The row that a name means; names that failed to load themselves are passed over in silence."""
        known = self.found.get((kind, text))
        if known is None:
            known = self.names.get(kind, {}).get(fold(text)) or gone(kind, text)
            if known is not None:
                self.found[kind, text] = known
        return known

    def need(self, kind: str, text: str, place: Place) -> Known | None:
        """`find`, with a problem that names the nearest where there is none."""
        known = self.find(kind, text)
        if known is None and not self.is_told(kind, text):
            names = self.names.get(kind, {})
            near = dict.fromkeys(names[one].name for one in near_names(text, names))
            self.unknown(kind, text, list(near), place)
        return known

    def is_told(self, kind: str, text: str) -> bool:
        """Whether a missing name is told elsewhere: it failed to load, or its table could not be read whole."""
        return fold(text) in self.failed or not self.source.partial.isdisjoint(kind.split(" or "))

    def unknown(self, kind: str, text: str, near: Sequence[str], place: Place) -> None:
        """A problem: nothing has this name; near are those that may be meant."""
        shipped = kind in SHIPPED
        fix = f"use one of those in db/reference/{kind}.csv" if shipped else f"add it to {kind}, or mend the spelling"
        self.problem("name-unknown", place, f"there is no {quoted(text)} in {kind}", near_hint(near), fix)

    def ask_pint(self, unit_text: str, own: Mapping[str, Fraction], place: Place) -> None:
        """Warns of a pint in a British kitchen that has not said that its pints are imperial: it is the US one."""
        is_asked = (self.settings["regime"], self.settings["units"]) == ("UK", "metric") and unit_text not in own
        if is_asked and (sizes := two_sizes(unit_text)):
            what, why = f"{quoted(unit_text)} is read as the US one, {sizes[0]}", f"The British one is {sizes[1]}."
            self.problem("unit-two-sizes", place, what, why, "write ml or l, or units: imperial in settings", "warning")

    def in_unit(self, known: Known, number: Fraction, unit_text: str, place: Place) -> Fraction | None:
        """A quantity in the base unit of an item or recipe, or a problem."""
        try:
            return in_base_unit(known, number, unit_text, self.system)
        except q.ReadError as error:
            self.error(place, error)
            return None


ONE_OF = {
    "items": "item", "recipes": "recipe", "suppliers": "supplier", "stations": "station", "products": "product",
    "trials": "trial", "people": "person",
}  # fmt: skip
GONE = re.compile(rf"\[({'|'.join(ONE_OF.values())}) ([^\[\]]+?)(?: in (g|ml|each))?\]")


def gone(kind: str, text: str) -> Known | None:
    """What a log names that the files no longer hold, by its id and base unit: '[item old-saddle in g]'.

    Written when a kitchen is written out as files: an entry outlives the thing that it is about.
    """
    found = GONE.fullmatch(text.strip())
    table = next((table for table in kind.split(" or ") if found and ONE_OF.get(table) == found[1]), None)
    if found is None or table is None:
        return None
    return Known(table, found[2], text, Place("an entry of old"), found[3] or "")


class View:
    """A sheet with its columns at hand: by name, and where in a row each stands."""

    def __init__(self, sheet: Sheet) -> None:
        self.sheet = sheet
        self.columns = {column.name: column for column in sheet.table.columns}
        self.index = {name: place for place, name in reversed(list(enumerate(sheet.columns)))}


class Cells:
    """One row: `row["par"]` is the value read by its column's kind, None where it is empty or a problem was told."""

    def __init__(self, load: Load, sheet: Sheet | View, row: Row) -> None:
        self.load, self.row = load, row
        self.view = sheet if isinstance(sheet, View) else View(sheet)
        self.columns = self.view.columns
        self.ok = True

    def text(self, name: str) -> str:
        """The cell as typed, white space at its ends off."""
        index = self.view.index.get(name)
        return "" if index is None else self.row.values[index].strip()

    def place(self, name: str | None = None) -> Place:
        return self.view.sheet.place(self.row, name)

    def __getitem__(self, name: str) -> Any:
        column, text = self.columns[name], self.text(name)
        if not text:
            if column.required and name not in self.view.index:
                self.ok = False  # told once, of the header
            elif column.required:
                self.problem("cell-empty", name, f"{quoted(name)} is empty", f"It says: {column.note}.", "fill it in")
            return None
        try:
            return READERS[column.kind](text, column, self)
        except q.ReadError as error:
            self.problem(error.code, name, error.what, error.why, error.fix)
            return None

    def problem(self, code: str, name: str | None, what: str, why: str = "", fix: str = "") -> None:
        self.ok = False
        self.load.problem(code, self.place(name), what, why, fix)

    def ref(self, name: str) -> Known | None:
        """The row that a reference names."""
        text, column = self.text(name), self.columns[name]
        if not text:
            self[name]
            return None
        known = self.load.need(column.to, text, self.place(name))
        self.ok = self.ok and known is not None
        return known

    def known(self, name: str) -> Known | None:
        """The row that a reference names, where another column tells if there is none."""
        text = self.text(name)
        found = self.load.find(self.columns[name].to, text) if text else None
        self.ok = self.ok and (found is not None or not text)
        return found

    def refs(self, name: str) -> list[Known]:
        """The rows that a list names."""
        found = [self._part(name, part) for part in self[name] or ()]
        self.ok = self.ok and None not in found
        return [known for known in found if known is not None]

    def _part(self, name: str, part: str) -> Known | None:
        """One name of a list; the commonest slips of a list are told by how to mend them."""
        kind = self.columns[name].to
        known = self.load.find(kind, part)
        if known is not None:
            return known
        parts = [word for word in JOINED.split(part) if word]
        several = self.load.several.get((kind, fold(part)), [])
        if fold(part) in NOTHING:
            fix = "leave the cell empty where there is none"
            self.problem("name-unknown", name, f"{quoted(part)} is no name", "", fix)
        elif several:
            what = f"{quoted(part)} means more than one thing in {kind}"
            fix = f"write those that are meant: {'; '.join(several)}"
            self.problem("name-several", name, what, near_hint(several), fix)
        elif len(parts) > 1 and all(self.load.find(kind, word) for word in parts):
            what, why = f"{quoted(part)} is read as one name", "Several are parted by semicolons here."
            self.problem("name-unknown", name, what, why, f"write {'; '.join(parts)}")
        else:
            return self.load.need(kind, part, self.place(name))
        return None

    def quantity_of(self, name: str, known: Known | None, zero: bool = False) -> Fraction | None:
        """A quantity in the base unit of what it is of; above zero unless `zero`."""
        said = self[name]
        if said is None or known is None:
            return None
        if said.number < 0 or (said.number == 0 and not zero):
            words = "is below zero" if zero else "is not above zero"
            fix = "write how much there is, 0 if nothing" if zero else "write how much there is"
            self.problem("quantity-low", name, f"{quoted(self.text(name))} {words}", "", fix)
            return None
        amount = self.load.in_unit(known, said.number, said.unit_text, self.place(name))
        self.ok = self.ok and amount is not None
        return amount

    def silently(self, name: str, known: Known | None) -> Fraction | None:
        """`quantity_of` where another column tells what is wrong with it."""
        try:
            said = q.read_quantity(self.text(name), self.load.mark)
            return None if known is None else in_base_unit(known, said.number, said.unit_text, self.load.system)
        except q.ReadError:
            return None


def named(cells: Cells, table: str, *also: str) -> Known | None:
    """Registers a row's own name; None where it has none or it is taken."""
    name = cells["name"]
    if not name:
        return None
    known = Known(table, slug(name), " ".join(name.split()), cells.place("name"))
    return known if cells.load.register(known, table, *also) else None


def texts(cells: Cells, **columns: str) -> Record:
    """Plain text columns: database column -> header."""
    return {key: cells[name] or "" for key, name in columns.items()}


def exact_or_none(number: Fraction | None) -> str | None:
    return None if number is None else exact_text(number)


def _choice(text: str, column: Column, _: Cells) -> str:
    plain = text.lower()
    if plain not in column.allowed:
        near = difflib.get_close_matches(plain, column.allowed, 1, 0.6)
        hint = f' Nearest: "{near[0]}".' if near else ""
        raise q.ReadError(
            "choice-unknown", f"{quoted(text)} is none of the words allowed here",
            f"Allowed: {', '.join(column.allowed)}.{hint}", "use one of these",
        )  # fmt: skip
    return plain


def _yes(text: str, column: Column, _: Cells) -> int:
    if text.lower() not in {"yes", "no", "y", "n"}:
        raise q.ReadError("yes-no", f"{quoted(text)} is neither yes nor no", "", "write yes or no")
    return int(text.lower().startswith("y"))


def _weekdays(text: str, column: Column, _: Cells) -> str:
    words = [w[:3].lower() for w in text.replace(",", " ").replace(";", " ").split()]
    wrong = [w for w in words if w not in WEEKDAYS]
    if wrong:
        raise q.ReadError(
            "weekday-unknown",
            f"{quoted(wrong[0])} is no weekday",
            f"Known: {', '.join(WEEKDAYS)}.",
            "write mon wed fri",
        )
    return "".join(sorted(str(WEEKDAYS.index(w) + 1) for w in words))


def _whole(text: str, column: Column, cells: Cells) -> int:
    number = q.read_number(text, cells.load.mark)
    if number.denominator != 1 or number < 0:
        raise q.ReadError("whole-bad", f"{quoted(text)} is not a whole number", "", "write 0, 1, 2 ...")
    return int(number)


READERS: dict[str, Callable[[str, Column, Cells], Any]] = {
    "text": lambda text, column, cells: text,
    "name": lambda text, column, cells: text,
    "ref": lambda text, column, cells: text,
    "line": lambda text, column, cells: text,
    "quantity": lambda text, column, cells: q.read_quantity(text, cells.load.mark),
    "pack": lambda text, column, cells: q.read_pack(text, cells.load.mark),
    "number": lambda text, column, cells: q.read_number(text, cells.load.mark),
    "whole": _whole,
    "percent": lambda text, column, cells: q.read_share(text, cells.load.mark),
    "money": lambda text, column, cells: q.read_money(text, cells.load.mark),
    "date": lambda text, column, cells: q.read_date(text, _date_order(cells)),
    "instant": lambda text, column, cells: q.read_instant(text, cells.load.settings["time zone"], _date_order(cells)),
    "clock": lambda text, column, cells: q.read_clock(text),
    "span": lambda text, column, cells: q.read_span(text),
    "temperature": lambda text, column, cells: q.read_temperature(text, cells.load.mark),
    "length": lambda text, column, cells: q.read_length(text, cells.load.mark),
    "yes": _yes,
    "choice": _choice,
    "list": lambda text, column, cells: [part.strip() for part in text.split(";") if part.strip()],
    "weekdays": _weekdays,
}


def _date_order(cells: Cells) -> str:
    return cells.load.settings["date order"]


def unique(load: Load, table: str) -> None:
    """A row whose key stands twice is a problem that cites both places."""
    spec = BY_NAME[table]
    seen: dict[tuple[str, ...], Place] = {}
    for cells in load.cells(table):
        key = tuple(fold(cells.text(name)) for name in spec.key)
        here = cells.place(spec.key[0])
        first = seen.setdefault(key, here)
        if any(key) and first is not here:
            what = " and ".join(quoted(cells.text(name)) for name in spec.key if cells.text(name))
            load.problem("row-twice", here, f"{what} stands twice in {table}", f"First at {first}.", "keep one of them")
