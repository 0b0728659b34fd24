"""The one transaction that puts a checked load into the kitchen's file, live or not: readers see all of the old or all of the new."""

from __future__ import annotations

import json
import sqlite3
import uuid
from collections.abc import Iterable

from stillroom.db import allergen_facts
from stillroom.db.build import log_tables
from stillroom.db.connect import transaction
from stillroom.db.exact import exact_text
from stillroom.db.graph import low_levels, paths
from stillroom.db.reference_data import load_reference
from stillroom.loaders.book import graph_of
from stillroom.loaders.read import Load, Record

# Children last: the order is only for reading, foreign keys are held to the end of the transaction.
KITCHEN_TABLES = (
    "kitchen", "stations", "surfaces", "equipment", "people", "service_days", "suppliers", "items", "item_tags",
    "item_measures", "products", "product_allergens", "price_quotes", "recipes", "recipe_measures", "components",
    "by_products", "method_steps", "recipe_surfaces", "recipe_equipment", "pieces", "cooking_steps", "substitutes",
    "pars", "explosion", "low_level", "warnings",
)  # fmt: skip
NOTHING_BEFORE = "new dish"


def publish(connection: sqlite3.Connection, load: Load, now: str) -> int:
    """Writes a load without errors; returns how many dishes' declarations changed."""
    derive(load)
    with transaction(connection):
        connection.execute("pragma defer_foreign_keys = on")
        before = allergen_facts.dish_declarations(connection)
        old_dishes = {i for (i,) in connection.execute("select id from recipes where kind = 'dish'")}
        logs = [t for t in log_tables(connection) if t not in {"allergen_changes", "change_reads"}]
        for table in KITCHEN_TABLES:
            connection.execute(f"delete from {table}")
        for table in logs:
            connection.execute(f"delete from {table} where origin = 'file'")
        load_reference(connection)
        for table in (*KITCHEN_TABLES, *logs):
            insert(connection, table, load.rows.get(table, []), "or ignore" if table in logs else "")
        changes = _changes(connection, before, old_dishes, load, now)
        insert(connection, "loads", [{
            "loaded_at": now, "source": str(load.source.path), "rows": sum(map(len, load.rows.values())),
            "warnings": sum(p.severity == "warning" for p in load.problems),
        }])  # fmt: skip
    return changes


def insert(connection: sqlite3.Connection, table: str, rows: Iterable[Record], how: str = "") -> None:
    """Rows that all have the same columns."""
    rows = list(rows)
    if rows:
        columns = list(rows[0])
        marks = ", ".join(f":{c}" for c in columns)
        connection.executemany(f"insert {how} into {table} ({', '.join(columns)}) values ({marks})", rows)


def derive(load: Load) -> None:
    """Settings, warnings, the explosion and the levels as rows."""
    load.rows["kitchen"] = [{"key": k, "value": v, "note": ""} for k, v in load.settings.items()]
    load.rows["warnings"] = [
        {"id": n, "place": str(p.place), "code": p.code, "what": p.what, "why": p.why, "fix": p.fix}
        for n, p in enumerate((p for p in load.problems if p.severity == "warning"), 1)
    ]
    yields, lines = graph_of(load)
    names = {r["id"]: r["name"] for t in ("items", "recipes") for r in load.rows.get(t, ())}
    load.rows["explosion"] = [
        {
            "recipe_id": recipe, "path_no": number, "item_id": path.item, "quantity": exact_text(path.quantity),
            "amount": float(path.quantity), "edible_yield": None if path.edible_yield is None else exact_text(path.edible_yield),
            "path": json.dumps([names[s] for s in path.steps], ensure_ascii=False),
            "component_ids": json.dumps(path.component_ids), "removable_id": path.removable, "level": len(path.steps),
        }
        for recipe, found in paths(yields, lines).items()
        for number, path in enumerate(found)
    ]  # fmt: skip
    load.rows["low_level"] = [{"id": i, "level": n} for i, n in low_levels(yields, lines).items()]


def _changes(
    connection: sqlite3.Connection, before: dict[tuple[str, str], str], old_dishes: set[str], load: Load, now: str
) -> int:
    """Keeps every dish and allergen whose declaration this load changed; a first load and a new dish change nothing."""
    after = allergen_facts.dish_declarations(connection)
    names = dict(connection.execute("select id, name from recipes where kind = 'dish'"))
    rows = []
    for dish, allergen in sorted(before.keys() | after.keys()):
        was = before.get((dish, allergen), allergen_facts.NOT_DECLARED)
        is_now = after.get((dish, allergen), allergen_facts.NOT_DECLARED)
        if was == is_now or dish not in old_dishes or dish not in names:
            continue
        rows.append({
            "request_id": uuid.uuid4().hex, "recorded_at": now, "actor": "load", "origin": "load", "dish_id": dish,
            "dish_name": names[dish], "allergen_id": allergen, "was": was, "now": is_now,
            "because": _because(connection, dish, allergen), "changed_on": now[:10],
        })  # fmt: skip
    insert(connection, "allergen_changes", rows)
    return len({r["dish_id"] for r in rows})


def _because(connection: sqlite3.Connection, dish: str, allergen: str) -> str:
    """The products behind a declaration, or the products nobody has read."""
    condition = "p.reviewed_on is null" if allergen == "any" else "a.allergen_id = ?"
    found = connection.execute(
        "select distinct p.name from explosion as e join products as p on p.item_id = e.item_id and p.is_active = 1"
        f" left join product_allergens as a on a.product_id = p.id where e.recipe_id = ? and e.amount > 0 and {condition}",  # noqa: S608
        (dish,) if allergen == "any" else (dish, allergen),
    )
    return "; ".join(name for (name,) in found) or "no product declares it any more"
