"""/search: every kind that the role may see, grouped, typing slips forgiven."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any
from urllib.parse import quote

from stillroom.db.named_sql import load
from stillroom.db.search_index import cuts
from stillroom.plugins.core.auth import decide, role_of
from stillroom.plugins.core.pages import page, query
from stillroom.plugins.search.compute import (
    AGEING_LOTS,
    BATCH_LOTS,
    DELIVERED_LOTS,
    KINDS,
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

LOOKED_AT, SHOWN = 60, 12  # names of a kind that are put in order, and that are shown
TRIED, MENDED = 20, 5  # neighbours of a word that are looked up, and that are taken
Span = tuple[int, int]


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
    spans = {kind: (first, last) for kind, first, last in _ask(connection, "kinds")}
    kinds = {kind: spans[kind.word] for kind in KINDS if kind.word in spans and decide(role, kind.needs)}
    alternatives, read_as = _alternatives(connection, terms(typed), list(kinds.values()))
    groups = [_named(connection, kind, span, alternatives, typed) for kind, span in kinds.items() if alternatives]
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
    connection: sqlite3.Connection, words: Sequence[str], spans: Sequence[Span]
) -> tuple[list[list[str]], dict[str, list[str]]]:
    """For every word typed what to look for: itself, or its nearest neighbours where no name begins with it."""
    found, read_as = [], {}
    for word in words:
        near = [] if _is_there(connection, expression([[word]]), spans) else _near(connection, word, spans)
        if near:
            read_as[word] = near
        found.append(near or [word])
    return found, read_as


def _is_there(connection: sqlite3.Connection, question: str, spans: Sequence[Span]) -> bool:
    """Whether a name that the role may see answers a question to the index."""
    return any(_ask(connection, "is_there", question=question, first=first, last=last) for first, last in spans)


def _near(connection: sqlite3.Connection, word: str, spans: Sequence[Span]) -> list[str]:
    """The nearest words that stand in names the role may see; words with letters in common only where no cut is."""
    if not slips(word):
        return []
    candidates = [row[0] for row in _ask(connection, "neighbours", cuts=json.dumps(sorted(cuts(word))))]
    if slips(word) > 1 and not nearest(word, candidates):
        candidates += [row[0] for row in _ask(connection, "long_neighbours", pieces=pieces(word))]
    for group in nearest(word, candidates):
        seen = [other for other in group[:TRIED] if _is_there(connection, f'"{other}"', spans)]
        if seen:
            return seen[:MENDED]
    return []


def _named(
    connection: sqlite3.Connection, kind: Kind, span: Span, alternatives: Sequence[Sequence[str]], typed: str
) -> Group:
    said = {"question": expression(alternatives), "first": span[0], "last": span[1]}
    rows = _ask(connection, "names", **said, most=LOOKED_AT)
    hits = [Hit(kind.word, f"{kind.address}{subject}", name, note) for subject, name, note in rows]
    return _group(kind, in_order(hits, typed))


def _group(kind: Kind, hits: Sequence[Hit]) -> Group:
    return Group(kind.title, tuple(hits[:SHOWN]), len(hits) > SHOWN)


def _batches(connection: sqlite3.Connection, typed: str, role: str) -> Group:
    rows = _ask(connection, "batches", code=typed, most=SHOWN + 1) if decide(role, BATCH_LOTS.needs) else []
    hits = [Hit("batch", f"/batch/{i}", name, f"lot {lot}, made {on}") for i, name, lot, on in rows]
    return _group(BATCH_LOTS, hits)


def _ageing(connection: sqlite3.Connection, typed: str, role: str) -> Group:
    rows = _ask(connection, "ageing", code=typed, most=SHOWN + 1) if decide(role, AGEING_LOTS.needs) else []
    hits = [Hit("ageing", f"/ageing/{quote(lot, safe='')}", name, f"lot {lot}, since {on}") for lot, name, on in rows]
    return _group(AGEING_LOTS, hits)


def _deliveries(connection: sqlite3.Connection, typed: str, role: str) -> Group:
    rows = _ask(connection, "deliveries", code=typed, most=SHOWN + 1) if decide(role, DELIVERED_LOTS.needs) else []
    to = DELIVERED_LOTS.address
    hits = [Hit("delivery", f"{to}{quote(lot, safe='')}", name, f"lot {lot}, came {on}") for name, lot, on in rows]
    return _group(DELIVERED_LOTS, hits)
