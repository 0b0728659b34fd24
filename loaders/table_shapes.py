"""What a table of the kitchen's own files is made of: tables, columns, and the kinds of values they hold."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal[
    "text",         # anything
    "name",         # the thing's own name; the id is made from it
    "ref",          # the name of a row in another table
    "quantity",     # number and unit as a cook writes them: 2½ qt, 3 ea, 450 g
    "line",         # quantity, unit and name: 5 lb leeks, trimmed
    "pack",         # 6/#10, 4/1 gal, 24/12 ct, 2/5#, catch weight
    "number",       # 3, 2.5, 1 1/2
    "whole",        # a whole number, zero or more
    "percent",      # 85 or 85 %
    "money",        # 12.50, no currency sign
    "date",         # 2026-11-25, or the kitchen's own order where it says so
    "instant",      # 2026-11-25 17:40, the kitchen's clock
    "clock",        # 17:00
    "span",         # 3 days, 90 min, 2 h 30
    "temperature",  # 38 °F, 3 °C, 38 F; the unit is never guessed
    "length",       # 38 mm, 1.5 in
    "yes",          # yes / no
    "choice",       # one of a closed list
    "list",         # several, separated by ;
    "weekdays",     # mon wed fri
]


@dataclass(frozen=True)
class Column:
    """One column: its header, what kind of value it holds, whether it may be empty, and a note for the person.

    to is the table a ref (or each member of a list) names: 'items', 'recipes', 'items or recipes', 'allergens', ...
    """

    name: str
    kind: Kind
    note: str
    required: bool = False
    to: str = ""
    allowed: tuple[str, ...] = ()
    example: str = ""


@dataclass(frozen=True)
class Table:
    """One table: its name as file or sheet, what one row is, its columns, and which columns together are unique.

    is_own: written by stillroom alone, when a kitchen is written out as files; nobody fills it in.
    """

    name: str
    note: str
    columns: tuple[Column, ...]
    key: tuple[str, ...] = ()
    is_log: bool = False
    is_own: bool = False


def must(name: str, kind: Kind, note: str, example: str = "", to: str = "", allowed: tuple[str, ...] = ()) -> Column:
    return Column(name, kind, note, True, to, allowed, example)


def may(name: str, kind: Kind, note: str, example: str = "", to: str = "", allowed: tuple[str, ...] = ()) -> Column:
    return Column(name, kind, note, False, to, allowed, example)
