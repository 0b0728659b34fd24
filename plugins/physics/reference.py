"""Reader of the shipped reference tables, so that a number stands in one place only."""

from __future__ import annotations

import csv
import io
from functools import lru_cache
from importlib.resources import files


@lru_cache(maxsize=16)
def rows(name: str) -> tuple[dict[str, str], ...]:
    """Rows of a reference table, values as text.

    Args:
        name: file name, such as "lethality_meat.csv".
    """
    text = (files("stillroom.db") / "reference" / name).read_text(encoding="utf-8-sig")
    return tuple(csv.DictReader(io.StringIO(text)))
