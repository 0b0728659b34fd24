"""Words behind the name in a recipe line: what they name goes in nowhere, so they may hide an allergen. Warnings only.

'40 g carrots, tossed in butter' is read as carrots: no butter is counted, and no milk is answered, unless another line
of the recipe brings it.
"""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from dataclasses import dataclass

from stillroom.db.label_words import CONTAINS, LabelReader, LabelWord, behind, kin_of, label_words, pointed
from stillroom.db.problems import quoted
from stillroom.loaders.read import Load
from stillroom.loaders.source import Aside


@dataclass(frozen=True)
class Book:
    """What is known of things by name: lines, declared allergens of items, and how words are read.

    lines: recipe -> the items and recipes that it takes.
    declared: item -> allergens on the labels of its products.
    kin: allergen -> itself, the groups above it and the kinds below it.
    """

    reader: LabelReader
    lines: dict[str, list[tuple[str, bool]]]
    declared: dict[str, set[str]]
    kin: dict[str, set[str]]
    names: dict[str, str]

    def brought(self, recipe: str) -> set[str]:
        """Allergens and sub-recipes that the lines of a recipe bring, through all levels."""
        found, items, ahead = {recipe}, set(), [recipe]
        while ahead:
            for thing, is_recipe in self.lines.get(ahead.pop(), ()):
                if not is_recipe:
                    items.add(thing)
                elif thing not in found:
                    found.add(thing)
                    ahead.append(thing)
        for item in items:
            found |= self.declared.get(item, set()) | set(pointed(self.reader, self.names.get(item, "")))
        return found


def check_lines(load: Load, reference: sqlite3.Connection) -> None:
    """Warns of each line whose words behind the name point to something that no line of its recipe brings."""
    if not load.asides:
        return
    book = _book(load, reference)
    called = dict(reference.execute("select id, name from allergens"))
    called |= {known.id: known.name for known in load.ids.get("recipes", {}).values()}
    for aside in load.asides:
        if pointed(book.reader, aside.words):
            brought = book.brought(aside.recipe) | set(pointed(book.reader, aside.thing))
            _warn(load, aside, behind(book.reader, book.kin, aside.words, brought), called)


def _warn(load: Load, aside: Aside, missing: dict[str, str], called: dict[str, str]) -> None:
    for key, within in missing.items():
        load.problem(
            "line-aside",
            aside.place,
            f"{quoted(within)} behind {quoted(aside.thing)} points to {called.get(key, key)}, which no line brings",
            "Words behind the name say how it is cut: nothing of them goes in, no allergen of theirs is answered.",
            "write what goes in as a line of its own, or the name as it stands among items and recipes",
            "warning",
        )


def _book(load: Load, reference: sqlite3.Connection) -> Book:
    recipes = (LabelWord(known.name, known.id, CONTAINS) for known in load.ids.get("recipes", {}).values())
    lines: dict[str, list[tuple[str, bool]]] = defaultdict(list)
    for row in load.rows.get("components", ()):
        lines[row["recipe_id"]].append((row["item_id"] or row["sub_recipe_id"], row["item_id"] is None))
    item_of = {row["id"]: row["item_id"] for row in load.rows.get("products", ())}
    declared: dict[str, set[str]] = defaultdict(set)
    for row in load.rows.get("product_allergens", ()):
        declared[item_of[row["product_id"]]].add(row["allergen_id"])
    names = {known.id: known.name for known in load.ids.get("items", {}).values()}
    return Book(LabelReader([*label_words(reference), *recipes]), lines, declared, kin_of(reference), names)
