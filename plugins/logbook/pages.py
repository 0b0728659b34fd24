"""/log, its forms, and what they wrote down."""

from __future__ import annotations

import sqlite3
from collections.abc import Awaitable, Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from functools import cache
from importlib.resources import files
from typing import Any
from urllib.parse import urlencode

from datasette.utils.asgi import Response
from stillroom.db.connect import write
from stillroom.db.faults import fault_of
from stillroom.db.log import sent_already
from stillroom.plugins.core.auth import DATABASE, decide, role_of
from stillroom.plugins.core.format import beside_celsius
from stillroom.plugins.core.forms import posted, request_id
from stillroom.plugins.core.pages import NotFound, data, html, page, query, refuse
from stillroom.plugins.core.sign import Writer, may_undo, writer
from stillroom.plugins.logbook.book import now_of, open_book
from stillroom.plugins.logbook.drawn import Row, draw, lists_of, spared
from stillroom.plugins.logbook.entries import (
    Gone,
    Read,
    Written,
    data_of,
    lately,
    money_of,
    put,
    read_entry,
    request_name,
    undo,
)
from stillroom.plugins.logbook.fields import Book, Field, Taken
from stillroom.plugins.logbook.form import Form, Rows
from stillroom.plugins.logbook.forms import BY_TABLE, FORMS
from stillroom.plugins.logbook.offers import Order, cuts_of, orders_of, taps_of, typed_first
from stillroom.plugins.logbook.reading import is_sure, read_fields
from stillroom.plugins.logbook.shown import again, local, onward

MOST_BYTES = 300_000
KEPT_FOR = timedelta(days=14)  # how long an entry may wait on a tablet before it is written down as of now
KEPT = "Nothing was written: your entry stands below."
TAKEN = "Somebody wrote this down or took it back in the meantime. Look at it before you write it again."


@dataclass(frozen=True)
class FormPage:
    """A form, with what was typed and what is wrong with it."""

    form: Form
    rows: Sequence[Row]
    names: Mapping[str, Sequence[str]]
    hidden: Mapping[str, str]
    wrong: Mapping[str, str] = field(default_factory=dict)
    ask: Mapping[str, str] = field(default_factory=dict)
    problem: str = ""
    orders: Sequence[Order] = ()
    cuts: Sequence[tuple[str, str]] = ()
    who: str = ""
    is_sent: bool = False

    @property
    def is_more_open(self) -> bool:
        """Whether what is asked less often says something already."""
        return any(row.is_aside and row.says for row in self.rows)

    def as_json(self) -> dict[str, Any]:
        drawn = {cell.field.name for row in self.rows for cell in row.fields}
        offered = [f for f in self.form.fields if not f.office or f.name in drawn]
        return {
            "form": self.form.slug, "title": self.form.title, "written": False, "wrong": dict(self.wrong),
            "ask": dict(self.ask), "problem": self.problem,
            "fields": [{"name": f.name, "label": f.label, "kind": f.kind,
            "needed": f.required} for f in offered],
        }  # fmt: skip


@dataclass(frozen=True)
class LogPage:
    """The list of forms, and what was written here lately."""

    forms: Sequence[Form]
    lately: Sequence[Written]
    said: Mapping[str, str]

    def when(self, written: Written) -> str:
        return local(written.at, self.said)

    def as_json(self) -> dict[str, Any]:
        return {
            "forms": [{"form": f.slug, "title": f.title, "table": f.table} for f in self.forms],
            "lately": [vars(w) for w in self.lately],
        }  # fmt: skip


@page("logbook/log.html", needs="log")
async def log(datasette: Any, request: Any) -> LogPage:
    from stillroom.db.kitchen import settings

    role = role_of(request.actor)
    forms = [form for form in FORMS.values() if decide(role, form.needs)]
    return await query(datasette, lambda c: LogPage(forms, lately(c), settings(c)))


@page("logbook/form.html", needs="log", methods=("GET", "HEAD", "POST"))
async def form(datasette: Any, request: Any) -> Any:
    found = FORMS.get(request.url_vars["form"])
    if found is None:
        raise NotFound("There is no such form. The list of them is the page Log.")
    if not decide(role_of(request.actor), found.needs):
        return await refuse(datasette, request)
    if request.method != "POST":
        typed = {name: request.args.get(name) or "" for name in request.args}
        return await query(datasette, lambda c: _open(c, found, typed, request))
    typed = await posted(request, MOST_BYTES)
    return await _sent(datasette, request, found, typed)


def _open(connection: sqlite3.Connection, found: Form, typed: dict[str, str], request: Any) -> FormPage:
    """An empty form, with what the address says typed into it."""
    book = open_book(connection, found, typed, now_of(connection))
    typed = typed_first(connection, found, typed, book)
    return _page(connection, found, typed, book, None, request)


def _page(
    connection: sqlite3.Connection, found: Form, typed: Mapping[str, str], book: Book, taken: Taken | None, request: Any
) -> FormPage:
    office = decide(role_of(request.actor), "money")
    typed = typed_first(connection, found, dict(typed), book) if found.slug == "breakdown" else typed
    taps = taps_of(connection, found, typed, book)
    hidden = {"request": typed.get("request", "")[:64] or request_id(), "voids": typed.get("voids", "")[:12],
              "expected": typed.get("expected", "")[:200] if found.slug == "delivery" else "",
              "made-at": typed.get("made-at", "")[:40]}  # fmt: skip
    orders = orders_of(book) if found.slug == "delivery" and not hidden["expected"] else ()
    cuts = cuts_of(found, typed, book)
    taps = {name: offered for name, offered in taps.items() if not (cuts and name == found.subject)}
    drawn = draw(found, typed, book, taken, taps, office)
    rows = spared([row for row in drawn if row.fields[0].field.name != "expected"])
    return FormPage(
        found, rows, lists_of(found, book), {k: v for k, v in hidden.items() if v},
        {} if taken is None else taken.wrong,
        {} if taken is None else taken.ask, "", orders, cuts, typed.get("who", "")[:80], taken is not None,
    )  # fmt: skip


def read_form(found: Form, typed: Mapping[str, str], book: Book, office: bool) -> Taken:
    """What a form's fields come to, alone and together. Pure.

    Args:
        office: whether whoever sends it may see money; otherwise what they sent of it is left out.
    """
    fields: tuple[Field, ...] = found.fields
    if not office:
        typed = {k: v for k, v in typed.items() if not any(f.office and k.split("-")[0] == f.name for f in fields)}
    taken = read_fields(fields, typed, book)
    says = found.check(taken.values, book)
    wrong = {**says.wrong, **taken.wrong}
    asked = {name: words for name, words in says.ask.items() if not _confirmed(fields, name, typed)}
    return Taken(taken.values, _as_read(wrong, book), _as_read({**asked, **taken.ask}, book))


def _as_read(told: Mapping[str, str], book: Book) -> dict[str, str]:
    """Words beside fields: the law's °F as printed, with °C beside it where the kitchen is metric."""
    return {name: beside_celsius(words, book.settings["units"]) for name, words in told.items()}


def _confirmed(fields: Sequence[Field], name: str, typed: Mapping[str, str]) -> bool:
    one = next(f for f in fields if f.name == name)
    return is_sure(one, typed)


def moment_of(typed: Mapping[str, str], now: datetime) -> datetime:
    """When an entry was made: now, or as long ago as it waited on a tablet. The tablet's clock may be wrong: only the
    time between its two moments is taken from it."""
    try:
        made, sent = (datetime.fromisoformat(typed[k][:40].replace("Z", "+00:00")) for k in ("made-at", "sent-at"))
        waited = sent - made
    except (KeyError, ValueError, TypeError, OverflowError):
        return now
    return now - waited if timedelta(0) <= waited <= KEPT_FOR else now


async def _sent(datasette: Any, request: Any, found: Form, typed: dict[str, str]) -> Any:
    office = decide(role_of(request.actor), "money")

    key = request_name(typed.get("request", ""))

    def work(connection: sqlite3.Connection) -> tuple[Taken, Book, tuple[int, str] | None, FormPage | None]:
        book = open_book(connection, found, typed, moment_of(typed, now_of(connection)))
        taken, sent = read_form(found, typed, book, office), sent_already(connection, found.table, key)
        is_good = sent is not None or not (taken.wrong or taken.ask)
        return taken, book, sent, None if is_good else _page(connection, found, typed, book, taken, request)

    taken, book, sent, refused = await query(datasette, work)
    if refused is not None:
        return refused

    async def back(problem: str) -> FormPage:
        kept = typed | {"request": ""} if problem == TAKEN else typed  # written after all, it is another entry
        made: FormPage = await query(datasette, lambda c: _page(c, found, kept, book, taken, request))
        return replace(made, problem=problem)

    signed = await writer(datasette, request, typed)
    if isinstance(signed, str):
        return await back(signed)
    if not decide(signed.role, found.needs):
        return await back("Not yours to write: ask the chef.")
    if sent is not None:  # a second tap: what it wrote itself stands in its way by now
        return _shown(request, found, sent[0]) if sent[1] == signed.name else await back(TAKEN)
    rows = found.rows(taken.values, book)
    if book.replaces:
        rows[0][1]["voids"] = book.replaces

    def is_stale(connection: sqlite3.Connection) -> bool:
        if not found.alone:
            return False
        return bool(read_form(found, typed, open_book(connection, found, typed, book.now), office).wrong)

    return await _write(datasette, request, Sent(found, rows, key, is_stale), signed, back)


@dataclass(frozen=True)
class Sent:
    """A form to be written. is_stale: whether another was quicker, asked once the file is held."""

    form: Form
    rows: Rows
    request: str
    is_stale: Callable[[sqlite3.Connection], bool]


async def _write(
    datasette: Any,
    request: Any,
    sent: Sent,
    signed: Writer,
    back: Callable[[str], Awaitable[FormPage]],
) -> Any:
    """Writes the entry and shows it; where the file is held too long, the form as it was, to be sent again."""
    found, rows = sent.form, sent.rows
    as_data, office = request.path.endswith(".json"), decide(role_of(request.actor), "money")
    if not sent.request:
        return await back("Open the form again: this one has lost its number.")

    def work(connection: sqlite3.Connection) -> int:
        voids = rows[0][1].get("voids")
        if voids is not None and not _may_replace(connection, found.table, voids, signed):
            raise Gone
        if sent.is_stale(connection):
            raise Gone
        if voids is not None and not office:
            rows[0][1].update(money_of(connection, found.table, rows[0][1]))
        return put(connection, found, rows, sent.request, signed)

    try:
        entry = await write(datasette.get_database(DATABASE), work)
    except Gone:
        return await back(TAKEN)
    except (sqlite3.DatabaseError, OSError) as error:
        fault = fault_of(error)
        if fault is None:
            raise
        busy = await back(f"{fault.what} {KEPT} {fault.do}")
        return (
            data(busy.as_json(), 503)
            if as_data
            else await html(datasette, request, "logbook/form.html", busy, status=503)
        )
    return _shown(request, found, entry)


def _shown(request: Any, found: Form, entry: int) -> Response:
    """An entry that is written, to be looked at."""
    address = f"/log/{found.table}/{entry}"
    if request.path.endswith(".json"):
        return data({"written": True, "entry": address})
    return Response.redirect(address, status=303)


def _may_replace(connection: sqlite3.Connection, table: str, entry: int, signed: Writer) -> bool:
    """Whether an entry may be corrected by another: its writer's own, an order by anybody, any by chef and manager."""
    row = connection.execute(f"select * from {table} where id = ?", (entry,)).fetchone()
    if row is None:
        return False
    columns = [c[1] for c in connection.execute(f"pragma table_info({table})")]
    said = dict(zip(columns, row, strict=True))
    is_order = table == "deliveries" and said["ordered"] is not None and float(said["received"]) == 0
    return is_order or may_undo(said, signed)


@dataclass(frozen=True)
class EntryPage:
    """An entry as it was written down, and what may be done with it."""

    read: Read
    when: str
    may_undo: bool
    again: str
    units: str
    problem: str = ""

    @property
    def onward(self) -> list[tuple[str, str]]:
        """Where one goes from here."""
        read = self.read
        return onward(read.table, read.id, read.row, bool(read.notes)) if read.stands else []

    def as_json(self) -> dict[str, Any]:
        return data_of(self.read, self.units) | {"when": self.when, "may be taken back": self.may_undo}


def _entry(connection: sqlite3.Connection, request: Any) -> EntryPage:
    from stillroom.db.kitchen import settings

    role = role_of(request.actor)
    read = read_entry(
        connection, request.url_vars["table"], int(request.url_vars["entry"]), decide(role, "money"), now_of(connection)
    )
    if read is None:
        raise NotFound("There is no such entry.")
    name = "" if request.actor is None else str(request.actor.get("name", ""))
    may = role == "station" or may_undo(read.row, Writer(name, role))
    said = settings(connection)
    names = tuple(f.name for f in read.form.fields if not f.office or decide(role, "money"))
    typed = again(read.row, names, said)
    return EntryPage(
        read,
        local(read.row["recorded_at"], said),
        may and read.stands,
        f"/log/{read.form.slug}?{urlencode(typed)}",
        said["units"],
    )


@page("logbook/entry.html", needs="log")
async def entry(datasette: Any, request: Any) -> EntryPage:
    return await query(datasette, lambda c: _entry(c, request))


@page("logbook/entry.html", needs="log", methods=("POST",))
async def take_back(datasette: Any, request: Any) -> Any:
    """Takes an entry back: for whoever wrote it, and for chef and manager always."""
    typed = await posted(request, MOST_BYTES)
    shown = await query(datasette, lambda c: _entry(c, request))
    signed = await writer(datasette, request, typed)
    if isinstance(signed, str):
        return replace(shown, problem=signed)
    if not may_undo(shown.read.row, signed):
        return replace(shown, problem="Only whoever wrote it, the chef or the manager takes it back.")
    table, number = shown.read.table, shown.read.id
    if shown.read.stands:
        await write(datasette.get_database(DATABASE), lambda c: undo(c, table, number, signed))
    address = f"/log/{table}/{number}"
    return data({"taken back": address}) if request.path.endswith(".json") else Response.redirect(address, status=303)


TABLES = "|".join(sorted(BY_TABLE))
SLUGS = "|".join(sorted(FORMS))


@page("", needs="log")
async def token(datasette: Any, request: Any) -> Response:
    """A fresh token for entries that waited on a tablet; an answer at all says that the kitchen can be reached."""
    make = request.scope.get("csrftoken")
    return data({"token": make() if make else ""})


@cache
def _worker() -> str:
    return files("stillroom.plugins.core").joinpath("static/sw.js").read_text("utf-8")


@page("", needs="sign-in")
async def worker(datasette: Any, request: Any) -> Response:
    """The script that keeps pages for when there is no connection, served from the root so that it covers them all."""
    headers = {"service-worker-allowed": "/", "cache-control": "no-cache"}
    return Response(_worker(), headers=headers, content_type="text/javascript; charset=utf-8")
