"""Writing imported readings down, and reading the form that brings them."""

from __future__ import annotations

import asyncio
import re
import sqlite3
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime
from email import policy
from email.parser import BytesParser
from typing import TYPE_CHECKING, Any
from urllib.parse import parse_qsl

from stillroom.db.connect import write
from stillroom.db.named_sql import load
from stillroom.plugins.core.auth import DATABASE, role_of
from stillroom.plugins.doneness.bring import LARGEST, Brought, moment

if TYPE_CHECKING:
    from stillroom.plugins.doneness.pages_readings import Import

# A log of a night at one reading a few seconds; more is judged and shown, not written down.
MOST_KEPT = 5_000


async def posted(request: Any) -> dict[str, str]:
    """Fields of a form, a file's text among them, whichever way the browser sends it."""
    body = await request.post_body()
    kind = request.headers.get("content-type", "")
    if len(body) > 2 * LARGEST:
        return {"text": " " * (LARGEST + 1)}
    if not kind.startswith("multipart/form-data"):
        return dict(parse_qsl(body.decode("utf-8", "replace"), keep_blank_values=True))
    return await asyncio.to_thread(parts, kind, body)


def parts(kind: str, body: bytes) -> dict[str, str]:
    """Fields of a multipart body; a file that holds something takes the place of the pasted text."""
    head = f"content-type: {kind}\r\n\r\n".encode("latin-1", "replace")
    found: dict[str, str] = {}
    for part in BytesParser(policy=policy.HTTP).parsebytes(head + body).walk():
        name = part.get_param("name", header="content-disposition")
        if isinstance(name, str) and not part.is_multipart():
            payload = part.get_payload(decode=True)
            found[name] = payload.decode("utf-8-sig", "replace") if isinstance(payload, bytes) else ""
    file = found.pop("file", "")
    return found | {"text": file} if file.strip() else found


async def keep(datasette: Any, request: Any, made: Import, file: Brought) -> Import:
    """Writes the readings down, once however often the button is tapped; says why not where they can't be kept."""
    wrong = _unfit(made, file)
    if wrong:
        return replace(made, wrong=wrong)
    sql = load("stillroom.plugins.doneness")["keep_cooling" if made.field("kind") == "cooling" else "keep_core"]
    rows = _rows(made, file, role_of(request.actor))
    kept = await write(datasette.get_database(DATABASE), lambda connection: _insert(connection, sql, rows))
    return replace(made, kept=kept)


def _unfit(made: Import, file: Brought) -> dict[str, str]:
    """Why these readings can't be written down."""
    known = {key for key, _ in made.pieces}
    if file.first_at is None:
        return {"clock": "To be written down the readings need day and time."}
    if not re.fullmatch(r"[^\x00-\x1f]{1,60}", made.field("label").strip()):
        return {"label": "Say which pan, ticket or piece this is, in 60 letters at most."}
    if made.field("kind") != "cooling" and made.field("recipe") not in known:
        return {"recipe": "Choose the piece: a core belongs to a programme."}
    if made.count > MOST_KEPT:
        return {"text": f"{made.count} readings are judged here but not written down: at most {MOST_KEPT}."}
    return {}


def _rows(made: Import, file: Brought, actor: str) -> list[dict[str, Any]]:
    now = datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    assert file.first_at is not None
    common = {"now": now, "actor": actor, "label": made.field("label").strip(), "recipe": made.field("recipe") or None}
    token = re.sub(r"[^a-z0-9]", "", made.token) or "import"
    return [
        common | {"request": f"{token}-{n}", "at": moment(file.first_at, r.at_s), "temp": float(r.temp_f)}
        for n, r in enumerate(file.log.readings)
    ]


def _insert(connection: sqlite3.Connection, sql: str, rows: Sequence[dict[str, Any]]) -> int:
    before = connection.total_changes
    connection.executemany(sql, rows)
    return connection.total_changes - before
