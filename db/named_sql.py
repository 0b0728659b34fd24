"""Questions kept in .sql files: each begins with `-- name: x`, its comment says what it answers."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable
from functools import cache
from importlib.resources import files
from typing import Any

Ask = Callable[..., list[tuple[Any, ...]]]


@cache
def load(package: str) -> dict[str, str]:
    """Name -> statement of the package's queries.sql."""
    text = files(package).joinpath("queries.sql").read_text("utf-8")
    parts = re.split(r"^-- name: (\w+)\n", text, flags=re.M)
    return dict(zip(parts[1::2], (p.strip() for p in parts[2::2]), strict=True))


def asker(package: str) -> Ask:
    """What answers a package's questions: ask(connection, name, **values) -> rows."""

    def ask(connection: sqlite3.Connection, name: str, **values: Any) -> list[tuple[Any, ...]]:
        return connection.execute(load(package)[name], values).fetchall()

    return ask
