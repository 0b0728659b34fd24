"""Recipes and items as they stood: a load writes down what it changed, so that a past day has its own recipes."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import dataclass
from typing import Any

from stillroom.db.named_sql import load

Key = tuple[str, str]  # 'recipe' or 'item', and its id


def keep_versions(connection: sqlite3.Connection, day: str, now: str) -> int:
    """How many recipes and items stand otherwise than before; each gets one row, valid from `day`.

    Args:
        connection: inside the transaction of a load, the new rows in place.
        day: the kitchen's day, ISO.
        now: UTC instant.
    """
    return connection.execute(load("stillroom.db")["keep_versions"], {"day": day, "now": now}).rowcount


@dataclass(frozen=True)
class Versions:
    """States of all recipes and items: key -> (valid from, state) in order of day; state None = not in the files."""

    of: dict[Key, list[tuple[str, Any]]]

    @property
    def days(self) -> list[str]:
        """Days on which something changed, in order; the first state of a thing is no change."""
        return sorted({since for states in self.of.values() for since, _ in states[1:]})

    def on(self, day: str) -> dict[Key, Any]:
        """What stood on a day. A thing not yet written down on that day stands as it was first written down."""
        found = {}
        for key, states in self.of.items():
            state = next((s for since, s in reversed(states) if since <= day), states[0][1])
            if state is not None:
                found[key] = state
        return found


def read_versions(connection: sqlite3.Connection) -> Versions:
    """Every state that loads wrote down."""
    of: dict[Key, list[tuple[str, Any]]] = {}
    for what, of_id, since, state in connection.execute(load("stillroom.db")["versions"]):
        of.setdefault((what, of_id), []).append((since, json.loads(state) if state else None))
    return Versions(of)
