"""Text of the files that a kitchen is written out as: YAML scalars and CSV rows that are read back as they were."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

_PLAIN = re.compile(r"[^\W_][\w ,.;()/%'°&+×–¼½¾⅓⅔-]*")
Row = Mapping[str, str]


def scalar(text: str) -> str:
    """A text as a YAML scalar: plain where it can't be read otherwise, else in quotation marks.

    Example:
        >>> scalar("500 g butter, salted"), scalar('1 "half" tray: #2'), scalar("two\\nlines")
        ('500 g butter, salted', '"1 \\\\"half\\\\" tray: #2"', '"two\\\\nlines"')
    """
    if _PLAIN.fullmatch(text) and text.isprintable() and text == text.strip():
        return text
    return '"' + "".join(_letter(c) for c in text) + '"'


def _letter(c: str) -> str:
    if c in '"\\':
        return f"\\{c}"
    if c.isprintable():
        return c
    number = ord(c)
    return {10: "\\n", 13: "\\r", 9: "\\t"}.get(number) or (
        f"\\x{number:02x}" if number < 0x100 else f"\\u{number:04x}" if number < 0x10000 else f"\\U{number:08x}"
    )


def pair(name: str, text: str, indent: str = "") -> str:
    """One line `name: text`."""
    return f"{indent}{name}: {scalar(text)}\n"


def write_rows(path: Path, columns: Sequence[str], rows: Iterable[Row]) -> int:
    """A CSV file with these columns; how many rows it has."""
    count = 0
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(columns)
        for row in rows:
            writer.writerow([row.get(name, "") for name in columns])
            count += 1
    return count


def write_used(path: Path, columns: Sequence[str], required: Sequence[str], rows: Sequence[Row]) -> int:
    """`write_rows` without the columns that hold nothing; no file where there are no rows.

    A row that begins with # would be read as a remark, so a column in which none does stands first.
    """
    used = [c for c in columns if c in required or any(row.get(c) for row in rows)]
    first = next((c for c in used if not any(row.get(c, "").startswith("#") for row in rows)), used[0])
    ordered = [first, *(c for c in used if c != first)]
    return write_rows(path, ordered, rows) if rows else 0
