"""From the kitchen's file to the values that cards are made of."""

from __future__ import annotations

import sqlite3
from fractions import Fraction
from typing import Any

from stillroom.db.exact import read_exact
from stillroom.db.named_sql import asker
from stillroom.plugins.book.compute import Book, Line, Recipe, read_said

ask = asker("stillroom.plugins.book")


def read_book(connection: sqlite3.Connection, recipe: str, mark: str) -> Book:
    """A recipe and every recipe that it reaches; empty where there is none of that id."""
    lines: dict[str, list[Line]] = {}
    for owner, *row in ask(connection, "lines", recipe=recipe):
        lines.setdefault(owner, []).append(_line(row, mark))
    steps: dict[str, list[str]] = {}
    for owner, text in ask(connection, "steps", recipe=recipe):
        steps.setdefault(owner, []).append(text)
    return {
        row[0]: Recipe(row[0], row[1], row[2], read_exact(row[3]), row[4], row[5], tuple(lines.get(row[0], ())),
                       tuple(steps.get(row[0], ())))
        for row in ask(connection, "book", recipe=recipe)
    }  # fmt: skip


def _line(row: list[Any], mark: str) -> Line:
    number, item, recipe, name, quantity, unit, said, said_unit, prep, share, off, scales = row
    return Line(
        number, item, recipe, name, read_exact(quantity), unit, read_said(said, mark), said, said_unit, prep,
        None if share is None else read_exact(share), bool(off), scales,
    )  # fmt: skip


def read_measures(connection: sqlite3.Connection, recipe: str) -> dict[str, dict[str, Fraction]]:
    """'recipe' for the recipe itself, or the id of a thing on its lines -> its own measures."""
    found: dict[str, dict[str, Fraction]] = {}
    for thing, measure, quantity in ask(connection, "measures", recipe=recipe):
        found.setdefault(thing, {})[measure] = read_exact(quantity)
    return found
