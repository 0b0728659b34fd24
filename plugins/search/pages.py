"""/search: every kind that the role may see, grouped, typing slips forgiven."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from stillroom.db.named_sql import load
from stillroom.db.search_index import cuts
from stillroom.plugins.core.auth import decide, role_of
from stillroom.plugins.core.pages import page, query
from stillroom.plugins.search.compute import (
    AGEING_LOTS,
    BATCH_LOTS,
    DELIVERED_LOTS,
    KINDS,
    LONG,
    MOST_TYPED,
    Group,
    Hit,
    Kind,
    expression,
    in_order,
    nearest,
    pieces,
    slips,
    terms,
)

LOOKED_AT, SHOWN = 60, 12


@dataclass(frozen=True)
class Found:
    """What the box found. read_as: typed words that nothing begins with -> the words taken instead."""

    typed: str
    groups: list[Group]
    read_as: dict[str, list[str]]

    def as_json(self) -> dict[str, Any]:
        """The answer as data."""
        return {"typed": self.typed, "read_as": self.read_as, "groups": [asdict(group) for group in self.groups]}


@page("search/found.html", needs="search")
async def search(datasette: Any, request: Any) -> Found:
    typed, role = (request.args.get("q") or "").strip()[:MOST_TYPED], role_of(request.actor)
    return await query(datasette, lambda connection: find(connection, typed, role))


def find(connection: sqlite3.Connection, typed: str, role: str) -> Found:
    """Everything that a role may see under what was typed; nothing of what it may not, not even in a mended word."""
    kinds = [kind for kind in KINDS if decide(role, kind.needs)]
    alternatives, read_as = _alternatives(connection, terms(typed), [kind.word for kind in kinds])
    groups = [_named(connection, kind, alternatives, typed) for kind in kinds] if alternatives else []
    lots = (_batches, _ageing, _deliveries)
    groups += [work(connection, typed, role) for work in lots] if typed else []
    return Found(typed, [group for group in groups if group.hits], read_as)


def _ask(connection: sqlite3.Connection, name: str, **said: Any) -> list[tuple[Any, ...]]:
    """Rows of one of the feature's questions; none where the file was never loaded."""
    try:
        return connection.execute(load("stillroom.plugins.search")[name], said).fetchall()
    except sqlite3.OperationalError as error:
        if "no such table" in str(error):
            return []
        raise


def _alternatives(
    connection: sqlite3.Connection, words: Sequence[str], kinds: Sequence[str]
) -> tuple[list[list[str]], dict[str, list[str]]]:
    """For every word typed what to look for: itself, or its nearest neighbours where no name begins with it."""
    found, read_as = [], {}
    for word in words:
        is_known = _ask(connection, "is_there", question=expression([[word]], kinds))
        near = [] if is_known else _near(connection, word, kinds)
        if near:
            read_as[word] = near
        found.append(near or [word])
    return found, read_as


def _near(connection: sqlite3.Connection, word: str, kinds: Sequence[str]) -> list[str]:
    """The nearest words that stand in names of these kinds."""
    if not slips(word):
        return []
    candidates = [row[0] for row in _ask(connection, "neighbours", cuts=json.dumps(sorted(cuts(word))))]
    if len(word) >= LONG - 1:
        candidates += [row[0] for row in _ask(connection, "long_neighbours", pieces=pieces(word))]
    seen = [x for x in dict.fromkeys(candidates) if _ask(connection, "is_there", question=expression([[x]], kinds))]
    return nearest(word, seen)


def _named(connection: sqlite3.Connection, kind: Kind, alternatives: Sequence[Sequence[str]], typed: str) -> Group:
    rows = _ask(connection, "names", question=expression(alternatives, [kind.word]), most=LOOKED_AT)
    hits = [Hit(kind.word, f"{kind.address}{subject}", name, note) for _, subject, name, note in rows]
    return _group(kind, in_order(hits, typed))


def _group(kind: Kind, hits: Sequence[Hit]) -> Group:
    return Group(kind.title, tuple(hits[:SHOWN]), len(hits) > SHOWN)


def _batches(connection: sqlite3.Connection, typed: str, role: str) -> Group:
    rows = _ask(connection, "batches", code=typed, most=SHOWN + 1) if decide(role, BATCH_LOTS.needs) else []
    hits = [Hit("batch", f"/batch/{i}", name, f"lot {lot}, made {on}") for i, name, lot, on in rows]
    return _group(BATCH_LOTS, hits)


def _ageing(connection: sqlite3.Connection, typed: str, role: str) -> Group:
    rows = _ask(connection, "ageing", code=typed, most=SHOWN + 1) if decide(role, AGEING_LOTS.needs) else []
    hits = [Hit("ageing", f"/ageing/{lot}", name, f"lot {lot}, since {on}") for lot, name, on in rows]
    return _group(AGEING_LOTS, hits)


def _deliveries(connection: sqlite3.Connection, typed: str, role: str) -> Group:
    rows = _ask(connection, "deliveries", code=typed, most=SHOWN + 1) if decide(role, DELIVERED_LOTS.needs) else []
    hits = [Hit("delivery", f"/suppliers/{s}", name, f"lot {lot}, came {on}") for s, name, lot, on in rows]
    return _group(DELIVERED_LOTS, hits)
