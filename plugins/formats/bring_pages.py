"""/import: a recipe of a saved page or file, read and laid out for a person to settle; nothing is kept yet."""

from __future__ import annotations

import asyncio
import sqlite3
from dataclasses import dataclass, field
from typing import Any

from stillroom.db.problems import quoted
from stillroom.db.quantity import ReadError
from stillroom.db.recipe_lines import Names, names_of
from stillroom.plugins.core.forms import TooLarge, posted, request_id, sent
from stillroom.plugins.core.pages import html, page, query
from stillroom.plugins.formats.bounds import Refused
from stillroom.plugins.formats.bring import Found, recipes_of
from stillroom.plugins.formats.settle import perhaps
from stillroom.plugins.formats.sniffing import Decoded, text_of

MOST_BYTES = 5_000_000
TOO_LARGE = "The file is larger than a page with a recipe is. Save the page alone, without its pictures."


@dataclass(frozen=True)
class Line:
    """One ingredient line: as it was written, what it was understood as, or why not and what may be meant."""

    text: str
    thing: str
    why: str
    perhaps: str = ""


@dataclass(frozen=True)
class Brought:
    """One recipe with its lines read against the kitchen's names."""

    found: Found
    lines: tuple[Line, ...]
    request: str

    @property
    def unread(self) -> list[Line]:
        """Lines for a person to settle."""
        return [line for line in self.lines if line.why]

    @property
    def read(self) -> list[Line]:
        """Lines that were understood."""
        return [line for line in self.lines if not line.why]

    @property
    def ways(self) -> list[tuple[str, list[str]]]:
        """Ways on from here: the lines as they were written, or with what is offered in the place of some."""
        written = [line.text.replace("|", "/") for line in self.lines]
        offered = [line.perhaps or line.text.replace("|", "/") for line in self.lines]
        ways = [("Settle it as a trial", written)]
        return [("Settle it with what may be meant", offered), *ways] if offered != written else ways

    @property
    def name(self) -> str:
        return self.found.name or "A recipe without a name"


@dataclass(frozen=True)
class BringPage:
    """The form, and what was found in the file. note: how it was read, where that was a guess."""

    wrong: str = ""
    typed: str = ""
    brought: list[Brought] = field(default_factory=list)
    note: str = ""

    def as_json(self) -> dict[str, Any]:
        return {"recipes": [
            {"name": b.name, "yield": b.found.made, "understood": [x.text for x in b.read],
             "to_settle": [{"line": x.text, "why": x.why, "perhaps": x.perhaps} for x in b.unread],
             "method": list(b.found.steps)}
            for b in self.brought], "note": self.note}  # fmt: skip


@page("formats/bring.html", needs="trials", methods=("GET", "HEAD", "POST"))
async def bring(datasette: Any, request: Any) -> Any:
    if request.method != "POST":
        return BringPage()
    try:
        fields = await posted(request, MOST_BYTES)
    except TooLarge:
        return await html(datasette, request, "formats/bring.html", BringPage(TOO_LARGE), status=413)
    file, text = sent(request, "file"), fields.get("text", "")
    kept = fields.get("text", "")[:20_000]
    try:
        if not file.strip() and not text.strip():
            raise Refused("Choose a file, or paste what is in it.")
        found, note = await asyncio.to_thread(_read, file, text)
    except Refused as error:
        return await html(datasette, request, "formats/bring.html", BringPage(str(error), kept), status=400)
    return await query(datasette, lambda connection: BringPage("", "", [_brought(connection, f) for f in found], note))


def _read(file: bytes, text: str) -> tuple[list[Found], str]:
    """The recipes of a file, or of what was pasted, and how the file was read where that was a guess."""
    decoded = text_of(file) if file.strip() else Decoded(text)
    return recipes_of(decoded.text), decoded.note


def _brought(connection: sqlite3.Connection, found: Found) -> Brought:
    names = names_of(connection)
    return Brought(found, tuple(_line(text, names) for text in found.lines), request_id())


def _line(text: str, names: Names) -> Line:
    """A line read as the kitchen's own are."""
    try:
        read = names.read(text)
    except ReadError as error:
        why = f"{error.what}. {error.why}".strip() if error.what else quoted(text)
        return Line(text, "", why, perhaps(text, names))
    return Line(text, read.thing.name, "")
