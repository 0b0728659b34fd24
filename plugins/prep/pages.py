"""/prep: the list; /prep/sheets: a page a station, for paper; /prep/day: guests, dishes, people."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from hashlib import sha256
from typing import Any

from datasette.utils.asgi import Response
from markupsafe import Markup
from stillroom.db import demand
from stillroom.plugins.core.auth import role_of
from stillroom.plugins.core.forms import request_id
from stillroom.plugins.core.pages import data, page, query
from stillroom.plugins.core.sign import choices
from stillroom.plugins.prep.answer import List, list_of
from stillroom.plugins.prep.notes import guests_of
from stillroom.plugins.prep.rows import ask
from stillroom.plugins.prep.sheets import Sheet, sheets_of
from stillroom.plugins.prep.state import State, read_state, state_version
from stillroom.plugins.prep.words import Words

SCORE_WEEKS = 4


@dataclass(frozen=True)
class Prep:
    """The list with what its forms need."""

    list: List
    request_id: str
    said: str = ""
    typed: str = ""
    wrong_key: str = ""
    sure: str = ""
    body: str = ""

    def as_json(self) -> dict[str, Any]:
        return {name: value for name, value in asdict(self.list).items() if name != "drawn"}


def answer(connection: sqlite3.Connection, station: str = "", person: str = "") -> List:
    """The list of a station, of a person, or all of it; made once for each state of the day."""
    state = read_state(connection)
    found = state.drawn.get((station, person))
    if found is None:
        stations = [(ident, name) for ident, name in ask(connection, "stations")]
        found = state.drawn[station, person] = list_of(state, stations, station, person)
    return found


@page("prep/list.html", needs="prep", parts="prep")
async def prep(datasette: Any, request: Any) -> Any:
    station, person = (request.args.get("station") or "")[:60], (request.args.get("person") or "")[:60]
    if request.path.endswith(".json"):
        return await _data(datasette, request, station, person)
    found = await query(datasette, lambda connection: answer(connection, station, person))
    said = (request.args.get("said") or "")[:200]
    return await with_body(datasette, request, Prep(found, request_id(), said=said))


async def with_body(datasette: Any, request: Any, prep: Prep) -> Prep:
    """The answer with its tasks drawn: once for each list, the form's token and names of sending put in each time."""
    role = role_of(request.actor)
    signers = choices(datasette, request)
    asked = (role == "station", tuple(signers))
    text = None if prep.wrong_key else prep.list.drawn.get(asked)
    if text is None:
        context = {"answer": prep, "list": prep.list, "is_station": asked[0], "signers": signers}
        text = await datasette.render_template("prep/live.html", context)
        if not prep.wrong_key:
            prep.list.drawn[asked] = text
    token = str(request.scope["csrftoken"]()) if "csrftoken" in request.scope else ""
    return replace(prep, body=Markup(text.replace("@@token@@", token).replace("@@request@@", prep.request_id)))


async def _data(datasette: Any, request: Any, station: str, person: str) -> Response:
    """The list as data, or 304 where the asker has it already."""
    version = await query(datasette, state_version)
    mark = f'"{sha256(f"{version} {station} {person}".encode()).hexdigest()[:24]}"'
    if request.headers.get("if-none-match") == mark:
        return Response("", status=304, headers={"etag": mark, "cache-control": "no-store"})
    found = await query(datasette, lambda connection: answer(connection, station, person))
    response = data(Prep(found, "").as_json())
    response.headers["etag"] = mark
    return response


@dataclass(frozen=True)
class Sheets:
    """The pages to print, each station's together."""

    day: str
    clock: str
    sheets: list[Sheet]


@page("prep/sheets.html", needs="prep")
async def sheets(datasette: Any, request: Any) -> Sheets:
    def work(connection: sqlite3.Connection) -> Sheets:
        stations = [(ident, name) for ident, name in ask(connection, "stations")]
        state = read_state(connection)
        found = [sheet for ident, _ in stations for sheet in sheets_of(list_of(state, stations, ident))]
        return Sheets(state.coming.today.isoformat(), Words(state).clock(state.now), found)

    return await query(datasette, work)


@dataclass(frozen=True)
class Ahead:
    """One service ahead as the log expects it, and what a person put in its place."""

    on: str
    service: str
    covers: str
    band: str
    factor: str
    booked: int | None
    season: str
    by: str
    was: str


@dataclass(frozen=True)
class Ordered:
    """Plates of a dish still to be ready for in a service; sold: those that went out already."""

    on: str
    service: str
    dish: str
    name: str
    expected: str
    ready: int
    by: str
    is_guess: bool
    sold: int


@dataclass(frozen=True)
class TheDay:
    """Guests, dishes and people of the days ahead."""

    day: str
    services: list[Ahead]
    dishes: list[Ordered]
    scores: list[tuple[str, str, int, int]]
    error: str
    people: list[tuple[str, str, str]]
    guests: list[Any]
    request_id: str
    said: str = ""
    sure: str = ""
    asked: Mapping[str, str] = field(default_factory=dict)  # the fields of the number that is asked about


@page("prep/day.html", needs="prep")
async def day(datasette: Any, request: Any) -> TheDay:
    said = (request.args.get("said") or "")[:200]
    return await query(datasette, lambda connection: the_day(connection, said))


def the_day(connection: sqlite3.Connection, said: str = "") -> TheDay:
    """Everything that /prep/day shows."""
    state = read_state(connection)
    coming = state.coming
    number = SCORE_WEEKS * max(1, len({(s.on.isoweekday(), s.service) for s in coming.log[-30:]}))
    scored = demand.scores(coming.log, coming.today, number)
    error = demand.mean_error(scored)
    return TheDay(
        coming.today.isoformat(), _services(state), _dishes(state),
        [(s.on.isoformat(), s.service, round(s.expected), s.came) for s in reversed(scored)],
        "" if error is None else f"{100 * error:.0f} %", _people(connection, state), guests_of(state, Words(state)),
        request_id(), said,
    )  # fmt: skip


def _services(state: State) -> list[Ahead]:
    found = []
    for e in state.coming.expected:
        is_known = e.covers is not None
        found.append(Ahead(
            e.on.isoformat(), e.service, f"{round(e.covers or 0)}" if is_known else "no sales yet",
            f"{round(e.low)} to {round(e.high)}" if is_known else "", f"×{e.factor:.2f}", e.booked,
            f"×{e.season:.2f}" if abs(e.season - 1) >= 0.005 else "", e.by,
            f"{round(e.was)}" if e.was is not None else "",
        ))  # fmt: skip
    return found


def _dishes(state: State) -> list[Ordered]:
    coming = state.coming
    if not coming.services:
        return []
    first = coming.services[0].on
    found = [
        Ordered(p.on.isoformat(), p.service, p.dish, coming.recipes[p.dish].name, f"{p.expected:.1f}", p.ready, p.by,
                p.is_guess, p.sold)
        for p in coming.plates if p.on == first and (p.ready or p.sold or p.expected >= 0.05)
    ]  # fmt: skip
    return sorted(found, key=lambda o: (o.service, -o.ready, o.name))


def _people(connection: sqlite3.Connection, state: State) -> list[tuple[str, str, str]]:
    """(id, name, when they are here today)."""
    today = state.coming.today
    words = Words(state)
    found = []
    for person in state.facts.people.values():
        bits = state.day.house.people.get(person.id, 0) & ((1 << 288) - 1)
        if not bits:
            found.append((person.id, person.name, "not here today"))
            continue
        first, last = (bits & -bits).bit_length() - 1, bits.bit_length()
        found.append((person.id, person.name, f"{words.slot(first)} to {words.slot(last)}"))
    rows = [row for row in ask(connection, "absences", day=today.isoformat()) if row[1] == today.isoformat()]
    away = {person: by for person, _, _, by, _ in rows}
    return [(i, name, f"{here}, by {away[i]}" if i in away else here) for i, name, here in found]
