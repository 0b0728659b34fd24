"""/trials/ID/taste: one person's note on one version, written once and never changed."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from typing import Any

from datasette.utils.asgi import Response
from stillroom.db.connect import write
from stillroom.db.kitchen import today
from stillroom.db.log import append
from stillroom.db.number import whole
from stillroom.plugins.core.auth import DATABASE, decide
from stillroom.plugins.core.forms import posted
from stillroom.plugins.core.pages import html, page
from stillroom.plugins.core.sign import Writer, writer
from stillroom.plugins.trials.pages import trial_page

LONGEST = 2000
BEST = 10


@page("trials/trial.html", needs="taste", methods=("POST",))
async def taste(datasette: Any, request: Any) -> Any:
    fields = await posted(request)
    wrong = problems(fields)
    signed = await writer(datasette, request, fields) if not wrong else ""
    if isinstance(signed, str):
        wrong = wrong or {"who": signed}
        answer = await trial_page(datasette, request, wrong, fields, fields.get("request", ""))
        return await html(datasette, request, "trials/trial.html", answer, status=400)
    row, trial = _row(fields, signed), request.url_vars["trial"]
    wrong = await write(datasette.get_database(DATABASE), lambda connection: _taste(connection, trial, row))
    if not wrong:
        return Response.redirect(f"/trials/{trial}", status=303)
    answer = await trial_page(datasette, request, wrong, fields)
    return await html(datasette, request, "trials/trial.html", answer, status=400)


def problems(fields: Mapping[str, str]) -> dict[str, str]:
    """What is wrong with a tasting form, by field."""
    wrong = {}
    score, words = fields.get("score", "").strip(), fields.get("words", "").strip()
    if score and whole(score, BEST, 1) is None:
        wrong["score"] = "A score is a whole number from 1, the worst, to 10, the best."
    if not score and not words:
        wrong["words"] = "Write what it tasted like, or give a score."
    if len(words) > LONGEST:
        wrong["words"] = f"A note has {LONGEST:,} characters at most."
    if not fields.get("request"):
        wrong["words"] = "The form was not whole. Open the page and send it again."
    if whole(fields.get("version", "")) is None:
        wrong["version"] = "Choose the version that was tasted."
    return wrong


def _row(fields: Mapping[str, str], signed: Writer) -> dict[str, Any]:
    """The note as the log keeps it; only who may decide writes a decision."""
    decision = fields.get("decision", "").strip()[:LONGEST] if decide(signed.role, "trials") else ""
    return {
        "request_id": f"taste-{fields['request'][:60]}", "actor": signed.name, "origin": "web",
        "version": whole(fields["version"]), "score": whole(fields.get("score", ""), BEST, 1),
        "words": fields.get("words", "").strip(), "decision": decision,
    }  # fmt: skip


def _taste(connection: sqlite3.Connection, trial: str, row: dict[str, Any]) -> dict[str, str]:
    """Writes a note down; field -> why it is not."""
    sent = connection.execute("select actor from tastings where request_id = ?", (row["request_id"],)).fetchone()
    if sent is not None and sent[0] != row["actor"]:
        return {"words": f"{sent[0]} wrote on this form before you. Yours is below: send it now."}
    there = connection.execute(
        "select 1 from standing_trial_versions where trial_id = ? and version = ?", (trial, row["version"])
    ).fetchone()
    if there is None:
        return {"version": "There is no such version."}
    append(connection, "tastings", {**row, "recipe_id": trial, "tasted_on": today(connection).isoformat()})
    return {}
