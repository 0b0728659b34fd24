"""/log/sales: plates sold, from the till's file."""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from datasette.utils.asgi import Response
from stillroom.db.connect import write
from stillroom.db.faults import fault_of
from stillroom.db.kitchen import settings
from stillroom.db.log import append
from stillroom.db.moments import DATE_ORDERS
from stillroom.db.recipe_lines import earlier_names
from stillroom.plugins.core.auth import DATABASE, decide, role_of
from stillroom.plugins.core.forms import no_text, posted
from stillroom.plugins.core.pages import data, html, page, query
from stillroom.plugins.core.sign import Writer, writer
from stillroom.plugins.core.sure import FIELD
from stillroom.plugins.logbook.book import ask, now_of, today_of
from stillroom.plugins.logbook.pages import KEPT
from stillroom.plugins.logbook.sales import EXAMPLE, Dishes, Sold, Till, example_of, read_mapping, read_till

BOTH = "count both"  # what the box says that confirms plates beside those written by hand
COUNTED = "Some of these plates are written down already, by hand or in the kitchen's files: see below."


@dataclass(frozen=True)
class SalesPage:
    """The form, and what the file came to. kept: rows written down; None: not yet. twice: rows whose plates somebody
    has written down already, with how many."""

    text: str = ""
    mapping: str = EXAMPLE
    till: Till = field(default_factory=Till)
    problem: str = ""
    kept: int | None = None
    is_sent: bool = False
    office: bool = False
    who: str = ""
    twice: Sequence[tuple[Sold, int]] = ()

    @property
    def is_example(self) -> bool:
        """Whether the mapping is nobody's yet."""
        examples = (example_of({"date order": order}) for order in DATE_ORDERS)
        return any(self.mapping.split() == one.split() for one in examples)

    @property
    def plates(self) -> int:
        return sum(row.plates for row in self.till.rows)

    def as_json(self) -> dict[str, Any]:
        rows = [vars(row) if self.office else {**vars(row), "sales": None} for row in self.till.rows]
        return {"rows": rows, "left out": dict(self.till.left_out), "problems": list(self.till.problems),
                "earlier names": dict(self.till.earlier), "problem": self.problem, "kept": self.kept,
                "twice": [{"dish": row.dish, "on": row.on, "plates": there} for row, there in self.twice]}  # fmt: skip


@page("logbook/sales.html", needs="log", methods=("GET", "HEAD", "POST"))
async def sales(datasette: Any, request: Any) -> Any:
    office = decide(role_of(request.actor), "money")
    if request.method != "POST":
        mapping = await query(datasette, lambda c: mapping_of(c) or example_of(settings(c)))
        return SalesPage(mapping=mapping, office=office)
    typed = await posted(request)
    made = await query(datasette, lambda c: _looked_at(c, typed, office))
    if typed.get("do") != "write" or made.problem or made.till.problems or not made.till.rows:
        return made
    if made.twice and typed.get(FIELD) != BOTH:
        return replace(made, problem=f"{KEPT} {COUNTED}")
    signed = await writer(datasette, request, typed)
    if isinstance(signed, str):
        return replace(made, problem=signed)
    try:
        kept = await write(datasette.get_database(DATABASE), lambda c: _kept(c, made, signed))
    except (sqlite3.DatabaseError, OSError) as error:
        fault = fault_of(error)
        if fault is None:
            raise
        return await _busy(datasette, request, replace(made, problem=f"{fault.what} {KEPT} {fault.do}"))
    return replace(made, kept=kept)


def mapping_of(connection: sqlite3.Connection) -> str:
    """How the till's file was read last; '' where none was."""
    return next((lines for (lines,) in ask(connection, "till_mapping")), "")


def _kept(connection: sqlite3.Connection, made: SalesPage, signed: Writer) -> int:
    """Writes plates down, and how the file was read where that is another way than before."""
    new, lines = keep(connection, made.till.rows, signed), made.mapping.replace("\r\n", "\n").strip()
    if lines != mapping_of(connection):
        (number,) = connection.execute("select coalesce(max(id), 0) + 1 from till_mappings").fetchone()
        append(connection, "till_mappings", {
            "request_id": f"till-mapping-{number}", "actor": signed.name, "origin": "web", "lines": lines,
        })  # fmt: skip
    return new


async def _busy(datasette: Any, request: Any, made: SalesPage) -> Response:
    if request.path.endswith(".json"):
        return data(made.as_json(), 503)
    return await html(datasette, request, "logbook/sales.html", made, status=503)


def _looked_at(connection: sqlite3.Connection, typed: Mapping[str, str], office: bool) -> SalesPage:
    said, today = today_of(connection, now_of(connection))
    text = typed.get("file", "") or typed.get("text", "")
    lines = typed.get("map", "") or typed.get("mapping", "")
    mapping, problems = read_mapping(lines[:200_000])
    made = SalesPage(text, lines, Till(problems=problems), "", None, True, office, typed.get("who", "")[:80])
    if problems:
        return made
    if no_text(text):
        return replace(made, text="", problem=no_text(text))
    if not text.strip():
        return replace(made, problem="Choose the till's file, or paste its text.")
    dishes = Dishes(dict(ask(connection, "dish_names")), earlier_names(connection))
    found = read_till(text, mapping, dishes, today.isoformat(), said)
    rows = found.rows if office else [replace(row, sales=None) for row in found.rows]
    return replace(made, till=replace(found, rows=rows), twice=_twice(connection, rows))


def _twice(connection: sqlite3.Connection, rows: Sequence[Sold]) -> list[tuple[Sold, int]]:
    """Rows of a dish and day of which plates stand that are not the till's, with how many; both would count."""
    each = ((row, ask(connection, "plates_by_hand", dish=row.dish_id, day=row.on, service=row.service)) for row in rows)
    return [(row, there) for row, ((there,),) in each if there]


def keep(connection: sqlite3.Connection, rows: Sequence[Sold], signed: Writer) -> int:
    """Writes plates down, and says how many rows are new.

    The same file again adds nothing; another number for a dish, day and service takes the place of the till's
    earlier one.
    """
    new = 0
    for row in rows:
        key = hashlib.sha256("\x1f".join((row.dish_id, row.on, row.service)).encode()).hexdigest()[:20]
        span = (f"till-{key}-", f"till-{key}.")
        before = connection.execute(
            "select count(*) from plates_sold where request_id >= ? and request_id < ?", span
        ).fetchone()[0]
        standing = connection.execute(
            "select id, plates, sales from standing_plates_sold where request_id >= ? and request_id < ?", span
        ).fetchone()
        money = None if row.sales is None else str(row.sales)
        if standing is not None and (standing[1], standing[2]) == (row.plates, money):
            continue
        append(connection, "plates_sold", {
            "request_id": f"till-{key}-{before + 1}", "actor": signed.name, "origin": "web", "recipe_id": row.dish_id,
            "sold_on": row.on, "service": row.service, "plates": row.plates, "sales": money,
            "note": "from the till's file",
            "voids": None if standing is None else standing[0],
        })  # fmt: skip
        new += 1
    return new
