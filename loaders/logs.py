"""Log tables from files: deliveries, counts, batches and the rest. Each row gets an id made from what it says.

A kitchen's log says the same things over and over, so every column is read once for each distinct text it was read from
and remembered: see `Memo`. The list of fields below says which cells a column depends on; nothing else may be read.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from operator import itemgetter
from typing import Any

from stillroom.db.names import slug
from stillroom.db.pieces import UNLIKELY_START_H
from stillroom.db.problems import Place, quoted
from stillroom.loaders.log_fields import COMMON, FIELDS, Field
from stillroom.loaders.read import Cells, Known, Load, View
from stillroom.loaders.source import Row, Sheet
from stillroom.loaders.stage import Stage

REMEMBERED = 50_000
SHOWN = 1000
Key = Callable[[Sequence[str]], Any]


@dataclass
class Work:
    """The row under way."""

    load: Load
    view: View
    row: Row
    is_bad: bool = False


class Memo(dict[Any, Any]):
    """The values of one column by the text of the cells that it is read from; a new text is read, a bad one told."""

    def __init__(self, entry: Field, work: Work) -> None:
        self.entry, self.work = entry, work

    def __missing__(self, key: Any) -> Any:
        cells = Cells(self.work.load, self.work.view, self.work.row)
        value = self.entry.value(cells)
        if not cells.ok:
            self.work.is_bad = True
            return None
        if len(self) >= REMEMBERED:
            self.clear()
        self[key] = value
        return value


class Alike(dict[str, Any]):
    """Name of an item or recipe -> a number shared by all that are reckoned alike: same unit, measures and batch."""

    def __init__(self, load: Load, kind: str) -> None:
        self.load, self.kind = load, kind
        self.kinds: dict[Any, int] = {}

    def __missing__(self, name: str) -> Any:
        known = self.load.find(self.kind, name.strip())
        if known is None:
            return name
        alike = (known.unit, known.batch, frozenset(known.measures.items()))
        number = self[name] = self.kinds.setdefault(alike, len(self.kinds))
        return number


class Stripped(dict[Any, Any]):
    """Plain text: as typed, white space at its ends off, nothing remembered."""

    def __missing__(self, key: str) -> str:
        return key.strip()


@dataclass
class Seen:
    """Ids met in one table, and whether any row brought its own."""

    made: set[int] = field(default_factory=set)
    has_own: bool = False


def load_logs(load: Load, stage: Stage, tell: Callable[[str], None]) -> None:
    """Rows of all log tables into the stage."""
    for name, fields in FIELDS.items():
        sheets = load.source.sheets.get(name, [])
        if not sheets:
            continue
        table, seen = name.replace(" ", "_"), Seen()
        stage.make(
            table,
            [entry.column for entry in (*fields, *COMMON)] + ["request_id", "row_number", "sheet_number", "is_kept"],
        )
        for number, sheet in enumerate(sheets):
            if all(c.name in sheet.columns for c in sheet.table.columns if c.required):
                _read_sheet(load, sheet, number, seen, stage, tell)
        if seen.has_own:
            _check_ids(load, table, sheets, stage)
    _check_together(load, stage)


def _check_together(load: Load, stage: Stage) -> None:
    """What rows of the log tables that were met say of each other."""
    for tables, check in (
        ({"batches", "batch_uses"}, _check_lots), ({"deliveries", "ageing_lots"}, _check_receipts),
        ({"deliveries"}, _check_credits), ({"trial_versions"}, _check_versions), ({"cooling_readings"}, _check_starts),
    ):  # fmt: skip
        if tables <= stage.counts.keys():
            check(load, stage)


def register_trials(load: Load) -> None:
    """Gives every trial its name, so that tastings may say it; a trial of a dish goes by the dish's."""
    kind = "recipes or trials"
    load.names[kind], load.ids[kind] = dict(load.names.get("recipes", {})), dict(load.ids.get("recipes", {}))
    for cells in load.cells("trial versions"):
        name = " ".join(cells.text("trial").split())
        if name and load.find(kind, name) is None:
            load.register(Known("trials", slug(name), name, cells.place("trial")), kind)


def _read_sheet(load: Load, sheet: Sheet, number: int, seen: Seen, stage: Stage, tell: Callable[[str], None]) -> None:
    """One sheet's rows; columns that the sheet does not have are the same on every row."""
    work = Work(load, View(sheet), Row(0, [""] * len(sheet.columns)))
    fields = (*FIELDS[sheet.table.name], *COMMON)
    present = [entry for entry in fields if entry.leads in work.view.index]
    same = {e.column: e.value(Cells(load, work.view, work.row)) for e in fields if e not in present}
    same["sheet_number"] = number
    fixed = {column: value for column, value in same.items() if value is not None}
    columns = [*(e.column for e in present), "request_id", "row_number", *fixed]
    plan = [(_key(e, work), Stripped() if e.is_plain else Memo(e, work)) for e in present]
    table = sheet.table.name.replace(" ", "_")
    stage.fill(table, columns, _rows(work, plan, tuple(fixed.values()), table, seen), tell)


def _key(entry: Field, work: Work) -> Key:
    """What a column's value depends on, out of a row."""
    view = work.view
    reads = [
        header
        for header in entry.reads
        if header in view.index and header != entry.of and not (entry.if_given and header == entry.leads)
    ]
    cells: Key = itemgetter(*(view.index[header] for header in reads))
    if entry.of:
        alike, item = Alike(work.load, view.columns[entry.of].to), view.index[entry.of]
        return lambda values: (cells(values), alike[values[item]])
    if entry.if_given:
        given = view.index[entry.leads]
        return lambda values: cells(values) if values[given].strip() else None
    return cells


def _rows(
    work: Work, plan: Sequence[tuple[Key, dict[Any, Any]]], fixed: tuple[Any, ...], table: str, seen: Seen
) -> Iterator[tuple[Any, ...]]:
    """Checked rows. The id of a row from a file is made of its text, so that a load is repeatable."""
    own = work.view.index.get("request id")
    sha256, known = hashlib.sha256, seen.made
    for row in work.view.sheet.rows:
        values = row.values
        if not values[0] and not any(value.strip() for value in values):
            continue
        work.row, work.is_bad = row, False
        out = [memo[key(values)] for key, memo in plan]
        if work.is_bad:
            continue
        if own is not None and values[own].strip():
            made, seen.has_own = values[own].strip(), True
        else:
            said = "\x1f".join((table, *values))
            digest = sha256(said.encode()).digest()
            while (short := int.from_bytes(digest[:7])) in known:
                digest = sha256(digest).digest()
            known.add(short)
            made = digest[:16].hex()
        yield (*out, made, row.number, *fixed)


def _check_ids(load: Load, table: str, sheets: list[Sheet], stage: Stage) -> None:
    """Rows that bring their own id: no two alike, and a row that corrects another names one that is there."""
    db = stage.connection
    db.execute(f"create index {table}_own on {table} (request_id)")
    twice = f"""
        select later.request_id, later.sheet_number, later.row_number, min(first.sheet_number), min(first.row_number)
        from {table} as later join {table} as first on first.request_id = later.request_id and first.rowid < later.rowid
        group by later.rowid limit {SHOWN}
    """
    for said, sheet, row, first_sheet, first_row in db.execute(twice):
        first = _place(sheets[first_sheet], first_row, "request id")
        load.problem(
            "row-twice", _place(sheets[sheet], row, "request id"),
            f"the request id {quoted(said)} stands twice in {table}",
            f"First at {first}.", "keep one of them",
        )  # fmt: skip
    lost = f"""
        select voids_said, sheet_number, row_number from {table}
        where voids_said <> '' and voids_said not in (select request_id from {table}) limit {SHOWN}
    """
    for said, sheet, row in db.execute(lost):
        load.problem(
            "voids-unknown", _place(sheets[sheet], row, "voids"),
            f"no row of {table} has the request id {quoted(said)}", "",
            "write the request id of the row that this one corrects",
        )  # fmt: skip
    _refuse_ring(load, table, sheets, stage)


def _refuse_ring(load: Load, table: str, sheets: list[Sheet], stage: Stage) -> None:
    """Rows that correct each other in a ring: none of them would be the last word."""
    question = f"select request_id, voids_said, sheet_number, row_number from {table} where voids_said <> ''"
    rows = {said: (voids, sheet, row) for said, voids, sheet, row in stage.connection.execute(question)}
    cleared: set[str] = set()
    for begun in rows:
        on_the_way: dict[str, None] = {}
        here = begun
        while here in rows and here not in cleared and here not in on_the_way:
            on_the_way[here] = None
            here = rows[here][0]
        if here in on_the_way:
            _, sheet, row = rows[here]
            load.problem(
                "voids-ring", _place(sheets[sheet], row, "voids"),
                f"the row {quoted(here)} of {table} corrects, by way of others, itself", "",
                "leave voids empty in the row that was written first",
            )  # fmt: skip
        cleared.update(on_the_way)


def _check_lots(load: Load, stage: Stage) -> None:
    """A use of a batch names a lot that was made."""
    lost = f"""
        select lot_said, sheet_number, row_number from batch_uses
        where lot_said <> '' and recipe_id is not null and lot_said not in (select lot_code from batches)
            and lot_said not like '[batch %]' limit {SHOWN}
    """
    _warn_of_lots(load, stage.connection.execute(lost), "batch uses", "lot", ("lot-unknown", "no batch has the lot"))


def _check_receipts(load: Load, stage: Stage) -> None:
    """A piece that ages names goods that came in: that item, under that lot code."""
    lost = f"""
        select delivery_said, sheet_number, row_number from ageing_lots as lot
        where delivery_said <> '' and not exists (
            select 1 from deliveries as came where came.request_id = lot.delivery_said
            or (came.lot_code = lot.delivery_said and came.item_id = lot.item_id)
        ) limit {SHOWN}
    """
    said = ("receipt-unknown", "no delivery of this item has the lot")
    _warn_of_lots(load, stage.connection.execute(lost), "ageing lots", "delivery", said)


def _check_credits(load: Load, stage: Stage) -> None:
    """A credit names a document of its supplier with goods of its item."""
    lost = f"""
        select credits, sheet_number, row_number from deliveries
        where credits <> '' and (supplier_id, item_id, credits) not in (
            select supplier_id, item_id, document from deliveries where kind = 'goods' and document <> ''
        ) limit {SHOWN}
    """
    said = ("credit-unknown", "the supplier brought none of this item with the document")
    for document, sheet, row in stage.connection.execute(lost):
        place = _place(load.source.sheets["deliveries"][sheet], row, "credits")
        fix = "mend the document, or leave it empty: as it is, the credit comes off no goods"
        load.problem(said[0], place, f"{said[1]} {quoted(document)}", "", fix, "warning")


def _warn_of_lots(
    load: Load, lost: Iterable[tuple[str, int, int]], name: str, header: str, said: tuple[str, str]
) -> None:
    """Lots (code, sheet, row) under a header of a log's sheets that nothing has. said: the problem's code and words."""
    for lot, sheet, row in lost:
        place = _place(load.source.sheets[name][sheet], row, header)
        load.problem(said[0], place, f"{said[1]} {quoted(lot)}", "", "mend the lot, or leave it empty", "warning")


def _check_versions(load: Load, stage: Stage) -> None:
    """A trial has one version of a number."""
    twice = """
        select trial, version, sheet_number, max(row_number) from trial_versions
        where stands = 1 and coalesce(voids_said, '') = '' group by trial_id, version having count(*) > 1
    """
    for trial, version, sheet, row in stage.connection.execute(twice):
        load.problem(
            "row-twice", _place(load.source.sheets["trial versions"][sheet], row, "version"),
            f"version {version} of {quoted(trial)} stands twice in trial versions", "",
            "give the later one the next number",
        )  # fmt: skip


# Rows that count and say when a cooling clock began, each with its log's first reading and last word on the rule.
STARTS = f"""
    with counted as materialized (
        select rowid as place, * from cooling_readings as said where stands = 1
            and request_id not in (select voids_said from cooling_readings where voids_said <> '')
    ), first as (select log_code, min(read_at) as read_at from counted group by log_code),
    last as (select log_code, rule, max(place) from counted where rule <> '' group by log_code)
    select c.sheet_number, c.row_number, c.log_code, c.origin, c.started_at > first.read_at as is_late,
        coalesce(last.rule, 'cooked') = 'cooked' as is_cooked,
        strftime('%s', first.read_at) - strftime('%s', c.started_at) > {UNLIKELY_START_H} * 3600 as is_early
    from counted as c join first on first.log_code = c.log_code left join last on last.log_code = c.log_code
    where c.started_at is not null and (is_late or is_cooked or is_early) order by c.place limit {SHOWN}
"""


def _check_starts(load: Load, stage: Stage) -> None:
    """A cooling clock began no later than it was first read, and of food that was not cooked; long before is told.

    What was written down in the browser is in the kitchen's file already: it is told, and refuses no load.
    """
    for sheet, row, code, origin, is_late, is_cooked, is_early in stage.connection.execute(STARTS):
        place = _place(load.source.sheets["cooling readings"][sheet], row, "started at")
        worst = "error" if origin == "file" else "warning"
        if is_late:
            load.problem(
                "start-late", place, f"{quoted(code)} was read before that", "A cooling clock starts with the first"
                " reading, or before it.", "mend the time, or leave it empty", worst,
            )  # fmt: skip
        elif is_cooked:
            load.problem(
                "start-of-cooked", place, f"{quoted(code)} is cooked food", "Its clock starts as it passes 135 °F"
                " going down.", "leave it empty, or say another rule: ambient, received", worst,
            )  # fmt: skip
        elif is_early:
            load.problem(
                "start-early", place, f"{quoted(code)} was first read more than {UNLIKELY_START_H} hours after that",
                "", "look at the day and the time", "warning",
            )  # fmt: skip


def _place(sheet: Sheet, number: int, column: str) -> Place:
    return sheet.place(Row(number, []), column)
