"""What a form is, and the pieces that several of them share."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from stillroom.db.log import instant
from stillroom.plugins.logbook.checks import Check, Says
from stillroom.plugins.logbook.fields import Book, Field, Known

Values = Mapping[str, Any]
Rows = list[tuple[str, dict[str, Any]]]


@dataclass(frozen=True)
class Form:
    """One form.

    Attributes:
        slug: its address, /log/SLUG.
        title: what is written down.
        table: the log it writes to.
        fields: in the order they are asked.
        rows: the values as rows of the log, the first of them in `table`.
        check: what the fields come to together: wrong, or asked.
        code: (column, letters) of a code that the kitchen gives by itself where none was typed.
        once: whether no two entries that count may have the same code.
        alone: whether what is wrong with it is asked again once the file is held: of two who send at once one is told.
        facts: what its check needs to know, by name.
        subject: the field that says what it is about.
        quantity: (field, column) whose usual size is known from what was written down before.
        needs: the action that whoever writes it must have.
        note: a line under the title.
    """

    slug: str
    title: str
    table: str
    fields: tuple[Field, ...]
    rows: Callable[[Values, Book], Rows]
    check: Check = lambda values, book: Says({}, {})
    code: tuple[str, str] = ("", "")
    once: bool = False
    alone: bool = False
    facts: tuple[str, ...] = ()
    subject: str = ""
    quantity: tuple[str, str] = ("", "")
    needs: str = "log"
    note: str = ""


def either(known: Known | None) -> dict[str, str | None]:
    """A thing as the two columns that logs keep it in; a batch or a tub is its recipe."""
    if known is None:
        return {"item_id": None, "recipe_id": None}
    return (
        {"item_id": known.id, "recipe_id": None} if known.table == "items" else {"item_id": None, "recipe_id": known.id}
    )


def id_of(known: Known | None) -> str | None:
    return None if known is None else known.id


def at_of(values: Values) -> str:
    return instant(values['at'])


NOTE = Field("note", "Note", "text", aside=True)
AT = Field("at", "When", "moment", note="now, unless you say another time: 17:40", aside=True)
# Can't be below and above; asked again below and above [°F]. Common practice, no source.
FOOD = (-40.0, 450.0, 0.0, 212.0)
ROOM = (-60.0, 150.0, -30.0, 90.0)


def temp(name: str, label: str, required: bool, note: str, limits: tuple[float, float, float, float] = FOOD) -> Field:
    low, high, sure_low, sure_high = limits
    return Field(
        name, label, "temperature", required, low=low, high=high, sure_low=sure_low, sure_high=sure_high, note=note
    )


def day(name: str, label: str) -> Field:
    return Field(name, label, "today", note="today, unless you say another day", aside=True)
