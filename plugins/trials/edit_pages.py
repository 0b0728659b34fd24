"""/trials/start, /trials/new and /trials/ID/edit: a version is written whole, and never over another's."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any
from urllib.parse import urlencode

from datasette.utils.asgi import Response
from stillroom.db.connect import write
from stillroom.db.drafts import Draft, DraftLine, check_in, draft_of
from stillroom.db.kitchen import today
from stillroom.db.log import append
from stillroom.db.names import fold, slug
from stillroom.db.number import whole
from stillroom.db.problems import Place, Problem
from stillroom.db.promotions import version_of
from stillroom.db.recipe_lines import names_of
from stillroom.db.search_index import put_trial
from stillroom.plugins.core.auth import DATABASE
from stillroom.plugins.core.forms import posted, request_id
from stillroom.plugins.core.pages import NotFound, html, page, query
from stillroom.plugins.core.sign import writer
from stillroom.plugins.trials.compute import Row, diff
from stillroom.plugins.trials.form import SPARE, Typed, columns, head_problems, is_same, typed
from stillroom.plugins.trials.pages import NO_TRIAL
from stillroom.plugins.trials.rows import ask, parts_of

EDIT = "trials/edit.html"


@dataclass(frozen=True)
class Conflict:
    """Somebody else saved a version while this form was open: theirs, and how the two differ.

    names: what theirs calls the dish, and what this form does.
    """

    version: int
    who: str
    names: tuple[str, str]
    rows: list[Row]


@dataclass(frozen=True)
class EditPage:
    """The form of a version.

    Attributes:
        trial, called: its id and name; '' for a new one.
        wrong: field -> problem.
        seen: the last version there is.
    """

    trial: str
    called: str
    draft: Draft
    seen: int
    based_on: int
    request: str
    stations: list[str]
    surfaces: list[str]
    sections: list[str]
    wrong: dict[str, Problem] = field(default_factory=dict)
    conflict: Conflict | None = None
    checked: bool = False
    spare: int = SPARE
    signed_who: str = ""

    @cached_property
    def rows(self) -> list[tuple[int, DraftLine, Problem | None]]:
        """Lines of the form with what is wrong with each, and some empty ones."""
        lines = [*self.draft.lines, *[DraftLine("")] * self.spare]
        return [(n, line, self.wrong.get(f"line{n}")) for n, line in enumerate(lines, 1)]

    @property
    def action(self) -> str:
        return f"/trials/{self.trial}/edit" if self.trial else "/trials/new"

    @property
    def count(self) -> int:
        """How many things are wrong."""
        return len(self.wrong)


@page("core/plain.html", needs="trials", methods=("POST",))
async def start(datasette: Any, request: Any) -> Response:
    """A new trial from a dish: version 1 is the dish as it is. From nothing: an empty form."""
    fields = await posted(request)
    dish = fields.get("from", "")
    if not dish:
        return Response.redirect(f"/trials/new?{urlencode({'name': fields.get('name', '')})}", status=303)
    signed = await writer(datasette, request, fields)
    if isinstance(signed, str):
        raise NotFound(signed)
    row = {"request_id": f"start-{dish}", "actor": signed.name, "origin": "web"}
    there = await write(datasette.get_database(DATABASE), lambda connection: _copy(connection, dish, row))
    if not there:
        raise NotFound("There is no such dish, or it is a cut. Choose one from the list on the page Trials.")
    return Response.redirect(f"/trials/{dish}/edit", status=303)


def _copy(connection: sqlite3.Connection, dish: str, row: Mapping[str, Any]) -> bool:
    """Version 1 of a dish's trial; a trial that is there stays as it is."""
    if ask(connection, "versions", trial=dish):
        return True
    draft = draft_of(connection, dish)
    if draft is None:
        return False
    own = draft.name if slug(draft.name) == dish else dish.replace("-", " ").capitalize()  # what its id is made of
    said = columns(draft, (dish, own), 1, 0, dish) | {"note": "The dish as it is"}
    append(connection, "trial_versions", {**row, **said, "written_on": today(connection).isoformat()})
    put_trial(connection, dish)
    return True


@page(EDIT, needs="trials", methods=("GET", "HEAD", "POST"))
async def new(datasette: Any, request: Any) -> Any:
    if request.method == "POST":
        return await _sent(datasette, request, "")
    name = " ".join((request.args.get("name") or "").split())[:200]
    return await query(datasette, lambda connection: _form(connection, "", Draft(name, yield_text="1 plate"), 0, 0))


@page(EDIT, needs="trials", methods=("GET", "HEAD", "POST"))
async def edit(datasette: Any, request: Any) -> Any:
    trial = request.url_vars["trial"]
    if request.method == "POST":
        return await _sent(datasette, request, trial)
    asked = request.args.get("from") or ""

    def work(connection: sqlite3.Connection) -> EditPage:
        numbers = [row[0] for row in ask(connection, "versions", trial=trial)]
        wanted = whole(asked) or 0
        based_on = wanted if wanted in numbers else max(numbers, default=0)
        draft = version_of(connection, trial, based_on)
        if draft is None:
            raise NotFound(NO_TRIAL)
        return _form(connection, trial, Draft(**{**vars(draft), "note": ""}), max(numbers), based_on)

    return await query(datasette, work)


def _form(
    connection: sqlite3.Connection, trial: str, draft: Draft, seen: int, based_on: int, **more: Any
) -> EditPage:  # fmt: skip
    stations = [n for (n,) in connection.execute("select name from stations order by position, name")]
    surfaces = [n for (n,) in connection.execute("select name from surfaces order by name")]
    sections = [n for (n,) in connection.execute("select distinct section from recipes where section <> '' order by 1")]
    made = {"request": request_id(), "stations": stations, "surfaces": surfaces, "sections": sections, **more}
    return EditPage(trial, _called(connection, trial) if trial else "", draft, seen, based_on, **made)


async def _sent(datasette: Any, request: Any, trial: str) -> Any:
    """A form that came in: saved, or shown again with all that was typed and what is wrong."""
    fields = await posted(request)
    was = await query(datasette, lambda connection: _called(connection, trial)) if trial else ""
    sent = typed(fields, was)
    wrong = await query(datasette, lambda connection: _problems(connection, trial, sent, was))
    signed = await writer(datasette, request, fields) if sent.act == "save" and not wrong else None
    if isinstance(signed, str):
        wrong = {"who": Problem("form", Place("who"), signed)}
    if sent.act != "save" or wrong or signed is None or isinstance(signed, str):
        shown = {} if sent.act == "more" else wrong
        again = await query(datasette, lambda c: _again(c, trial, sent, wrong=shown, checked=sent.act == "check"))
        return await html(datasette, request, EDIT, again, status=400 if wrong and sent.act == "save" else 200)
    row = {"request_id": f"version-{sent.request}", "actor": signed.name, "origin": "web"}
    saved = await write(datasette.get_database(DATABASE), lambda c: _save(c, trial or slug(sent.draft.name), sent, row))
    if isinstance(saved, EditPage):
        return await html(datasette, request, EDIT, saved, status=409)
    return Response.redirect(f"/trials/{saved}", status=303)


def _called(connection: sqlite3.Connection, trial: str) -> str:
    """What the last version of a trial calls it."""
    rows = ask(connection, "versions", trial=trial)
    if not rows:
        raise NotFound(NO_TRIAL)
    return str(rows[-1][6])


def _problems(connection: sqlite3.Connection, trial: str, sent: Typed, was: str) -> dict[str, Problem]:
    taken = _taken(connection, trial, sent)
    head = head_problems(sent.draft, sent, taken, was)
    checked = check_in(connection, sent.draft, trial or slug(sent.draft.name), names_of(connection))
    return {**head, **checked.problems}


def _taken(connection: sqlite3.Connection, trial: str, sent: Typed) -> list[str]:
    """What has a name already, beside what `check_in` tells; what this very form has made does not count."""
    name, request = sent.draft.name, f"version-{sent.request}"
    rows = [] if trial else ask(connection, "taken", id=slug(name))
    done = connection.execute("select trial_id from trial_versions where request_id = ?", (request,)).fetchone()
    own = done[0] if done else trial
    trials = {i: fold(called) for i, called, *_ in ask(connection, "trials") if i != own}
    is_trials = slug(name) in trials or fold(name) in trials.values()
    return [f"the {kind} {quoted}" for quoted, kind in rows] or ["a trial"] * is_trials


def _again(connection: sqlite3.Connection, trial: str, sent: Typed, **more: Any) -> EditPage:
    """The form with all that was typed."""
    return _form(
        connection, trial, sent.draft, sent.seen, sent.based_on, request=sent.request or request_id(),
        spare=sent.spare, signed_who=sent.who, **more,
    )  # fmt: skip


def _save(connection: sqlite3.Connection, trial: str, sent: Typed, row: Mapping[str, Any]) -> str | EditPage:
    """The trial's id once the next version is written; the form again where it can't be, with words why.

    A form carries the last version that its writer saw. If there is a later one by now, nothing is written.
    """
    done = connection.execute("select 1 from trial_versions where request_id = ?", (row["request_id"],)).fetchone()
    if done:
        return trial
    versions = ask(connection, "versions", trial=trial)
    latest = max((v[0] for v in versions), default=0)
    if latest != sent.seen:
        return _conflict(connection, trial, sent, latest, versions[-1][4])
    last = version_of(connection, trial, sent.based_on)
    if last is not None and is_same(last, sent.draft):
        same = Problem("form", Place("form"), f"this is version {sent.based_on} as it stands", "", "change something")
        return _again(connection, trial, sent, wrong={"form": same})
    own = versions[0][7] if versions else sent.draft.name
    said = columns(sent.draft, (trial, own), latest + 1, sent.based_on, None)
    append(connection, "trial_versions", {**row, **said, "written_on": today(connection).isoformat()})
    put_trial(connection, trial)
    return trial


def _conflict(connection: sqlite3.Connection, trial: str, sent: Typed, latest: int, who: str) -> EditPage:
    """Both versions, nothing written; sent again, the form is the version after the other's."""
    theirs = version_of(connection, trial, latest) or sent.draft
    names = names_of(connection)
    sides = [parts_of(d, check_in(connection, d, trial, names)) for d in (theirs, sent.draft)]
    rows = sorted(diff(sides), key=lambda r: not r.differs)
    return _form(
        connection, trial, sent.draft, latest, sent.based_on, spare=sent.spare, signed_who=sent.who,
        conflict=Conflict(latest, who, (theirs.name, sent.draft.name), rows),
    )  # fmt: skip
