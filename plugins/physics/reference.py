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


@lru_cache(maxsize=128)
def source_titles(ids: str) -> str:
    """Titles of the sources behind a row, each once: 'S-A;S-B' -> 'first title; second title'.

    Args:
        ids: keys of sources.csv, parted by semicolons.
    """
    known = {row["id"]: row["title"] for row in rows("sources.csv")}
    titles = [known.get(key.strip(), key.strip()) for key in ids.split(";") if key.strip()]
    return "; ".join(dict.fromkeys(titles))
