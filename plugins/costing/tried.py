"""Recipes that are not in the book, costed beside it: for features that try recipes out."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import replace

from stillroom.plugins.core.tried import Tried, Worth
from stillroom.plugins.costing.asked import read_asked
from stillroom.plugins.costing.compute import cost_all, lacking
from stillroom.plugins.costing.house import Component, House, Recipe
from stillroom.plugins.costing.rows import read_house


def with_tried(house: House, tried: Sequence[Tried]) -> House:
    """The kitchen with some recipes more; their keys hold a space, so that they are no recipe's id."""
    recipes = {f"tried {t.key}": Recipe(f"tried {t.key}", t.key, "dish", t.made, t.unit) for t in tried}
    lines = [
        Component(-1 - n, f"tried {t.key}", x.item, x.sub_recipe, x.quantity, x.edible, "")
        for n, (t, x) in enumerate((t, x) for t in tried for x in t.lines)
    ]
    return replace(house, recipes={**house.recipes, **recipes}, components=[*house.components, *lines])


def worth_of(connection: sqlite3.Connection, tried: Sequence[Tried]) -> dict[str, Worth]:
    """Cost of one base unit of each, today, on the kitchen's own basis."""
    choice = read_asked(connection, {}).choice
    house = with_tried(read_house(connection, choice.day), tried)
    sheet = cost_all(house, choice)
    return {
        t.key: Worth(sheet.costs.of(f"tried {t.key}"), tuple(lacking(house, sheet, f"tried {t.key}"))) for t in tried
    }
