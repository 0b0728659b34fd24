"""One record for everything a person got wrong, in a file or in a form: where, what, why, how to mend it."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from itertools import groupby
from typing import Literal

SHOWN_PER_FILE = 50
QUOTED = 60


@dataclass(frozen=True)
class Place:
    """Where a value stands: a file with line and column, a sheet with a cell, or a form's field.

    path is as the person typed it. line and column count from 1. cell is 'C7'. column_name is the header.
    """

    path: str
    line: int | None = None
    column: int | None = None
    sheet: str | None = None
    cell: str | None = None
    column_name: str | None = None

    def __str__(self) -> str:
        if self.sheet is not None:
            cell = f", cell {self.cell}" if self.cell else ""
            return f'{self.path}, sheet "{self.sheet}"{cell}'
        text = self.path
        if self.line is not None:
            text += f":{self.line}"
        if self.column is not None:
            text += f":{self.column}"
        return f'{text}, column "{self.column_name}"' if self.column_name else text

    def sort_key(self) -> tuple[str, str, int, int, str]:
        return (self.path, self.sheet or "", self.line or 0, self.column or 0, self.column_name or "")


@dataclass(frozen=True)
class Problem:
    """A mistake in what a person gave us.

    code is short and stable and has its paragraph in loaders/ERRORS.md. An error stops the load; a warning does not.
    """

    code: str
    place: Place
    what: str
    why: str = ""
    fix: str = ""
    severity: Literal["error", "warning"] = "error"


def quoted(text: str) -> str:
    """The person's own text in quotation marks, cut at 60 characters, control characters made visible."""
    shown = "".join(c if c.isprintable() else f"\\x{ord(c):02x}" for c in text[: QUOTED + 1])
    return f'"{shown[:QUOTED]}…"' if len(text) > QUOTED else f'"{shown}"'


def as_text(problem: Problem) -> str:
    """One problem as a person reads it: one line to find it, one to understand it, one to mend it."""
    lines = [f"{problem.place}: {problem.severity}: {problem.what}  [{problem.code}]"]
    if problem.why:
        lines.append(f"  {problem.why}")
    if problem.fix:
        lines.append(f"  Fix: {problem.fix}")
    return "\n".join(lines)


def as_json(problems: Iterable[Problem]) -> str:
    """The problems as a JSON list for editors and scripts."""
    return json.dumps([asdict(p) for p in in_order(problems)], ensure_ascii=False, indent=1)


def in_order(problems: Iterable[Problem]) -> list[Problem]:
    """Sorted by file, sheet, line and column."""
    return sorted(problems, key=lambda p: (p.place.sort_key(), p.code))


def report(problems: Sequence[Problem], shown_per_file: int = SHOWN_PER_FILE) -> str:
    """All problems, at most `shown_per_file` for each file, then how many more there are."""
    parts = []
    for _, group in groupby(in_order(problems), key=lambda p: (p.place.path, p.place.sheet)):
        members = list(group)
        parts += [as_text(p) for p in members[:shown_per_file]]
        if len(members) > shown_per_file:
            parts.append(f"{members[0].place.path}: and {len(members) - shown_per_file:,} more")
    return "\n".join(parts)
