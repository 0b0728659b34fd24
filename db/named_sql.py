"""Questions kept in .sql files: each begins with `-- name: x`, its comment says what it answers."""

from __future__ import annotations

import re
from functools import cache
from importlib.resources import files


@cache
def load(package: str) -> dict[str, str]:
    """Name -> statement of the package's queries.sql."""
    text = files(package).joinpath("queries.sql").read_text("utf-8")
    parts = re.split(r"^-- name: (\w+)\n", text, flags=re.M)
    return dict(zip(parts[1::2], (p.strip() for p in parts[2::2]), strict=True))
