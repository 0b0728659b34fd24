"""Portions of a lot promised to a service, and taken back: /ageing/promise, /ageing/promise/back."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from datetime import date
from fractions import Fraction
from typing import Any
from urllib.parse import urlencode

from datasette.utils.asgi import Response
from stillroom.db import log
from stillroom.db.connect import write
from stillroom.db.exact import exact_text
from stillroom.db.kitchen import settings, today
from stillroom.db.lots import Promise, read_lots, read_promises
from stillroom.db.number import whole
from stillroom.db.quantity import ReadError, read_date
from stillroom.plugins.core.auth import DATABASE
from stillroom.plugins.core.forms import posted
from stillroom.plugins.core.pages import page, query
from stillroom.plugins.core.sign import writer
from stillroom.plugins.cuts.asked import weight_of
from stillroom.plugins.cuts.compute import NoPromise, by_code, check_promise, portion_of
from stillroom.plugins.cuts.pages import Ageing, read_ageing

MOST = 10_000


@page("cuts/ageing.html", needs="ageing", methods=("POST",))
async def promise(datasette: Any, request: Any) -> Ageing | Response:
    """One row, once, however often the button is tapped; refused with words where the portions are not there."""
    form = await posted(request)
    signed = await writer(datasette, request, form)
    if isinstance(signed, str):
        return await _again(datasette, form, signed)
    try:
        await write(datasette.get_database(DATABASE), lambda connection: keep(connection, form, signed.name))
    except NoPromise as error:
        return await _again(datasette, form, f"Not promised: {error}.")
    return Response.redirect("/ageing?" + urlencode({k: form.get(k, "") for k in ("on", "cut", "portion")}), status=303)


async def _again(datasette: Any, form: Mapping[str, str], words: str) -> Ageing:
    """The page with what was typed and what is wrong with it."""
    answer: Ageing = await query(datasette, lambda connection: read_ageing(connection, form, (words,)))
    return answer


def keep(connection: sqlite3.Connection, form: Mapping[str, str], actor: str) -> int:
    """The promise's row, written now or already there; connection: inside a transaction.

    Raises:
        NoPromise: it cannot be; the words say why.
    """
    said = form.get("request_id", "")
    there = connection.execute("select id from lot_reservations where request_id = ?", (said,)).fetchone()
    if there is not None:
        return int(there[0])
    on = today(connection)
    lot = by_code(read_lots(connection, on)).get(form.get("lot", ""))
    wrong: list[str] = []
    each = weight_of(form.get("portion", "").strip()[:60], settings(connection), wrong)
    each = portion_of(lot, each) if lot is not None else each
    count = whole(form.get("portions", ""), MOST, 1)
    if wrong or count is None:
        raise NoPromise(wrong[0] if wrong else "portions are whole, from 1 on")
    if lot is not None and each is None:
        raise NoPromise("say what one portion weighs")
    wanted = Promise(0, form.get("lot", ""), _day(form.get("on", "")), count, each or Fraction(1), "", actor)
    check_promise(lot, on, wanted, [p for p in read_promises(connection, on) if p.lot == wanted.lot])
    return log.append(connection, "lot_reservations", {
        "request_id": said or log.instant(), "actor": actor, "origin": "web", "lot_code": wanted.lot,
        "for_on": wanted.on.isoformat(), "portions": wanted.portions, "portion_g": exact_text(wanted.each_g),
        "what_for": form.get("what_for", "").strip()[:200],
    })  # fmt: skip


def _day(text: str) -> date:
    try:
        return date.fromisoformat(read_date(text[:40]))
    except ReadError as error:
        raise NoPromise(f"{error.what}; {error.do}") from error


@page("cuts/ageing.html", needs="ageing", methods=("POST",))
async def take_back(datasette: Any, request: Any) -> Ageing | Response:
    """A promise that no longer holds: a row that voids it."""
    form = await posted(request)
    signed = await writer(datasette, request, form)
    if isinstance(signed, str):
        return await _again(datasette, form, signed)
    entry, name = whole(form.get("entry", "")), signed.name
    if entry is not None:
        await write(
            datasette.get_database(DATABASE),
            lambda connection: log.take_back(connection, "lot_reservations", entry, name),
        )
    return Response.redirect("/ageing?" + urlencode({k: form.get(k, "") for k in ("on", "cut", "portion")}), status=303)
