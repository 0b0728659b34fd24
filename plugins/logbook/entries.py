"""Entries in the file: writing one down, reading it back with its judgement, taking it back."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from typing import Any
from zoneinfo import ZoneInfo

from stillroom.db.cooked_as import cooked_as
from stillroom.db.log import append, next_code, sent_already, take_back
from stillroom.db.pieces import REHEATS
from stillroom.plugins.core.format import amount, beside_celsius
from stillroom.plugins.core.sign import Writer
from stillroom.plugins.logbook.book import ask, minimums_of, pans, rules_of, today_of
from stillroom.plugins.logbook.form import Form, Rows
from stillroom.plugins.logbook.forms import BY_TABLE
from stillroom.plugins.logbook.rules import Judged, judged_again, judged_core, judged_door, judged_hold, unjudged
from stillroom.plugins.logbook.shown import MONEY, lines
from stillroom.plugins.physics.editions import in_edition
from stillroom.plugins.physics.reheating import reheat_rule


class Gone(Exception):
    """What an entry was to stand for is no longer there: somebody was quicker."""


def request_name(said: str) -> str:
    """The request id of a form as the log keeps it: its own, or '' where it sent none that can be one."""
    return f"log-{said}" if re.fullmatch(r"[A-Za-z0-9_-]{8,64}", said) else ""


def put(connection: sqlite3.Connection, form: Form, rows: Rows, request: str, writer: Writer) -> int:
    """Writes the rows of one form; the id of the first. The same request again is the same rows.

    Raises:
        Gone: another person sent this very form; or the entry that it corrects, the order it answers or the code it
            has was taken by another.
    """
    already = sent_already(connection, form.table, request)
    if already is not None and already[1] != writer.name:
        raise Gone
    if already is not None:
        return int(already[0])
    head = dict(rows[0][1])
    if head.get("voids") is not None and not _stands(connection, form.table, head["voids"]):
        raise Gone
    if form.table == "counts" and head.get("voids") is not None:
        head["counted_at"] = _counted_at(connection, head)
    column, letters = form.code
    code = head.get(column) or (next_code(connection, form.table, column, letters, _day_of(head)) if column else "")
    if form.once and head.get(column) and _is_taken(connection, form.table, column, head):
        raise Gone
    if column:
        head[column] = code
    signed = {"actor": writer.name, "origin": "web"}
    first = append(connection, form.table, head | signed | {"request_id": request})
    for number, (table, row) in enumerate(rows[1:], 1):
        append(connection, table, {**row, "breakdown_code": code, **signed, "request_id": f"{request}-{number}"})
    return first


def money_of(connection: sqlite3.Connection, table: str, head: Mapping[str, Any]) -> dict[str, Any]:
    """The sums of an entry that `head` corrects, for whoever may not see them and so can't say them again.

    Returns:
        Column -> what stands there; {} where the correction is of another thing: then the sums are not its own.
    """
    cursor = connection.execute(f"select * from {table} where id = ?", (head["voids"],))
    columns = [column[0] for column in cursor.description]
    was = dict(zip(columns, cursor.fetchone() or [None] * len(columns), strict=True))
    is_same = all(was.get(column) == head.get(column) for column in ("item_id", "recipe_id", "supplier_id"))
    return {column: was[column] for column in MONEY & was.keys()} if is_same else {}


def _counted_at(connection: sqlite3.Connection, head: Mapping[str, Any]) -> str | None:
    """The moment of a count that corrects another of its day: that of the other, for it is the same count."""
    question = "select counted_at from counts where id = ? and counted_on = ?"
    found = connection.execute(question, (head["voids"], head["counted_on"])).fetchone()
    when: str | None = found[0] if found else head["counted_at"]
    return when


def _day_of(row: Mapping[str, Any]) -> str:
    return next(str(row[c])[:10] for c in ("made_on", "broken_on", "started_on", "read_at") if row.get(c))


def _stands(connection: sqlite3.Connection, table: str, entry: int) -> bool:
    return connection.execute(f"select 1 from standing_{table} where id = ?", (entry,)).fetchone() is not None


def _is_taken(connection: sqlite3.Connection, table: str, column: str, head: Mapping[str, Any]) -> bool:
    """Whether another entry that counts has the code."""
    question = f"select 1 from standing_{table} where {column} = ? collate nocase and id <> ?"
    return connection.execute(question, (head[column], head.get("voids") or 0)).fetchone() is not None


@dataclass(frozen=True)
class Read:
    """One entry as it stands in its log. lines: what it says; judged: its rule; notes: what else is to be known."""

    table: str
    id: int
    form: Form
    row: Mapping[str, Any]
    lines: list[tuple[str, str]]
    outputs: list[str]
    judged: Judged | None
    notes: list[str]
    stands: bool
    is_undo: bool


def read_entry(connection: sqlite3.Connection, table: str, entry: int, office: bool, now: datetime) -> Read | None:
    """An entry with its answer; None: there is none."""
    if table not in BY_TABLE:
        return None
    cursor = connection.execute(f"select * from {table} where id = ?", (entry,))
    found = cursor.fetchone()
    if found is None:
        return None
    row = dict(zip((column[0] for column in cursor.description), found, strict=True))
    said, today = today_of(connection, now)
    form, names = BY_TABLE[table], names_of(connection, row)
    return Read(
        table, entry, form, row, lines(row, names, said, today, office),
        _outputs(connection, table, row, said["units"]),
        judge_row(connection, table, row, said, now), _notes(row, table) + _by_when(connection, table, row, said, now),
        _stands(connection, table, entry), row["stands"] == 0,
    )  # fmt: skip


def names_of(connection: sqlite3.Connection, row: Mapping[str, Any]) -> dict[str, str]:
    """Names of everything that a row points at."""
    found = {}
    for column, table in (
        ("item_id", "items"), ("recipe_id", "recipes"), ("cut_recipe_id", "recipes"), ("supplier_id", "suppliers"),
        ("product_id", "products"), ("station_id", "stations"),
    ):  # fmt: skip
        if row.get(column):
            name = connection.execute(f"select name from {table} where id = ?", (row[column],)).fetchone()
            found[row[column]] = name[0] if name else row[column]
    if row.get("delivery_id"):
        found[str(row["delivery_id"])] = _receipt(connection, row["delivery_id"])
    return found


def _receipt(connection: sqlite3.Connection, delivery: int) -> str:
    """A line of goods in a few words: its lot code, else its document, from whom, when."""
    rows = connection.execute(
        "select coalesce(nullif(d.lot_code, ''), d.document), coalesce(s.name, d.supplier_id), d.received_on"
        " from deliveries as d left join suppliers as s on s.id = d.supplier_id where d.id = ?", (delivery,)
    ).fetchall()  # fmt: skip
    return ", ".join(part for row in rows for part in row if part)


def _outputs(connection: sqlite3.Connection, table: str, row: Mapping[str, Any], system: str) -> list[str]:
    if table != "breakdowns":
        return []
    rows = connection.execute(
        "select coalesce(i.name, r.name, 'loss'), o.weight_g, o.pieces from standing_breakdown_outputs as o"
        " left join items as i on i.id = o.item_id left join recipes as r on r.id = o.recipe_id"
        " where o.breakdown_code = ? order by o.id", (row["code"],)
    )  # fmt: skip
    return [
        f"{name}: {amount(Fraction(weight), 'g', system)}" + (f", {pieces} pieces" if pieces else "")
        for name, weight, pieces in rows
    ]


def _notes(row: Mapping[str, Any], table: str) -> list[str]:
    """What a lot that was hung, a breakdown, or a line of goods, leaves to do or to know."""
    if table == "ageing_lots":
        code = row["lot_code"]
        return [f"Write {code} on the piece. Weigh it each week: three weighings tell what it will weigh on its day."]
    if table == "breakdowns":
        return ["What came out is on hand from that day on; a tick or a batch of the same is not counted again."]
    if table != "deliveries":
        return []
    notes = []
    if row["product_id"] is None and row["description"]:
        notes.append(
            "Not reviewed: nobody has read the label of this product."
            " Add it to the kitchen's products with its allergens."
        )
    accepted = float(row["received"]) - float(row["rejected"])
    if row["ordered"] is not None and accepted < float(row["ordered"]):
        notes.append(f"Short: {accepted / float(row['ordered']):.0%} of what was ordered is in the house.")
    return notes


def _by_when(
    connection: sqlite3.Connection, table: str, row: Mapping[str, Any], said: Mapping[str, str], now: datetime
) -> list[str]:
    """By when a pan that cools must be where."""
    found = pans(connection, now, row["log_code"]) if table == "cooling_readings" else []
    if not found or not found[0][0].is_open:
        return []
    one, zone = found[0][0], ZoneInfo(said["time zone"])
    if one.by is None:
        return [
            "Nobody saw it at 135 °F or above: how long is left can't be told. Take the first reading while it is hot."
        ]
    limits = [
        f"at {float(stage.temp_f):g} °F by {by.astimezone(zone):%H:%M}"
        + (", which is past" if by < now and one.last_f > stage.temp_f else "")
        for stage, by in zip(one.rule.stages, one.by, strict=True)
    ]
    return [f"Write {row['log_code']} on the pan. A{', '.join(limits)[1:]}."]


def judge_row(
    connection: sqlite3.Connection, table: str, row: Mapping[str, Any], said: Mapping[str, str], now: datetime
) -> Judged | None:
    """A reading against its rule; None for an entry that is no reading."""
    edition = said["food code"]
    if table == "cooling_readings":
        found = pans(connection, now, row["log_code"])
        if found and not in_edition(found[0][0].rule.edition, edition):
            return unjudged(edition)
        return found[0][0].answer if found else None
    if table == "hold_checks":
        return judged_hold(row["direction"], row["temp_f"], rules_of(connection), edition)
    if table == "probe_readings":
        return _core(connection, row, edition)
    if table == "deliveries" and row["received"] != "0":
        key = connection.execute("select receiving_rule_id from items where id = ?", (row["item_id"],)).fetchone()
        if row["door_temp_f"] is None and (key is None or key[0] is None):
            return None
        return judged_door(row["door_temp_f"], rules_of(connection).get(key[0]) if key and key[0] else None, edition)
    return None


def _core(connection: sqlite3.Connection, row: Mapping[str, Any], edition: str) -> Judged:
    if row["step"].lower() in REHEATS:
        return judged_again(row["core_f"], reheat_rule(row["step"].lower()), edition)
    found = ask(connection, "worked", recipe=row["recipe_id"])
    if not found:
        return judged_core(row["core_f"], minimums_of(connection, "", edition))
    taken = cooked_as(*found[0])
    return judged_core(row["core_f"], minimums_of(connection, taken.start, edition), taken.only_if)


def undo(connection: sqlite3.Connection, table: str, entry: int, writer: Writer) -> int | None:
    """Takes an entry back with all that was written down with it."""
    if table == "breakdowns":
        parts = connection.execute(
            "select o.id from standing_breakdown_outputs as o join breakdowns as b on b.code = o.breakdown_code"
            " where b.id = ?", (entry,)
        ).fetchall()  # fmt: skip
        for (part,) in parts:
            take_back(connection, "breakdown_outputs", part, writer.name)
    return take_back(connection, table, entry, writer.name)


@dataclass(frozen=True)
class Written:
    """One line of the list of what was written down here lately."""

    table: str
    id: int
    title: str
    what: str
    actor: str
    at: str
    stands: bool


def lately(connection: sqlite3.Connection, most: int = 20) -> list[Written]:
    """What was written down on these pages, the newest first."""
    found = []
    for table, form in BY_TABLE.items():
        rows = connection.execute(
            f"select e.id, e.actor, e.recorded_at, exists (select 1 from {table} as later where later.voids = e.id),"
            f" {_thing(connection, table)} from (select * from {table} order by id desc limit 200) as e"
            " where e.origin = 'web' and e.stands = 1 order by e.id desc limit ?", (most,)
        )  # fmt: skip
        for entry, actor, at, voided, thing in rows:
            found.append((at, Written(table, entry, form.title, _name(connection, thing), actor, at, not voided)))
    return [written for _, written in sorted(found, key=lambda pair: pair[0], reverse=True)[:most]]


def _thing(connection: sqlite3.Connection, table: str) -> str:
    """What an entry is about, as an expression over the log's own columns."""
    has = {name for (name,) in connection.execute("select name from pragma_table_info(?)", (table,))}
    columns = [c for c in ("item_id", "recipe_id", "cut_recipe_id", "lot_code", "place") if c in has]
    return f"coalesce({', '.join(f'e.{c}' for c in columns)}, '')" if len(columns) > 1 else f"e.{columns[0]}"


def _name(connection: sqlite3.Connection, thing: str) -> str:
    found = connection.execute(
        "select name from items where id = :id union all select name from recipes where id = :id limit 1", {"id": thing}
    ).fetchone()
    return str(found[0] if found else thing or "")


def lots_offered(connection: sqlite3.Connection, recipe: str, day: str) -> list[tuple[str, str]]:
    """Lots that may have gone into a batch, with the thing that each is of."""
    rows = ask(connection, "lots_for", recipe=recipe, day=day)
    return list(dict.fromkeys((code, f"{name}, {code}") for name, code in rows))


def data_of(read: Read, units: str) -> dict[str, Any]:
    """An entry as data; a metric kitchen has °C beside every limit in °F."""

    def said(words: Any) -> Any:
        return beside_celsius(words, units) if isinstance(words, str) else words

    return {
        "table": read.table, "id": read.id, "title": read.form.title, "stands": read.stands,
        "says": [{"what": what, "value": value} for what, value in read.lines], "came out": read.outputs,
        "judged": None if read.judged is None else {key: said(value) for key, value in vars(read.judged).items()},
        "notes": [said(note) for note in read.notes],
    }  # fmt: skip
