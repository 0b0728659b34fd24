"""Words behind the names in a version's lines that point to an allergen, or a recipe, which no line of it brings."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping

from stillroom.db.allergen_kitchen import Kitchen
from stillroom.db.drafts import Checked, Draft
from stillroom.db.label_words import CONTAINS, LabelReader, LabelWord, behind, kin_of, label_words, pointed
from stillroom.db.named_sql import asker

ask = asker("stillroom.plugins.trials")


def words_behind(
    connection: sqlite3.Connection, here: Kitchen, versions: Mapping[int, tuple[Draft, Checked]]
) -> dict[int, dict[int, str]]:
    """Version -> number of its line, from 1 -> what is said beside it; only lines that want it."""
    if not any(c.read.prep for _, checked in versions.values() for c in checked.components):
        return {}
    recipes = dict(connection.execute("select id, name from recipes"))
    called = recipes | dict(connection.execute("select id, name from allergens"))
    reader = LabelReader([*label_words(connection), *(LabelWord(name, i, CONTAINS) for i, name in recipes.items())])
    kin, found = kin_of(connection), {}
    for number, (draft, checked) in versions.items():
        brought = _brought(connection, here, checked, reader)
        at = {id(line): n for n, line in enumerate(draft.lines, 1)}
        lines = {}
        for c in checked.components:
            if missing := behind(reader, kin, c.read.prep, brought):
                lines[at[id(c.line)]] = "; ".join(
                    f"“{within}” points to {called.get(key, key)}, which no line brings: write it as a line of its own"
                    for key, within in missing.items()
                )
        found[number] = lines
    return found


def _brought(connection: sqlite3.Connection, here: Kitchen, checked: Checked, reader: LabelReader) -> set[str]:
    """Recipes that go in, through all levels; allergens on the labels of what goes in, and in its names."""
    found: set[str] = set()
    items: set[str] = set()
    for c in checked.components:
        thing = c.read.thing
        if thing.is_recipe:
            ways = here.ways.get(thing.id, ())
            found |= {thing.id, *(recipe for way in ways for recipe in way.recipes)}
            items |= {way.item for way in ways}
        else:
            items.add(thing.id)
    for name, allergen in ask(connection, "declared_of", items=json.dumps(sorted(items))):
        found |= {allergen} | set(pointed(reader, name))
    return found - {None}
