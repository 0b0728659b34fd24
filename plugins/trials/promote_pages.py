"""/trials/ID/promote and /trials/ID/take-back: a version becomes the dish from a day on, or does not after all."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from typing import Any

from datasette.utils.asgi import Response
from stillroom.db.connect import write
from stillroom.db.drafts import check_in
from stillroom.db.kitchen import settings, today
from stillroom.db.log import instant
from stillroom.db.log import take_back as void
from stillroom.db.number import whole
from stillroom.db.promotions import Unread, standing, version_of
from stillroom.db.quantity import ReadError, read_date
from stillroom.db.recipe_lines import names_of
from stillroom.plugins.core.auth import DATABASE
from stillroom.plugins.core.forms import posted
from stillroom.plugins.core.pages import NotFound, html, page, query
from stillroom.plugins.core.sign import writer
from stillroom.plugins.trials.pages import NO_TRIAL, trial_page
from stillroom.plugins.trials.promoting import promote as put_into_force
from stillroom.plugins.trials.promoting import stamp
from stillroom.plugins.trials.rows import ask


@page("trials/trial.html", needs="trials", methods=("POST",))
async def promote(datasette: Any, request: Any) -> Any:
    fields, trial = await posted(request), request.url_vars["trial"]
    row, wrong = await query(datasette, lambda connection: _asked(connection, trial, fields))
    signed = await writer(datasette, request, fields) if not wrong else ""
    if isinstance(signed, str):
        return await _again(datasette, request, wrong or {"who": signed}, fields)
    row |= {"request_id": f"promote-{fields.get('request', '')[:60]}", "actor": signed.name, "origin": "web"}
    try:
        await write(datasette.get_database(DATABASE), lambda connection: put_into_force(connection, row))
    except Unread as error:
        words = "; ".join(p.what for p in error.problems.values()) or "there is no such version"
        return await _again(datasette, request, {"promote": f"It can't be the dish: {words}."}, fields)
    return Response.redirect(f"/trials/{trial}", status=303)


async def _again(datasette: Any, request: Any, wrong: dict[str, str], fields: Mapping[str, str]) -> Response:
    answer = await trial_page(datasette, request, wrong, dict(fields), fields.get("request", ""))
    return await html(datasette, request, "trials/trial.html", answer, status=400)


def _asked(
    connection: sqlite3.Connection, trial: str, fields: Mapping[str, str]
) -> tuple[dict[str, Any], dict[str, str]]:
    """The promotion that a form asks for, and what is wrong with it by field."""
    wrong: dict[str, str] = {}
    number = whole(fields.get("version", "")) or 0
    draft = version_of(connection, trial, number)
    if draft is None:
        wrong["promote"] = "Choose a version."
        return {}, wrong
    day = today(connection).isoformat()
    first = _day(connection, fields.get("from", ""), "from", wrong) or ("" if wrong else day)
    last = _day(connection, fields.get("to", ""), "to", wrong)
    if first and first < day:
        wrong["from"] = "A dish goes on the menu today or later: what was served before stays as it was."
    if last and first and last < first:
        wrong["to"] = "The last day is before the first."
    found = check_in(connection, draft, trial, names_of(connection)).problems
    if found:
        wrong["promote"] = f"Version {number} can't be the dish: {next(iter(found.values())).what}. Change it first."
    if not fields.get("request"):
        wrong["promote"] = "The form was not whole. Open the page and send it again."
    return {
        "trial_id": trial, "trial": ask(connection, "versions", trial=trial)[0][7], "version": number, "dish_id": trial,
        "decided_on": day,
        "from_on": first, "to_on": last or None, "note": " ".join(fields.get("note", "").split())[:1000],
    }, wrong  # fmt: skip


def _day(connection: sqlite3.Connection, text: str, field: str, wrong: dict[str, str]) -> str:
    """A date that may be empty."""
    if not text.strip():
        return ""
    try:
        return read_date(text.strip()[:40], settings(connection)["date order"])
    except ReadError:
        try:
            return read_date(text.strip()[:40])
        except ReadError as error:
            wrong[field] = f"{error.what}: {error.do}."
            return ""


@page("core/plain.html", needs="trials", methods=("POST",))
async def take_back(datasette: Any, request: Any) -> Any:
    fields, trial = await posted(request), request.url_vars["trial"]
    signed = await writer(datasette, request, fields)
    if isinstance(signed, str):
        return await _again(datasette, request, {"who": signed}, fields)
    number = whole(fields.get("promotion", "")) or 0
    done = await write(
        datasette.get_database(DATABASE), lambda connection: _take_back(connection, trial, number, signed.name)
    )
    if not done:
        raise NotFound(f"{NO_TRIAL} A promotion whose day has come stays: promote another version instead.")
    return Response.redirect(f"/trials/{trial}", status=303)


def _take_back(connection: sqlite3.Connection, trial: str, number: int, who: str) -> bool:
    """Takes a promotion back before its day; a dish that was made for it is a draft again."""
    rows = [p for found in standing(connection).values() for p in found if p.id == number and p.trial_id == trial]
    if not rows or rows[0].from_on <= today(connection).isoformat():
        return False
    gone = rows[0]
    void(connection, "promotions", gone.id, who)
    made = connection.execute(
        "update recipes set status = 'draft', version = null where id = ? and from_on = ? and version = ?",
        (gone.dish_id, gone.from_on, gone.version),
    )
    if made.rowcount:
        stamp(connection, [gone.dish_id], instant())
    return True
