"""What people do on the list: tick, part done, burnt, begun, taken back."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from typing import Any
from urllib.parse import urlencode

from datasette.utils.asgi import Response
from stillroom.db import cut_up, date_marks
from stillroom.db.connect import write
from stillroom.db.exact import exact_text, nine_places
from stillroom.db.kitchen import moment, settings, today
from stillroom.db.log import append, instant, sent_already, take_back
from stillroom.db.number import whole
from stillroom.db.problems import quoted
from stillroom.db.quantity import ReadError, read_quantity
from stillroom.db.units import to_base
from stillroom.plugins.core.auth import DATABASE
from stillroom.plugins.core.forms import posted, request_id
from stillroom.plugins.core.pages import NotFound, data, html, page, query
from stillroom.plugins.core.sign import Writer, may_undo, writer
from stillroom.plugins.core.sure import FIELD, Ask, far, is_sure, refusal, refused
from stillroom.plugins.prep.day import SLOT, Work
from stillroom.plugins.prep.pages import Prep, answer, with_body
from stillroom.plugins.prep.rows import ask, plan_text
from stillroom.plugins.prep.state import State, read_state, replanned, state_version
from stillroom.plugins.prep.words import Words

STATES = ("started", "part", "done", "burnt")
HEAT = ("started", "done")  # lit or switched on; hot
SENT = "That was written down already: what was sent first stands. If something else is meant, tap again."
MOST = 10**9
# The units a cook is told to write, by whether the kitchen is metric and what the recipe is kept by.
UNITS = {(True, "g"): ("kg", "g"), (True, "ml"): ("l", "ml"), (False, "g"): ("lb", "oz"), (False, "ml"): ("qt", "cup")}


@dataclass(frozen=True)
class Tick:
    """One tap: the task, what became of it, how much [base unit]; None where the task has no quantity."""

    work: Work
    state: str
    quantity: Fraction | None
    request: str
    who: str


def made_of(connection: sqlite3.Connection, work: Work, text: str) -> Fraction:
    """A typed quantity in the recipe's unit; what the list asks for where nothing is typed.

    Raises:
        ReadError: it can't be read, is not above zero, or is a number without a unit of what is not counted.
    """
    said = settings(connection)
    row = connection.execute("select yield_unit, yield_quantity from recipes where id = ?", (work.thing,)).fetchone()
    if row is None:
        raise NotFound("That recipe is no longer in the kitchen's files.")
    if not text and work.quantity:
        return nine_places(work.quantity)
    rows = connection.execute("select measure, quantity from recipe_measures where recipe_id = ?", (work.thing,))
    measures = {measure: Fraction(quantity) for measure, quantity in rows}
    typed = read_quantity(text, said["decimal mark"], said["units"])
    if typed.unit_text.rstrip("s") == "batch" or typed.unit_text == "batches":
        found = typed.number * Fraction(row[1])
    elif not typed.unit_text and row[0] != "each":  # 1 beside "1 kg" is a kg to one cook and a g to another
        told = f"{quoted(text[:20])} has no unit"
        raise ReadError("unit-unknown", told, "", f"write {_with_unit(text[:20], row[0], said)}")
    else:
        found = to_base(typed.number, typed.unit_text, row[0], measures, said["units"])
    if found <= 0:
        raise ReadError("quantity-low", f"{text[:20]} is nothing", "", "write how much was made, above 0")
    if found >= MOST:
        raise ReadError("quantity-high", f"{text[:20]} can't be", "", f"write less than {MOST // 1000:,} kg or l")
    return nine_places(found)


def _with_unit(number: str, base: str, said: Mapping[str, str]) -> str:
    """A number with the units that it can be of: '1 kg or 1 g'."""
    units = UNITS[said["units"] == "metric", base]
    return " or ".join(f"{number} {unit}" for unit in units)


def request_of(kind: str, fields: Mapping[str, str]) -> str:
    """What the sending of a form is kept under: with its kind before it, it is never that of another sort of entry."""
    return f"{kind}-{fields.get('request_id', '')[:200] or request_id()}"


def put_tick(connection: sqlite3.Connection, seen: str, tick: Tick) -> bool:
    """Writes a tick down; False: the form was sent before, or somebody was quicker and the task is off the list.

    Args:
        connection: inside a transaction, so that of two who tap at once one is told.
        seen: version of the list that the task stood on.
    """
    if sent_already(connection, "task_ticks", tick.request):
        return False
    there = tick.work if state_version(connection) == seen else read_state(connection).day.works.get(tick.work.key)
    if there is None or there.kind != tick.work.kind:
        return False
    write_tick(connection, tick)
    return True


def write_tick(connection: sqlite3.Connection, tick: Tick) -> None:
    """The tick, and the batch that came of it.

    A burnt one is a batch that was thrown away, so that what went into it is gone from the stock.
    """
    said = settings(connection)
    now = moment(said)
    on = today(connection)
    common = {"actor": tick.who, "origin": "web", "recorded_at": instant(now if said["today"] else None)}
    row: dict[str, Any] = {
        **common, "request_id": tick.request, "prep_on": on.isoformat(), "kind": tick.work.kind, "state": tick.state,
    }  # fmt: skip
    if tick.work.is_heat:
        hot_at = now + timedelta(seconds=tick.work.task.slots * SLOT) if tick.state == "started" else now
        row |= {"kind": "light", "ends_at": instant(hot_at)}
        append(connection, "task_ticks", {**row, "equipment_id": tick.work.thing})
        return
    (unit, days, unmarked, station) = connection.execute(
        "select yield_unit, shelf_life_days, no_date_mark, station_id from recipes where id = ?", (tick.work.thing,)
    ).fetchone()
    quantity = exact_text(tick.quantity or Fraction(0))
    before = cut_up.given(connection, tick.work.thing, on.isoformat(), on.isoformat())
    row |= {"recipe_id": tick.work.thing, "unit": unit, "quantity": quantity,
            "planned": exact_text(nine_places(tick.work.quantity)),
            "cut_before": exact_text(nine_places(before)) if before else None}  # fmt: skip
    if tick.state == "started":
        row["ends_at"] = instant(now + timedelta(seconds=tick.work.task.slots * SLOT))
    if tick.work.kind in {"make", "under way"} and tick.state != "started":
        batch = _batch(connection, tick, common, on, (unit, date_marks.Life(days, unmarked), station))
        row |= {"kind": "make", "batch_id": batch}
    if tick.work.kind == "thaw" and tick.state == "done":
        _thaw(connection, tick, common, on)
    append(connection, "task_ticks", row)


def _batch(
    connection: sqlite3.Connection,
    tick: Tick,
    common: Mapping[str, Any],
    on: date,
    of: tuple[str, date_marks.Life, str],
) -> int:
    """Writes the batch down with its date mark, and away again where it burnt."""
    unit, life, station = of
    quantity = exact_text(tick.quantity or Fraction(0))
    (number,) = ask(connection, "batches_today", day=on.isoformat())[0]
    use_by = date_marks.keeps(on, life).last_on
    batch = append(connection, "batches", {
        **common, "request_id": f"{tick.request}-batch", "recipe_id": tick.work.thing, "quantity": quantity,
        "unit": unit,
        "lot_code": f"{on:%m%d}-P{number + 1:02}", "made_on": on.isoformat(), "made_at": common["recorded_at"],
        "use_by": use_by.isoformat() if use_by else None, "station_id": station, "from_lots": tick.work.lot,
    })  # fmt: skip
    if tick.state == "burnt":
        append(connection, "batch_uses", {
            **common, "request_id": f"{tick.request}-lost", "batch_id": batch, "recipe_id": tick.work.thing,
            "used_on": on.isoformat(), "quantity": quantity, "unit": unit, "what": "discarded", "reason": "burnt",
        })  # fmt: skip
    return batch


def _thaw(connection: sqlite3.Connection, tick: Tick, common: Mapping[str, Any], on: date) -> None:
    """Takes the recipe's frozen batches out of the freezer, the oldest first, until it is enough."""
    left = tick.quantity or Fraction(0)
    for lot, quantity in ask(connection, "frozen_lots", recipe=tick.work.thing):
        if left <= 0:
            break
        append(connection, "batch_freezes", {
            **common, "request_id": f"{tick.request}-{lot}", "recipe_id": tick.work.thing, "lot_code": lot,
            "what": "thawed", "moved_on": on.isoformat(),
        })  # fmt: skip
        left -= Fraction(quantity)


def write_plan(connection: sqlite3.Connection, state: State, request: str, who: str) -> None:
    """The plan as it stands after a change, for the next one to start from."""
    append(connection, "prep_plans", {
        "request_id": f"{request}-plan", "actor": who, "origin": "web", "prep_on": state.coming.today.isoformat(),
        "plan": plan_text(dict(state.laid.places)),
    })  # fmt: skip


@page("prep/list.html", needs="prep", methods=("POST",))
async def tick(datasette: Any, request: Any) -> Any:
    fields = await posted(request, 20_000)
    who = await writer(datasette, request, fields)
    before = await query(datasette, read_state)
    work = before.day.works.get(fields.get("key", ""))
    state = fields.get("state", "")
    if isinstance(who, str) or state not in (HEAT if work is not None and work.is_heat else STATES):
        return await _again(datasette, request, fields, who if isinstance(who, str) else "Tap one of the buttons.")
    if work is None or work.kind == "hang":  # a piece is hung in the log
        return await _gone(datasette, request, fields)
    text = fields.get("made", "").strip()
    try:
        quantity = None if work.is_heat else await query(datasette, lambda c: made_of(c, work, text))
    except ReadError as error:
        return await _again(datasette, request, fields, refusal(error), work.key)
    doubt = size_of(before, work, text, quantity)
    if doubt is not None and not is_sure(fields, doubt):
        return await _again(datasette, request, fields, doubt.question, work.key, doubt.said)
    one = Tick(work, state, quantity, request_of("tick", fields), who.name)
    if not await write(datasette.get_database(DATABASE), lambda c: put_tick(c, before.version, one)):
        return await _gone(datasette, request, fields)
    await replan_for(datasette, before, one.request, who)
    words = _told(one, Words(before).name(work.thing))
    return data({"written": True, "said": words}) if request.path.endswith(".json") else back(fields, words)


def size_of(state: State, work: Work, text: str, quantity: Fraction | None) -> Ask | None:
    """The question about far more than the list asks for, a whole batch at least."""
    recipe = state.coming.recipes.get(work.thing)
    if quantity is None or recipe is None:
        return None
    return far(text, quantity, work.quantity, "the list", recipe.batch)


def _told(one: Tick, name: str) -> str:
    words = {"started": "begun", "part": "part done", "done": "done", "burnt": "lost; the list has it again"}
    if one.work.is_heat:
        words = {"started": "on, and heating", "done": "hot"}
    more = f" Write the breakdown of {one.work.lot} in the log." if one.work.lot and one.state != "burnt" else ""
    return f"{name}: {words[one.state]}.{more}"


async def replan_for(datasette: Any, before: State, request: str, who: Writer) -> None:
    """Lays the day out anew after something changed, from how it stood before, and keeps the plan."""
    after = await query(datasette, lambda connection: replanned(connection, before.laid.places))
    await write(datasette.get_database(DATABASE), lambda c: write_plan(c, after, request, who.name))


async def _gone(datasette: Any, request: Any, fields: Mapping[str, str]) -> Any:
    """Nothing was written: a second tap of the same form, or somebody was quicker."""
    sent = request_of("tick", fields)
    words = "That is no longer on the list: somebody ticked it, or the need is gone. Nothing was written."
    if await query(datasette, lambda connection: sent_already(connection, "task_ticks", sent)):
        words = SENT
    return refused(words) if request.path.endswith(".json") else back(fields, words)


async def _again(
    datasette: Any, request: Any, fields: Mapping[str, str], words: str, key: str = "", sure: str = ""
) -> Response:
    """The list again with what was typed, why nothing was written, and a box where it was asked about; or as data."""
    if request.path.endswith(".json"):
        return refused(words, {FIELD: sure} if sure else None)
    station, person = fields.get("station", "")[:60], fields.get("person", "")[:60]
    found = await query(datasette, lambda connection: answer(connection, station, person))
    made = Prep(found, fields.get("request_id", "") or request_id(), words, fields.get("made", "")[:60], key, sure)
    return await html(datasette, request, "prep/list.html", await with_body(datasette, request, made), status=400)


def back(fields: Mapping[str, str], said: str) -> Response:
    """To the list that the form came from."""
    kept = {k: v[:60] for k in ("station", "person") if (v := fields.get(k, ""))}
    return Response.redirect(f"/prep?{urlencode(kept | {'said': said})}", status=303)


def undo_tick(connection: sqlite3.Connection, number: int, who: str) -> None:
    """Takes back a tick with all that was written down with it: a batch, its loss, what came out of the freezer."""
    for table, entry in [("task_ticks", number), *ask(connection, "came_of", tick=number)]:
        take_back(connection, table, entry, who)


@page("prep/list.html", needs="prep", methods=("POST",))
async def undo(datasette: Any, request: Any) -> Any:
    """Takes a tick back, and the batch that it wrote."""
    fields = await posted(request, 20_000)
    who = await writer(datasette, request, fields)
    if isinstance(who, str):
        return await _again(datasette, request, fields, who)
    number = whole(fields.get("tick", "")) or 0
    before = await query(datasette, read_state)
    rows = await query(datasette, lambda connection: ask(connection, "tick_writer", tick=number))
    if not rows or all(t[0] != number for t in before.ticks):
        return back(fields, "There is no such tick today. Nothing was changed.")
    ((origin, by),) = rows
    if not may_undo({"origin": origin, "actor": by}, who):
        return back(fields, f"{by} ticked that: they, the chef or the manager can take it back. Nothing was changed.")

    await write(datasette.get_database(DATABASE), lambda c: undo_tick(c, number, who.name))
    await replan_for(datasette, before, f"undo-{number}-{len(before.version)}", who)
    return back(fields, "Taken back.")
