"""From the kitchen's file to what the computation of short supply takes."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from stillroom.db.named_sql import asker
from stillroom.db.stock import Stock, purchased, read_stock
from stillroom.plugins.supply.compute import Part, Supply, Way, supply

ZERO = Fraction(0)


ask = asker("stillroom.plugins.supply")


@dataclass(frozen=True)
class Reach:
    """One recipe that an item reaches: quantity of the item [its unit, AP] for one plate or base unit, every path."""

    id: str
    name: str
    kind: str
    unit: str
    is_on_menu: bool
    quantity: Fraction
    paths: tuple[tuple[str, ...], ...]


def read_reach(connection: sqlite3.Connection, item: str, day: str) -> list[Reach]:
    """Dishes first, then sub-recipes and cuts, each once."""
    found: dict[str, Reach] = {}
    for recipe, name, kind, unit, quantity, share, path, on_menu in ask(connection, "uses", item=item, day=day):
        each = purchased(Fraction(quantity), Fraction(share) if share else None)
        known = found.get(recipe) or Reach(recipe, name, kind, unit, bool(on_menu), ZERO, ())
        paths = (*known.paths, tuple(json.loads(path)))
        found[recipe] = Reach(recipe, name, kind, unit, bool(on_menu), known.quantity + each, paths)
    return list(found.values())


def read_parts(connection: sqlite3.Connection, item: str) -> list[Part]:
    """Every line of a recipe on the way to the item, for one base unit of the recipe's yield."""
    return [
        Part(recipe, used, purchased(Fraction(quantity), Fraction(share) if share else None) / Fraction(made))
        for recipe, used, quantity, made, share in ask(connection, "parts", item=item)
    ]


def read_supply(connection: sqlite3.Connection, item: str, day: str) -> tuple[Supply, dict[str, Stock]]:
    """The recipes above an item with what is on hand, and each stock by id."""
    parts = read_parts(connection, item)
    found = read_stock(connection, [item, *dict.fromkeys(p.recipe for p in parts)], day)
    batches = {thing: of.on_hand for thing, of in found.items() if thing != item}
    return supply(item, parts, found[item].on_hand, batches), found


def read_ways(connection: sqlite3.Connection, recipes: Iterable[str]) -> dict[str, list[Way]]:
    """Every path of some recipes, with the ids of the recipes passed through."""
    subs = dict(
        connection.execute("select id, sub_recipe_id from components where sub_recipe_id is not null").fetchall()
    )
    found: dict[str, list[Way]] = {}
    for recipe, item, components in ask(connection, "ways", ids=json.dumps(list(recipes))):
        through = tuple(subs[c] for c in json.loads(components) if c in subs)
        found.setdefault(recipe, []).append(Way(item, through))
    return found


def read_measures(connection: sqlite3.Connection, thing: str, is_item: bool) -> Mapping[str, Fraction]:
    """The measures of an item or of a recipe's yield: measure -> quantity in its base unit."""
    table, key = ("item_measures", "item_id") if is_item else ("recipe_measures", "recipe_id")
    rows = connection.execute(f"select measure, quantity from {table} where {key} = ?", (thing,))
    return {measure: Fraction(quantity) for measure, quantity in rows}


def read_families(connection: sqlite3.Connection) -> dict[str, frozenset[str]]:
    """Allergen -> the wider one it belongs to and the narrower ones it holds."""
    found: dict[str, frozenset[str]] = {}
    for one, wider in connection.execute("select id, parent_id from allergens where parent_id is not null"):
        found[one] = found.get(one, frozenset()) | {wider}
        found[wider] = found.get(wider, frozenset()) | {one}
    return found
