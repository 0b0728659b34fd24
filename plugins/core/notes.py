"""Descriptions of tables and columns for Datasette's pages: the comments of the schema and the views, said once."""

from __future__ import annotations

import re
from functools import cache
from importlib.resources import files
from typing import Any

from stillroom.db.build import SCHEMAS, view_sources
from stillroom.plugins.core.auth import DATABASE

_TABLE = re.compile(r"create table (?:if not exists )?(\w+) \(\s*(?:-- (.*))?$")
_COLUMN = re.compile(r"    (\w+) (?:text|integer|real)\b.*?-- (.+)$")
_VIEW_NOTE = re.compile(r"-- (\w+): (.+)$")
NO_COLUMN = frozenset({"grain", "needs"})
Note = dict[str, Any]


def table_notes(schema: str) -> dict[str, Note]:
    """Table -> its description and the notes of its columns, from the comments of a schema file."""
    found: dict[str, Note] = {}
    here: Note = {}
    for line in schema.splitlines():
        if head := _TABLE.match(line):
            here = found[head[1]] = {"columns": {}}
            if head[2]:
                here["description"] = f"One row is {head[2]}."
        elif column := _COLUMN.match(line):
            here["columns"][column[1]] = column[2]
    return found


def view_note(source: str) -> Note:
    """A view's description (its first comment, without grain and needs) and the notes of its columns."""
    comments = [line for line in source.splitlines() if line.startswith("-- ")]
    columns = {m[1]: m[2] for line in comments[1:] if (m := _VIEW_NOTE.match(line)) and m[1] not in NO_COLUMN}
    return {"description": re.split(r" grain:", comments[0][3:])[0], "columns": columns}


@cache
def all_notes() -> dict[str, Note]:
    """Every table and view of stillroom with its notes."""
    found: dict[str, Note] = {}
    for name in SCHEMAS:
        found |= table_notes(files("stillroom.db").joinpath(name).read_text("utf-8"))
    return found | {name: view_note(source) for name, source in view_sources().items()}


def metadata(key: str | None) -> dict[str, Any]:
    """What Datasette's table pages ask for; fresh each time, since metadata.yaml is written over it."""
    if key != "databases":
        return {}
    tables = {name: {**note, "columns": dict(note["columns"])} for name, note in all_notes().items()}
    return {"databases": {DATABASE: {"tables": tables}}}
