"""What batches and plates took by the recipe of their own day, where the recipe stands otherwise since.

A recipe that is changed today changes nothing of what was taken yesterday: each load and each promotion writes down how
a recipe stands from its day on (`book_versions`).
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from stillroom.db.named_sql import asker

ask = asker("stillroom.db")


@dataclass(frozen=True)
class Line:
    """What one base unit of a recipe's yield takes of a thing [base unit of the thing; EP where `share` is given]."""

    thing: str
    each: Fraction
    share: Fraction | None = None


@dataclass(frozen=True)
class Taking:
    """A batch, or plates of a service, of a recipe as it stood. ident: the batch; at: when it was made [UTC]."""

    line: Line
    on: str
    quantity: Fraction
    ident: int | None
    at: str | None
    service: str | None


@dataclass(frozen=True)
class Earlier:
    """Recipes that changed: their lines from a day on, in order, and the day from which they stand as now."""

    states: Mapping[str, list[tuple[str, tuple[Line, ...]]]] = field(default_factory=dict)

    def is_of_now(self, recipe: str, on: str) -> bool:
        """Whether the recipe of a day is the present one."""
        return recipe not in self.states or on >= self.states[recipe][-1][0]

    def on(self, recipe: str, day: str) -> tuple[Line, ...]:
        """The lines of a day; of one before any were written down those of the first day, as they stood in the end."""
        states = self.states[recipe]
        day = max(day, states[0][0])
        return next(lines for since, lines in reversed(states) if since <= day)


def read_earlier(connection: sqlite3.Connection, since: str) -> Earlier:
    """Every recipe that changed after a day."""
    rows = ask(connection, "changed_recipes", since=since)
    if not rows:
        return Earlier()
    yields = {item: Fraction(share) for item, share in ask(connection, "item_yields")}
    found: dict[str, list[tuple[str, tuple[Line, ...]]]] = {}
    for recipe, on, state in rows:
        found.setdefault(recipe, []).append((on, _lines(json.loads(state), yields) if state else ()))
    return Earlier(found)


def _lines(state: Mapping[str, Any], yields: Mapping[str, Fraction]) -> tuple[Line, ...]:
    _, kind, made, *_ = state["recipe"]
    return tuple(
        Line(item or sub, Fraction(quantity) / Fraction(made), _share(item, own, yields if kind != "cut" else {}))
        for item, sub, quantity, own, _ in state["lines"]
    )


def _share(item: str | None, own: str | None, yields: Mapping[str, Fraction]) -> Fraction | None:
    return Fraction(own) if own and item else yields.get(item or "")


def takings(connection: sqlite3.Connection, earlier: Earlier, since: str, day: str) -> Iterator[Taking]:
    """What was made and sold between two days of recipes that stood otherwise then."""
    ids = json.dumps(list(earlier.states))
    for recipe, on, quantity, ident, at, service in ask(connection, "made_of", ids=ids, since=since, day=day):
        if not earlier.is_of_now(recipe, on):
            for line in earlier.on(recipe, on):
                yield Taking(line, on, Fraction(quantity), ident, at, service)
