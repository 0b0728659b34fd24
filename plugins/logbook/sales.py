"""Plates sold out of a till's own file, by a mapping in words: which column is what, which name which dish. Pure."""

from __future__ import annotations

import csv
import difflib
import io
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property

from stillroom.db.names import fold, once_called
from stillroom.db.quantity import ReadError, read_date, read_money, read_number

COLUMNS = ("dish", "plates", "day", "service", "sales")
NEEDED = ("dish", "plates")
LEAVE_OUT = "-"
MOST_ROWS, MOST_LETTERS, SHOWN = 20_000, 2_000_000, 40
EXAMPLE = """dish column = Item
plates column = Quantity
day column = Date
sales column = Net
date order = day month year
Brill BOTB = Brill on the bone, buttered samphire
Gift card = -
"""


def example_of(said: Mapping[str, str]) -> str:
    """The example in a kitchen's own order of dates: kept as it stands, it must not turn 3 April into 4 March."""
    order = said["date order"]
    return EXAMPLE if order == "ISO" else EXAMPLE.replace("day month year", order)



@dataclass(frozen=True)
class TillMap:
    """What a mapping says: kind of column -> its header, till's name (folded) -> dish or '-', order of dates."""

    columns: Mapping[str, str]
    dishes: Mapping[str, str]
    order: str = ""


@dataclass(frozen=True)
class Dishes:
    """What a till may sell. now: id -> name; had: id -> names that it had before, which a till may print still."""

    now: Mapping[str, str]
    had: Mapping[str, Sequence[str]] = field(default_factory=dict)

    @cached_property
    def by_name(self) -> dict[str, str]:
        return {fold(name): key for key, name in self.now.items()}

    @cached_property
    def by_earlier(self) -> dict[str, tuple[str, ...]]:
        pairs = ((name, key) for key, names in self.had.items() if key in self.now for name in names)
        return once_called(pairs, self.by_name)

    def find(self, typed: str, meant: str) -> str:
        """The id of a dish by its name, or by one that it alone had.

        Args:
            typed: as the till prints it; meant: as the mapping says it.

        Raises:
            ReadError: no dish, or several that had the name.
        """
        now, had = self.by_name.get(fold(meant)), self.by_earlier.get(fold(meant), ())
        if now is None and len(had) > 1:
            names = [self.now[key] for key in had]
            said = f"“{meant[:60]}” was the name of {' and of '.join(f'“{name}”' for name in names)}"
            lines = " or ".join(f"{typed[:60]} = {name}" for name in names)
            raise ReadError("dish", said, "", f"Add to the mapping: {lines}")
        found = now or next(iter(had), None)
        if found is None:
            raise ReadError("dish", _unknown(typed, meant, self.now))
        return found


@dataclass(frozen=True)
class Sold:
    """Plates of one dish in one service of a day. sales: money taken; None: the file does not say."""

    dish_id: str
    dish: str
    on: str
    service: str
    plates: int
    sales: Decimal | None


@dataclass(frozen=True)
class Till:
    """What a file came to: rows to write, names left out on purpose, and what can't be read.

    earlier: name that the till or the mapping says -> the present name of the dish that had it.
    """

    rows: Sequence[Sold] = ()
    left_out: Mapping[str, int] = field(default_factory=dict)
    problems: Sequence[str] = ()
    earlier: Mapping[str, str] = field(default_factory=dict)


def read_mapping(text: str) -> tuple[TillMap, list[str]]:
    """A mapping from its lines 'this = that', and what of it can't be read."""
    columns: dict[str, str] = {}
    dishes: dict[str, str] = {}
    order, problems = "", []
    for number, line in enumerate(text.splitlines(), 1):
        left, sign, right = (part.strip() for part in line.rpartition("="))
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        if not sign or not left or not right:
            problems.append(f"Line {number} of the mapping: write “this = that”.")
        elif left.lower().removesuffix(" column") in COLUMNS and left.lower().endswith(" column"):
            columns[left.lower().removesuffix(" column")] = right
        elif left.lower() == "date order":
            order = right
        else:
            dishes[fold(left)] = right
    missing = [name for name in NEEDED if name not in columns]
    problems += [f"The mapping does not say which column is the {name}: “{name} column = …”." for name in missing]
    return TillMap(columns, dishes, order), problems


def read_till(text: str, mapping: TillMap, dishes: Dishes, today: str, said: Mapping[str, str]) -> Till:
    """A till's file as plates sold; nothing of it is written where anything can't be read.

    Args:
        text: CSV, TSV, or with semicolons.
        mapping: which column is what.
        dishes: what may be sold, by present and earlier names.
        today: ISO date, taken where the file has no day.
        said: the kitchen's settings, for its decimal mark and order of dates.
    """
    if len(text) > MOST_LETTERS:
        return Till(problems=["The file is too long: send a month at a time."])
    try:
        rows = list(csv.reader(io.StringIO(text.replace("\x00", "")), delimiter=_delimiter(text)))
    except csv.Error as error:
        return Till(problems=[f"The file can't be read as a table: {error}."])
    head = next((n for n, row in enumerate(rows) if mapping.columns["dish"] in [cell.strip() for cell in row]), None)
    if head is None:
        return Till(problems=[f"No line of the file has the column “{mapping.columns['dish']}”."])
    names = [cell.strip() for cell in rows[head]]
    lost = [header for header in mapping.columns.values() if header not in names]
    if lost:
        return Till(
            problems=[f"The file has no column “{header}”. It has: {', '.join(names[:20])}." for header in lost]
        )
    places = {kind: names.index(header) for kind, header in mapping.columns.items()}
    return _summed(rows[head + 1 :], head + 2, places, mapping, dishes, (today, said))


def _delimiter(text: str) -> str:
    first = next((line for line in text.splitlines() if line.strip()), "")
    return max(",;\t", key=first.count)


def _summed(
    rows: Sequence[Sequence[str]], first: int, places: Mapping[str, int], mapping: TillMap, dishes: Dishes,
    day: tuple[str, Mapping[str, str]],
) -> Till:  # fmt: skip
    total: dict[tuple[str, str, str], tuple[int, Decimal | None]] = {}
    left_out: dict[str, int] = {}
    earlier: dict[str, str] = {}
    problems: list[str] = []
    for number, row in enumerate(rows[:MOST_ROWS], first):
        cells = {kind: row[place].strip() if place < len(row) else "" for kind, place in places.items()}
        if not cells["dish"]:
            continue
        meant = mapping.dishes.get(fold(cells["dish"]), cells["dish"])
        if meant == LEAVE_OUT:
            left_out[cells["dish"]] = left_out.get(cells["dish"], 0) + 1
            continue
        try:
            key = dishes.find(cells["dish"], meant)
            plates, sales, on = _cells(cells, mapping, day)
        except ReadError as error:
            problems.append(f"Line {number}: {error.what}. {error.do}".strip())
            continue
        if fold(meant) not in dishes.by_name:
            earlier[meant] = dishes.now[key]
        so_far, money = total.get((key, on, cells.get("service", "")), (0, None))
        both = sales if money is None else money + (sales or 0)
        total[key, on, cells.get("service", "")] = (so_far + plates, both)
    if len(rows) > MOST_ROWS:
        problems.append(f"More than {MOST_ROWS} lines: send a month at a time.")
    found = [Sold(k, dishes.now[k], on, service[:60], *sums) for (k, on, service), sums in sorted(total.items())]
    return Till(() if problems else found, left_out, list(dict.fromkeys(problems)), earlier)


def _cells(
    cells: Mapping[str, str], mapping: TillMap, day: tuple[str, Mapping[str, str]]
) -> tuple[int, Decimal | None, str]:
    today, said = day
    plates = read_number(cells["plates"][:60], said["decimal mark"])
    if plates.denominator != 1 or not 0 <= plates <= 100_000:
        raise ReadError("plates", f"“{cells['plates'][:30]}” is no number of plates")
    sales = read_money(cells["sales"][:60], said["decimal mark"]) if cells.get("sales") else None
    order = mapping.order or said["date order"]
    on = read_date(cells["day"].split(" ")[0][:20], order) if cells.get("day") else today
    if on > today:
        raise ReadError("day", f"{on} has not come yet")
    return int(plates), sales, on


def _unknown(typed: str, meant: str, dishes: Mapping[str, str]) -> str:
    said, name = typed[:60], nearest(meant, dishes.values())
    is_it = f"Add to the mapping the dish that it is: {said} = {name or 'name of the dish'}."
    return f"“{said}” is no dish here. {is_it} Where it is not a dish of ours: {said} = {LEAVE_OUT}"


def nearest(typed: str, names: Iterable[str]) -> str:
    """The dish most like a till's name: whole name, or the one that shares most of its words; '' where none does."""
    known = {fold(name): name for name in names}
    near = difflib.get_close_matches(fold(typed), list(known), 1, 0.6)
    if near:
        return known[near[0]]
    asked = _words(typed)
    shared = {name: sum(len(word) for word in asked & _words(name)) for name in known.values()}
    best = max(shared, key=lambda name: (shared[name], -len(name)), default="")
    return best if best and shared[best] * 2 >= sum(len(word) for word in asked) else ""


def _words(text: str) -> frozenset[str]:
    """Words of a name that tell it from others."""
    return frozenset(word for word in re.findall(r"\w+", fold(text)) if len(word) > 2)
