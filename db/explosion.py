"""The explosion as rows: every path of a recipe to a bought item."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any

from stillroom.db.exact import exact_text
from stillroom.db.graph import BY_PRODUCT, Line, Path, low_levels, paths, users


def explosion_rows(found: Mapping[str, Sequence[Path]], names: Mapping[str, str]) -> Iterator[dict[str, Any]]:
    """One row a recipe and path, as the table explosion keeps it.

    Args:
        found: recipe -> its paths (`graph.paths`).
        names: id of an item or recipe -> its name.
    """
    for recipe, ways in found.items():
        for number, path in enumerate(ways):
            yield {
                "recipe_id": recipe, "path_no": number, "item_id": path.item, "quantity": exact_text(path.quantity),
                "amount": float(path.quantity),
                "edible_yield": None if path.edible_yield is None else exact_text(path.edible_yield),
                "path": json.dumps([names[step] for step in path.steps], ensure_ascii=False),
                "component_ids": json.dumps(path.component_ids), "removable_id": path.removable,
                "level": len(path.steps),
            }  # fmt: skip


def read_graph(connection: sqlite3.Connection) -> tuple[dict[str, Fraction], list[Line]]:
    """Yields and lines of all recipes of a kitchen's file, by-products as lines below zero."""
    yields = {i: Fraction(made) for i, made in connection.execute("select id, yield_quantity from recipes")}
    lines = [
        Line(recipe, i, item, sub, Fraction(quantity), None if edible is None else Fraction(edible), bool(off))
        for recipe, i, item, sub, quantity, edible, off in connection.execute(
            "select recipe_id, id, item_id, sub_recipe_id, quantity, edible_yield, is_removable from components"
            " order by recipe_id, position"
        )
    ]
    left_over = connection.execute("select recipe_id, item_id, quantity from by_products order by recipe_id, position")
    return yields, lines + [Line(r, BY_PRODUCT, item, None, -Fraction(q)) for r, item, q in left_over]


def reach(lines: Iterable[Line], recipe: str) -> set[str]:
    """A recipe and all that use it, at any depth."""
    used_by, found, todo = users(lines), {recipe}, [recipe]
    while todo:
        for line in used_by.get(todo.pop(), ()):
            if line.recipe not in found:
                found.add(line.recipe)
                todo.append(line.recipe)
    return found


def forget(connection: sqlite3.Connection, recipe: str) -> None:
    """Takes out the paths of a recipe and of all that use it: its lines are about to be others."""
    for user in reach(read_graph(connection)[1], recipe):
        connection.execute("delete from explosion where recipe_id = ?", (user,))


def derive_again(connection: sqlite3.Connection, recipe: str) -> None:
    """Paths of a recipe and of all that use it, and the levels of all, made from the lines as they are now.

    Raises:
        LoopError: a recipe reaches itself.
    """
    yields, lines = read_graph(connection)
    names = dict(connection.execute("select id, name from items union all select id, name from recipes"))
    wanted, found = reach(lines, recipe), paths(yields, lines)
    connection.executemany(
        "insert into explosion (recipe_id, path_no, item_id, quantity, amount, edible_yield, path, component_ids,"
        " removable_id, level) values (:recipe_id, :path_no, :item_id, :quantity, :amount, :edible_yield, :path,"
        " :component_ids, :removable_id, :level)",
        explosion_rows({r: found[r] for r in wanted}, names),
    )
    connection.execute("delete from low_level")
    connection.executemany("insert into low_level values (?, ?)", low_levels(yields, lines).items())
