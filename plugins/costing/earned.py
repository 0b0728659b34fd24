"""Margins of today's dishes, for features that have to choose between plates."""

from __future__ import annotations

import sqlite3
from fractions import Fraction

from stillroom.db.exact import to_decimal
from stillroom.plugins.core.margins import Margin
from stillroom.plugins.costing.asked import read_asked
from stillroom.plugins.costing.compute import Plate, plates
from stillroom.plugins.costing.rows import costed_from, once, read_house, read_sheet


def margins(connection: sqlite3.Connection) -> dict[str, Margin]:
    """As /cost shows them when it is asked for nothing else."""
    choice = read_asked(connection, {}).choice

    def make() -> dict[str, Margin]:
        found = plates(read_house(connection, choice.day), read_sheet(connection, choice))
        return {p.id: _margin(p) for p in found}

    return once(connection, ("margins", choice), make, costed_from(choice))


def _margin(p: Plate) -> Margin:
    if p.margin is None:
        return Margin(None, p.lacks or ("no menu price",))
    return Margin(Fraction(to_decimal(p.margin, 2)))
