"""Writing imported readings down, and reading the form that brings them."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any

from stillroom.db.connect import write
from stillroom.db.log import append, instant
from stillroom.db.named_sql import load
from stillroom.plugins.core.auth import DATABASE
from stillroom.plugins.core.forms import posted
from stillroom.plugins.core.sign import writer
from stillroom.plugins.doneness.bring import Brought, moment

if TYPE_CHECKING:
    from stillroom.plugins.doneness.pages_import import Import

# A log of a night at one reading a few seconds; more is judged and shown, not written down.
MOST_KEPT = 5_000


async def sent(request: Any) -> dict[str, str]:
    """Fields of the form; a file that holds something takes the place of the pasted text."""
    fields = await posted(request)
    file = fields.pop("file", "")
    return fields | {"text": file} if file.strip() else fields


async def keep(datasette: Any, request: Any, made: Import, file: Brought) -> Import:
    """Writes the readings down, once however often the button is tapped; says why not where they can't be kept."""
    wrong = _unfit(made, file)
    if wrong:
        return replace(made, wrong=wrong)
    signed = await writer(datasette, request, made.typed)
    if isinstance(signed, str):
        return replace(made, wrong={"who": signed})
    is_cooling = made.field("kind") == "cooling"
    rows = [(_cooling if is_cooling else _core)(row, made) for row in _rows(made, file, signed.name)]
    work = partial(_insert, "cooling_readings" if is_cooling else "probe_readings", rows)
    kept = await write(datasette.get_database(DATABASE), work)
    return replace(made, wrong={"label": kept}) if isinstance(kept, str) else replace(made, kept=kept)


def _unfit(made: Import, file: Brought) -> dict[str, str]:
    """Why these readings can't be written down."""
    known = {key for key, _ in made.pieces}
    if file.first_at is None:
        return {"clock": "To be written down the readings need day and time."}
    if not re.fullmatch(r"[^\x00-\x1f]{1,60}", made.field("label").strip()):
        return {"label": "Say which pan, ticket or piece this is, in 60 letters at most."}
    if made.field("kind") in {"", "probe"} and made.field("recipe") not in known:
        return {"recipe": "Choose the piece: a core belongs to a programme."}
    if made.count > MOST_KEPT:
        return {"text": f"{made.count} readings are judged here but not written down: at most {MOST_KEPT}."}
    return {}


def _rows(made: Import, file: Brought, actor: str) -> list[dict[str, Any]]:
    assert file.first_at is not None
    common = {"recorded_at": instant(), "actor": actor, "origin": "web", "recipe_id": made.field("recipe") or None}
    token = re.sub(r"[^A-Za-z0-9]", "", made.token) or "import"
    return [
        common | {"request_id": f"{token}-{n}", "read_at": moment(file.first_at, r.at_s), "temp": float(r.temp_f)}
        for n, r in enumerate(file.log.readings)
    ]


def _cooling(row: dict[str, Any], made: Import) -> dict[str, Any]:
    temp = row.pop("temp")
    said = {"rule": made.rule, "started_at": made.started_at or None}
    return row | {"log_code": made.field("label").strip(), "temp_f": temp} | said


def _core(row: dict[str, Any], made: Import) -> dict[str, Any]:
    temp = row.pop("temp")
    step = made.how if made.field("kind") == "reheat" else ""
    return row | {"piece": made.field("label").strip(), "core_f": temp, "step": step}


def _insert(table: str, rows: Sequence[dict[str, Any]], connection: sqlite3.Connection) -> int | str:
    """Rows written; those on file already are passed over, and where one says otherwise none is written."""
    label, temp = ("log_code", "temp_f") if table == "cooling_readings" else ("piece", "core_f")
    asked = load("stillroom.plugins.doneness")[f"kept_{table}"]
    there = dict(connection.execute(asked, {"label": rows[0][label], "recipe": rows[0]["recipe_id"]}).fetchall())
    if any(there.get(row["read_at"], row[temp]) != row[temp] for row in rows):
        return f"{rows[0][label]} has other temperatures on file for the same minutes: give this log another name."
    started = rows[0].get("started_at")
    if started and any(at < started for at in there):
        return f"{rows[0][label]} was read before it was made or came in by what is typed: mend that, or its name."
    before = connection.total_changes
    for row in rows:
        if row["read_at"] not in there:
            append(connection, table, row)
    return connection.total_changes - before
