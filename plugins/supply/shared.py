"""In mid-service: what is left of an item, shared among tonight's dishes; and the list of what is out."""

from __future__ import annotations

import sqlite3
from dataclasses import asdict, dataclass
from fractions import Fraction
from typing import Any

from stillroom.db.coming import Coming, read_coming
from stillroom.db.kitchen import today
from stillroom.plugins.core.auth import decide
from stillroom.plugins.core.format import money
from stillroom.plugins.core.margins import margins
from stillroom.plugins.core.pages import page, query
from stillroom.plugins.supply.rows import ask, read_supply
from stillroom.plugins.supply.split import Claim, split


@dataclass(frozen=True)
class Share:
    """One dish of a sharing: plates it gets of those expected; margin: money that one earns, '' where plates count."""

    id: str
    name: str
    plates: int
    expected: int
    margin: str


@dataclass(frozen=True)
class Sharing:
    """One way to share: by 'plates' or by 'margin', what it gives in all, and the dishes that go without."""

    by: str
    total: str
    is_proven: bool
    dishes: list[Share]
    without: list[str]


@dataclass(frozen=True)
class Shared:
    """What is left of one item for the service, shared. unpriced: dishes that no margin is known of, and why."""

    item: str
    name: str
    service: str
    ways: list[Sharing]
    unpriced: list[tuple[str, str]]

    def as_json(self) -> dict[str, Any]:
        """The same as data; who sees no money has no word of it."""
        said = asdict(self)
        for dish in (dish for way in said["ways"] for dish in way["dishes"]):
            if not dish["margin"]:
                del dish["margin"]
        if all(way.by != "margin" for way in self.ways) and not self.unpriced:
            del said["unpriced"]
        return said


def shared(connection: sqlite3.Connection, item: str, role: str) -> Shared | None:
    """The part of /short/ITEM: None where no dish of the next service wants it, or nobody knows what there is."""
    row = connection.execute("select name from items where id = ?", (item,)).fetchone()
    if row is None:
        return None
    coming = read_coming(connection, 3, is_netted=False)
    of, _ = read_supply(connection, item, coming.today.isoformat())
    wanted = _left_to_serve(coming, set(of.parts))
    if not wanted or (of.loose is None and not any(of.batches.values())):
        return None
    names = {dish: coming.recipes[dish].name for dish in wanted}
    ways = [_way("plates", [Claim(d, n, Fraction(1)) for d, n in wanted.items()], of, names)]
    unpriced: list[tuple[str, str]] = []
    if decide(role, "cost"):
        earned = margins(connection)
        known = {d: m.each for d in wanted if (m := earned.get(d)) is not None and m.each is not None}
        claims = [Claim(d, wanted[d], each) for d, each in known.items()]
        unpriced = [(names[d], "; ".join(earned[d].lacks) if d in earned else "") for d in wanted if d not in known]
        if claims:
            ways.append(_way("margin", claims, of, names))
    return Shared(item, row[0], coming.services[0].name, ways, unpriced)


def _left_to_serve(coming: Coming, reached: set[str]) -> dict[str, int]:
    """Dish -> plates still to be ready for in the service under way or next, of dishes that hold the item."""
    if not coming.services:
        return {}
    first = coming.services[0]
    here = [p for p in coming.plates if (p.on, p.service) == (first.on, first.name) and p.dish in reached]
    return {p.dish: p.ready for p in here if p.ready}


def _way(by: str, claims: list[Claim], of: Any, names: dict[str, str]) -> Sharing:
    found = split(claims, of)
    dishes = [
        Share(c.dish, names[c.dish], found.plates[c.dish], c.wanted, money(c.worth) if by == "margin" else "")
        for c in claims
    ]
    dishes.sort(key=lambda s: (-s.plates, s.name))
    total = money(found.worth) if by == "margin" else str(sum(s.plates for s in dishes))
    served = [s for s in dishes if s.plates]
    return Sharing(by, total, found.is_proven, served, [s.name for s in dishes if not s.plates])


@dataclass(frozen=True)
class Gone:
    """Something that is out or short now, and for an item the dishes that hold it."""

    id: str
    name: str
    state: str
    since: str
    expected: str | None
    note: str
    is_dish: bool
    dishes: str


@dataclass(frozen=True)
class Out:
    """Everything that is out or short. version changes with every word about it."""

    day: str
    version: int
    gone: list[Gone]


def read_out(connection: sqlite3.Connection) -> Out:
    """The 86 list."""
    day = today(connection).isoformat()
    rows = ask(connection, "out_list", day=day)
    (version,) = connection.execute("select coalesce(max(id), 0) from shortages").fetchone()
    gone = [
        Gone(ident, name, state, since, expected, note, bool(is_dish), dishes or "")
        for ident, name, state, since, expected, note, is_dish, _, dishes in rows
    ]
    return Out(day, version, gone)


def on_guest(connection: sqlite3.Connection, _subject: str, _role: str) -> Out | None:
    """The part of /guest: what is out now; it stands there empty too, so that a page left open learns of the next."""
    return read_out(connection)


@page("supply/out.html", needs="guest")
async def out(datasette: Any, request: Any) -> Out:
    return await query(datasette, read_out)
