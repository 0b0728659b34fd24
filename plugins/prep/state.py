"""The day as it stands now, reckoned once for each change in the file and each slot of the clock."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from stillroom.db import coming as ahead
from stillroom.db.coming import Coming, read_coming
from stillroom.db.kitchen import day_of, moment, settings
from stillroom.plugins.prep.ageing import Aged
from stillroom.plugins.prep.ageing_rows import read_aged
from stillroom.plugins.prep.ageing_works import put_ageing
from stillroom.plugins.prep.board import Place
from stillroom.plugins.prep.day import SLOT, Day, Facts
from stillroom.plugins.prep.heat import is_on
from stillroom.plugins.prep.layout import Laid, Late, late_tasks, lay_out
from stillroom.plugins.prep.rows import ask, read_facts, read_plan
from stillroom.plugins.prep.tasks import day_of_work

KEPT = 4  # states; a second kitchen in one process is a test


@dataclass(frozen=True)
class State:
    """The day: everything its pages are drawn from."""

    version: str
    now: datetime
    coming: Coming
    facts: Facts
    day: Day
    laid: Laid
    late: Sequence[Late]
    ticks: Sequence[tuple[Any, ...]]
    dishes: Mapping[str, Sequence[str]]
    items: Mapping[str, tuple[str, str]]
    aged: Mapping[str, Aged] = field(default_factory=dict)  # cuts of pieces that age
    unknown: Sequence[str] = ()  # those of which nobody knows how long
    drawn: dict[Any, Any] = field(default_factory=dict, compare=False)  # what was made of it already, by what was asked


_KEPT: dict[tuple[str, str], State] = {}


def state_version(connection: sqlite3.Connection, now: datetime | None = None) -> str:
    """A text that changes with whatever is written, and every five minutes of the kitchen's clock."""
    said = settings(connection)
    at = moment(said, now)
    return f"{ahead.version(connection)}-{day_of(said, now)}-{int(at.timestamp()) // SLOT}"


def read_state(connection: sqlite3.Connection, now: datetime | None = None) -> State:
    """The day now; kept until something is written or the clock goes on."""
    path, version = _path(connection), state_version(connection, now)
    kept = _KEPT.get((path, version))
    return kept if kept is not None else _keep(path, _reckon(connection, version, now))


def _path(connection: sqlite3.Connection) -> str:
    (_, _, path), *_ = connection.execute("pragma database_list").fetchall()
    return str(path)


def _keep(path: str, state: State) -> State:
    while len(_KEPT) >= KEPT:
        _KEPT.pop(next(iter(_KEPT)), None)
    if path:  # one in memory has no name to be known by
        _KEPT[path, state.version] = state
    return state


def _reckon(
    connection: sqlite3.Connection, version: str, now: datetime | None, before: Mapping[str, Place] | None = None
) -> State:
    items = {i: (name, unit) for i, name, unit in connection.execute("select id, name, unit from items")}
    coming = read_coming(connection, extra=items, now=now)
    facts = read_facts(connection, coming.today)
    at = moment(coming.said, now)
    day = day_of_work(coming, facts, at)
    aged, unknown = read_aged(connection, coming)
    put_ageing(day, coming, facts, aged.values())
    ticks = ask(connection, "ticks", day=coming.today.isoformat())
    _take_done(day, ticks, facts)
    laid = lay_out(day, before if before is not None else read_plan(connection, coming.today))
    dishes = _dishes(coming)
    return State(version, at, coming, facts, day, laid, late_tasks(day, laid, dishes), ticks, dishes, items, aged,
                 unknown)  # fmt: skip


def replanned(connection: sqlite3.Connection, before: Mapping[str, Place], now: datetime | None = None) -> State:
    """The day after something changed, with what stood before moved as little as possible."""
    return _keep(_path(connection), _reckon(connection, state_version(connection, now), now, before))


def _take_done(day: Day, ticks: Sequence[tuple[Any, ...]], facts: Facts) -> None:
    """Equipment that is hot and baths that are filled are no tasks any more; what was lit heats until it is hot."""
    gone, seen = set(), set()
    for _, kind, recipe, kit, state, *_, ends_at in ticks:
        if kind == "light" and kit not in seen:  # the last word about it
            seen.add(kit)
            if state == "started" and ends_at and kit in facts.kits:
                is_on(day, facts.kits[kit], datetime.fromisoformat(ends_at.replace("Z", "+00:00")))
            else:
                gone.add(f"{kit}~light")
        if kind in {"bath", "thaw"} and state == "done":
            gone |= {k for k, w in day.works.items() if w.kind == kind and w.thing == recipe}
    for key in gone & day.works.keys():
        del day.works[key]


def _dishes(coming: Coming) -> dict[str, list[str]]:
    """Thing -> names of today's dishes that it ends up in, the one that is expected most first."""
    plates = {p.dish: p.expected for p in coming.plates if p.on == coming.today and p.ready}
    found: dict[str, set[str]] = {dish: {dish} for dish in plates}
    for recipe in coming.recipes:  # by level: whatever uses a thing stands before it
        for need in coming.plan.needs.get(recipe, ()):
            found.setdefault(recipe, set()).update(found.get(need.by, ()))
    ranked = {thing: sorted(dishes, key=lambda d: -plates[d]) for thing, dishes in found.items()}
    return {thing: [coming.recipes[d].name for d in dishes] for thing, dishes in ranked.items() if thing not in plates}
