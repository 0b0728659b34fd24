"""A form that could not be written: why, in words, and all that was typed, ready to be sent again."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass

NEVER_SHOWN = frozenset({"csrftoken", "pin", "password"})  # asked for anew
SIGNER = "who"
LONGEST = 200_000  # characters kept; a file that was chosen is chosen again


@dataclass(frozen=True)
class Why:
    """What stands in the way, as a title and a sentence."""

    title: str
    words: str


BUSY = Why("Busy", "The file is being written by another. Nothing was changed: try again in a moment.")
# What SQLite says, by a part of it; each is a state of the machine and no mistake of a form or a page.
WHYS = (
    ("locked", BUSY),
    ("full", Why("No room", "The disk is full. Nothing was written: tell the manager, make room, then send it again.")),
    ("readonly", Why("Read only", "The kitchen's file may not be written to. Nothing was written: tell the manager.")),
    ("unable to open", Why("Not there", "The kitchen's file can't be opened. Nothing was written: tell the manager.")),
    ("disk i/o", Why("Disk fault", "The disk did not take it. Nothing was written: tell the manager, then try again.")),
    ("malformed", Why("Damaged", "The kitchen's file is damaged. Nothing was written: the manager stops the server and"
                      " puts the last backup in its place.")),
    ("not a database", Why("Damaged", "The kitchen's file is damaged. Nothing was written: the manager stops the server"
                           " and puts the last backup in its place.")),
)  # fmt: skip


@dataclass(frozen=True)
class Unwritten:
    """A form to be sent again.

    Attributes:
        address: where it goes.
        fields: names and values as they were sent, but for secrets.
        shown: those of them that a person typed, in plain words.
        is_cut: a file was too long to be kept here.
        signed_who: who was tapped to sign on a shared tablet.
    """

    title: str
    words: str
    address: str
    fields: tuple[tuple[str, str], ...]
    shown: tuple[tuple[str, str], ...]
    is_cut: bool
    signed_who: str


def why(error: sqlite3.DatabaseError) -> Why | None:
    """What stands in the way; None where the fault is the program's own."""
    said = str(error).lower()
    if isinstance(error, sqlite3.IntegrityError | sqlite3.ProgrammingError):
        return None
    return next((found for part, found in WHYS if part in said), None)


def form_of(found: Why, address: str, sent: Mapping[str, str]) -> Unwritten:
    """The form as it was sent, its secrets left out."""
    fields = {name: value for name, value in sent.items() if name not in NEVER_SHOWN}
    is_cut = sum(map(len, fields.values())) > LONGEST
    if is_cut:
        fields = {name: value for name, value in fields.items() if len(value) < LONGEST // 10}
    signer = fields.pop(SIGNER, "")
    shown = tuple((_words(name), value) for name, value in fields.items() if value and not name.endswith("request_id"))
    return Unwritten(found.title, found.words, address, tuple(fields.items()), shown, is_cut, signer)


def _words(name: str) -> str:
    return name.replace("_", " ").replace("-", " ")
