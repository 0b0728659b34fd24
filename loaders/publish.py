"""The one transaction that puts a checked load into a kitchen's file, live or not: readers see all old or all new."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable

from stillroom.db import allergen_facts
from stillroom.db.allergen_changes import record_changes
from stillroom.db.book_versions import keep_versions
from stillroom.db.build import create_views, log_tables
from stillroom.db.connect import transaction
from stillroom.db.explosion import explosion_rows
from stillroom.db.graph import low_levels, paths
from stillroom.db.kitchen import today as kitchen_day
from stillroom.db.problems import Place, Problem, quoted
from stillroom.db.promotions import apply_due
from stillroom.db.reference_data import load_reference
from stillroom.db.search_index import rebuild
from stillroom.loaders.book import graph_of
from stillroom.loaders.merge import mark_kept, merge_log, start_again
from stillroom.loaders.read import Load, Record
from stillroom.loaders.stage import Stage

# Children last: the order is only for reading, foreign keys are held to the end of the transaction.
KITCHEN_TABLES = (
    "kitchen", "stations", "surfaces", "equipment", "people", "shifts", "service_days", "suppliers", "holidays",
    "items", "item_tags", "item_measures", "products", "product_allergens", "price_quotes", "recipes",
    "recipe_measures", "photos", "components", "by_products", "method_steps", "recipe_surfaces", "recipe_equipment",
    "pieces", "cooking_steps", "substitutes", "pars", "explosion", "low_level", "warnings",
)  # fmt: skip


def publish(connection: sqlite3.Connection, load: Load, stage: Stage, now: str) -> int:
    """Writes a load without errors, its derived rows made; returns how many dishes' declarations changed."""
    connection.execute("attach database ? as stage", (str(stage.path),))
    logs = log_tables(connection)
    compared = _last_load(connection)
    for table in stage.counts:
        mark_kept(connection, table)
    with transaction(connection):
        connection.execute("pragma defer_foreign_keys = on")
        if _last_load(connection) != compared:  # another load came between
            for table in stage.counts:
                start_again(connection, table)
        before = allergen_facts.dish_declarations(connection)
        known = _names(connection)
        old_dishes = {i for (i,) in connection.execute("select id from recipes where kind = 'dish'")}
        for table in KITCHEN_TABLES:
            connection.execute(f"delete from {table}")
        load_reference(connection)
        for table in KITCHEN_TABLES:
            insert(connection, table, load.rows.get(table, []))
        for table in logs:
            merge_log(connection, table, is_staged=table in stage.counts)
        _give_way(connection, load, apply_due(connection, kitchen_day(connection), now))
        _tell_gone(connection, load, known)
        create_views(connection)
        rebuild(connection)
        changes = record_changes(connection, before, old_dishes, now)
        keep_versions(connection, kitchen_day(connection).isoformat(), now)
        insert(connection, "loads", [{
            "loaded_at": now, "source": str(load.source.path), "rows": load.count + stage.rows,
            "warnings": sum(p.severity == "warning" for p in load.problems),
        }])  # fmt: skip
    connection.execute("detach database stage")
    return changes


def _give_way(connection: sqlite3.Connection, load: Load, dishes: list[str]) -> None:
    """Tells which recipes of the files gave way to a promoted version, or are not in the files at all."""
    own = {row["id"]: (str(row["origin"]), row["name"]) for row in load.rows.get("recipes", ())}
    for dish in dishes:
        name, version = connection.execute("select name, version from recipes where id = ?", (dish,)).fetchone()
        place, was = own.get(dish, (str(load.source.path), name))
        more = f"`version: {version}`" + ("" if name == was else f", `name: {name}` and `first called: {was}`")
        _warn(connection, load, Problem(
            "promotion-kept", Place(place),
            f"{quoted(name)} is version {version} of its trial, which the files do not hold yet", "",
            f"write the kitchen out with `stillroom dump`, or write {more} in the recipe", "warning",
        ))  # fmt: skip


def _names(connection: sqlite3.Connection) -> dict[tuple[str, str], str]:
    """('items' or 'recipes', id) -> name."""
    rows = connection.execute("select 'items', id, name from items union all select 'recipes', id, name from recipes")
    return {(table, ident): name for table, ident, name in rows}


def _tell_gone(connection: sqlite3.Connection, load: Load, before: dict[tuple[str, str], str]) -> None:
    """Tells what this load took out of the kitchen and the logs name: under another name its counts are nobody's."""
    now = _names(connection)
    for (table, ident), name in ((key, name) for key, name in before.items() if key not in now):
        column = "item_id" if table == "items" else "recipe_id"
        logs = ("counts", "deliveries", "batch_uses") if table == "items" else ("counts", "batches", "plates_sold")
        question = " + ".join(f"(select count(*) from standing_{log} where {column} = :id)" for log in logs)
        (entries,) = connection.execute(f"select {question}", {"id": ident}).fetchone()
        times = "once" if entries == 1 else f"{entries} times"
        if entries:
            mend = "keep the name it had" if table == "items" else f"write `first called: {name}` beside the new one"
            _warn(connection, load, Problem(
                "left-out", Place(str(load.source.path)),
                f"{quoted(name)} is no longer in the files, and the logs name it {times}",
                "What was counted, paid or sold of it stays written down, and is of nothing else.",
                f"if it only has another name now, {mend}", "warning",
            ))  # fmt: skip


def _warn(connection: sqlite3.Connection, load: Load, problem: Problem) -> None:
    """A warning that shows only once the rows are in place."""
    load.problems.append(problem)
    connection.execute(
        "insert into warnings (place, code, what, why, fix) values (?, ?, ?, ?, ?)",
        (str(problem.place), problem.code, problem.what, problem.why, problem.fix),
    )


def _last_load(connection: sqlite3.Connection) -> int:
    (number,) = connection.execute("select coalesce(max(id), 0) from loads").fetchone()
    return int(number)


def insert(connection: sqlite3.Connection, table: str, rows: Iterable[Record]) -> None:
    """Rows that all have the same columns."""
    rows = list(rows)
    if rows:
        columns = list(rows[0])
        marks = ", ".join(f":{c}" for c in columns)
        connection.executemany(f"insert into {table} ({', '.join(columns)}) values ({marks})", rows)


def derive(load: Load) -> None:
    """Settings, warnings, the explosion and the levels as rows."""
    load.rows["kitchen"] = [{"key": k, "value": v, "note": ""} for k, v in load.settings.items()]
    load.rows["warnings"] = [
        {"id": n, "place": str(p.place), "code": p.code, "what": p.what, "why": p.why, "fix": p.fix}
        for n, p in enumerate((p for p in load.problems if p.severity == "warning"), 1)
    ]
    yields, lines = graph_of(load)
    names = {r["id"]: r["name"] for t in ("items", "recipes") for r in load.rows.get(t, ())}
    load.rows["explosion"] = list(explosion_rows(paths(yields, lines), names))
    load.rows["low_level"] = [{"id": i, "level": n} for i, n in low_levels(yields, lines).items()]
