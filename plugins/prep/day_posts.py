"""What people say of the day: a number in place of the expected one, who is not there; and taking it back.

Whoever wrote it takes it back or changes it, and chef and manager always, as in the logbook; anybody else is told
whose it is.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from math import ceil
from typing import Any
from urllib.parse import urlencode

from datasette.utils.asgi import Response
from stillroom.db.coming import Coming
from stillroom.db.connect import write
from stillroom.db.log import append, sent_already, take_back
from stillroom.db.number import whole
from stillroom.db.quantity import ReadError, read_clock
from stillroom.plugins.core.auth import DATABASE
from stillroom.plugins.core.forms import posted
from stillroom.plugins.core.pages import data, html, page, query
from stillroom.plugins.core.sign import Writer, may_undo, writer
from stillroom.plugins.core.sure import FAR, FIELD, Ask, far, is_sure, refusal, refused
from stillroom.plugins.prep.pages import the_day
from stillroom.plugins.prep.posts import SENT, replan_for, request_of
from stillroom.plugins.prep.rows import ask
from stillroom.plugins.prep.state import State, read_state

GUESTS = 400  # what is asked about where nothing was served yet
Said = tuple[int, str, str, str]  # id, origin, actor, what it says in words
Came = tuple[bool, str]  # whether anything was written, and what came of it in words


def split(said: Sequence[Said], who: Writer) -> tuple[list[Said], list[Said]]:
    """Entries that somebody may take back, and those that are others'; the newest first in both."""
    mine = [one for one in said if may_undo({"origin": one[1], "actor": one[2]}, who)]
    return mine, [one for one in said if one not in mine]


def whose(one: Said, what: str) -> Came:
    """The refusal: whose an entry is, and who may do with it what was asked."""
    return False, f"{one[2]} {one[3]}: they, the chef or the manager can {what}. Nothing was changed."


def clear(connection: sqlite3.Connection, table: str, said: Sequence[Said], who: Writer, done: str) -> Came:
    """Takes back what somebody may of the entries that stand.

    Args:
        connection: inside a transaction.
        table: their log.
        said: the entries, the newest first.
        who: who asks.
        done: the words where nothing of it stands any more.
    """
    mine, others = split(said, who)
    if others and not mine:
        return whose(others[0], "take it back")
    for ident, *_ in mine:
        take_back(connection, table, ident, who.name)
    return True, f"Yours is taken back. {others[0][2]} {others[0][3]}: that stands." if others else done


@page("prep/day.html", needs="prep", methods=("POST",))
async def overrule(datasette: Any, request: Any) -> Any:
    """A person's number of covers or plates; empty takes the last one back."""
    fields = await posted(request, 20_000)
    who = await writer(datasette, request, fields)
    if isinstance(who, str):
        return await _again(datasette, request, who)
    before = await query(datasette, read_state)
    services = {(s.on.isoformat(), s.name) for s in before.coming.services}
    on, service, dish = fields.get("on", ""), fields.get("service", ""), fields.get("dish", "") or None
    if (on, service) not in services or (dish is not None and dish not in before.coming.recipes):
        return await _again(datasette, request, "There is no such service ahead. Nothing was written.")
    text = fields.get("number", "").strip()
    number = whole(text, 99_999)
    if text and number is None:
        return await _again(datasette, request, f'"{text[:20]}" is not a whole number. Nothing was written.')
    doubt = None if number is None else size_of(before.coming, (on, service, dish), number, text)
    if doubt is not None and not is_sure(fields, doubt):
        return await _again(datasette, request, doubt.question, doubt.said, fields)
    row = {"request_id": request_of("overrule", fields), "actor": who.name, "origin": "web",
           "served_on": on, "service": service, "recipe_id": dish, "number": number or 0}  # fmt: skip
    return await _written(datasette, request, before, row, who, lambda c: put_overrule(c, row, who, not text))


def size_of(coming: Coming, of: tuple[str, str, str | None], number: int, text: str) -> Ask | None:
    """The question about more guests than ever came, several times over, or more plates of a dish than guests.

    Args:
        coming: the days ahead.
        of: day, service, and the dish whose plates they are, or None.
        number: what a person says; text: as it was typed.
    """
    on, service, dish = of
    said = next((e for e in coming.expected if (e.on.isoformat(), e.service) == (on, service)), None)
    guests = max([s.covers or 0 for s in coming.log] + [said.booked or 0 if said else 0, GUESTS // FAR])
    if dish is None:
        return far(text, Fraction(number), Fraction(guests), "the most guests ever written down" if coming.log else
                   "what is asked about where nothing was served yet")  # fmt: skip
    most = max(guests, ceil(said.covers or 0) if said else 0)
    return Ask(f"{text}? That is more plates than guests: {most} came at most.", text) if number > most else None


def put_overrule(connection: sqlite3.Connection, row: Mapping[str, Any], who: Writer, is_clearing: bool) -> Came:
    """Writes a number down, or takes back what stands in its place."""
    key = {name: row[name] for name in ("served_on", "service", "recipe_id")}
    said = [(i, origin, by, f"said {n}") for i, origin, by, n in ask(connection, "overrules_of", **key)]
    if is_clearing:
        return clear(connection, "forecast_overrules", said, who, "Back to what the log says.")
    if sent_already(connection, "forecast_overrules", row["request_id"]):
        return False, SENT
    others = split(said[:1], who)[1]
    if others:
        return whose(others[0], "change it")
    append(connection, "forecast_overrules", row)
    return True, "Written down."


@page("prep/day.html", needs="prep", methods=("POST",))
async def absence(datasette: Any, request: Any) -> Any:
    """Somebody is not there today, or from a time on; or is there after all."""
    fields = await posted(request, 20_000)
    who = await writer(datasette, request, fields)
    if isinstance(who, str):
        return await _again(datasette, request, who)
    before = await query(datasette, read_state)
    person, since = fields.get("who_is", ""), fields.get("from", "").strip()
    if person not in before.facts.people:
        return await _again(datasette, request, "There is nobody of that name. Nothing was written.")
    try:
        since = read_clock(since) if since else ""
    except ReadError as error:
        return await _again(datasette, request, refusal(error))
    row = {"request_id": request_of("absence", fields), "actor": who.name, "origin": "web",
           "person_id": person, "on_date": before.coming.today.isoformat(), "from_at": since or None}  # fmt: skip
    is_back = fields.get("is") == "here"
    return await _written(datasette, request, before, row, who, lambda c: put_absence(c, row, who, is_back))


def put_absence(connection: sqlite3.Connection, row: Mapping[str, Any], who: Writer, is_back: bool) -> Came:
    """Writes an absence down, or takes back those that stand."""
    said = "Written down: the list is laid out anew."
    if is_back:
        rows = ask(connection, "absences_of", person=row["person_id"], day=row["on_date"])
        gone = [(i, origin, by, f"wrote away from {at}" if at else "wrote away") for i, origin, by, at in rows]
        return clear(connection, "absences", gone, who, said)
    if sent_already(connection, "absences", row["request_id"]):
        return False, SENT
    append(connection, "absences", row)
    return True, said


async def _written(
    datasette: Any, request: Any, before: State, row: Mapping[str, Any], who: Writer,
    work: Callable[[sqlite3.Connection], Came],
) -> Response:  # fmt: skip
    """Writes, lays the day out anew, and says what came of it on the day's page."""
    is_new, words = await write(datasette.get_database(DATABASE), work)
    if is_new:
        await replan_for(datasette, before, str(row["request_id"]), who)
    if request.path.endswith(".json"):
        return data({"written": True, "said": words}) if is_new else refused(words)
    return Response.redirect(f"/prep/day?{urlencode({'said': words})}", status=303)


async def _again(
    datasette: Any, request: Any, words: str, sure: str = "", fields: Mapping[str, str] | None = None
) -> Response:
    """The day's page with why nothing was written; where a number is asked about, its form once more to say yes."""
    if request.path.endswith(".json"):
        return refused(words, {FIELD: sure} if sure else None)
    found = await query(datasette, lambda connection: the_day(connection, words))
    asked = {name: (fields or {}).get(name, "")[:60] for name in ("on", "service", "dish", "number")} if sure else {}
    found = replace(found, said=words, sure=sure, asked=asked)
    return await html(datasette, request, "prep/day.html", found, status=400)
