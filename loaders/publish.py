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
from stillroom.db.promotions import apply_due
from stillroom.db.reference_data import load_reference
from stillroom.loaders.book import graph_of
from stillroom.loaders.read import Load, Record
from stillroom.loaders.stage import OWN, Stage

# Children last: the order is only for reading, foreign keys are held to the end of the transaction.
KITCHEN_TABLES = (
    "kitchen", "stations", "surfaces", "equipment", "people", "shifts", "service_days", "suppliers", "holidays",
    "items", "item_tags", "item_measures", "products", "product_allergens", "price_quotes", "recipes",
    "recipe_measures", "components", "by_products", "method_steps", "recipe_surfaces", "recipe_equipment", "pieces",
    "cooking_steps", "substitutes", "pars", "explosion", "low_level", "warnings",
)  # fmt: skip
# Logs that no file holds: a load writes them, or answers to one of its rows.
LOADS_WRITE = frozenset({"allergen_changes", "change_reads", "book_versions"})
# A use says its batch by the lot code; the last batch of that recipe and code is meant.
NAME_BATCHES = """
    update batch_uses set batch_id = (
        select max(b.id) from batches as b join stage.batch_uses as said on said.lot_said = b.lot_code
        where said.request_id = batch_uses.request_id and b.recipe_id = batch_uses.recipe_id and b.lot_code <> ''
    ) where origin = 'file'
"""


def publish(connection: sqlite3.Connection, load: Load, stage: Stage, now: str) -> int:
    """Writes a load without errors, its derived rows made; returns how many dishes' declarations changed."""
    connection.execute("attach database ? as stage", (str(stage.path),))
    logs = [t for t in log_tables(connection) if t not in LOADS_WRITE]
    compared = _last_load(connection)
    for table in stage.counts:
        _mark_kept(connection, table)
    with transaction(connection):
        connection.execute("pragma defer_foreign_keys = on")
        if _last_load(connection) != compared:  # another load came between
            for table in stage.counts:
                connection.execute(f"update stage.{table} set is_kept = null")
        before = allergen_facts.dish_declarations(connection)
        old_dishes = {i for (i,) in connection.execute("select id from recipes where kind = 'dish'")}
        for table in KITCHEN_TABLES:
            connection.execute(f"delete from {table}")
        load_reference(connection)
        for table in KITCHEN_TABLES:
            insert(connection, table, load.rows.get(table, []))
        for table in logs:
            merge_log(connection, table, is_staged=table in stage.counts)
        if "batch_uses" in stage.counts:
            connection.execute(NAME_BATCHES)
        apply_due(connection, kitchen_day(connection), now)
        create_views(connection)
        changes = record_changes(connection, before, old_dishes, now)
        keep_versions(connection, kitchen_day(connection).isoformat(), now)
        insert(connection, "loads", [{
            "loaded_at": now, "source": str(load.source.path), "rows": load.count + stage.rows,
            "warnings": sum(p.severity == "warning" for p in load.problems),
        }])  # fmt: skip
    connection.execute("detach database stage")
    return changes


def _last_load(connection: sqlite3.Connection) -> int:
    (number,) = connection.execute("select coalesce(max(id), 0) from loads").fetchone()
    return int(number)


def _staged_columns(connection: sqlite3.Connection, table: str) -> tuple[list[str], list[str]]:
    """The log's own columns in the stage, and those of them that say something else when a row changed."""
    info = connection.execute("select name from pragma_table_info(?, 'stage')", (table,))
    columns = [name for (name,) in info if name not in OWN]
    return columns, [name for name in columns if name not in {"request_id", "recorded_at"}]


def _mark_kept(connection: sqlite3.Connection, table: str) -> None:
    """Finds the rows that stand in the log already, word for word, before the lock is taken: as a rule, most."""
    if connection.execute(f"select 1 from {table} where origin = 'file'").fetchone() is None:
        return
    connection.execute(f"create index if not exists stage.{table}_id on {table} (request_id)")
    _, changing = _staged_columns(connection, table)
    old, new = (", ".join(f"{side}.{c}" for c in changing) for side in ("old", table))
    connection.execute(
        f"update stage.{table} set is_kept = 1 where coalesce(voids_said, '') = '' and exists ("
        f"select 1 from main.{table} as old where old.request_id = {table}.request_id and ({old}) is ({new}))"
    )


def merge_log(connection: sqlite3.Connection, table: str, is_staged: bool) -> None:
    """Makes a log's rows of origin 'file' those of the stage. A row that stays keeps its id, for others may name it.

    A row that the files no longer hold goes, unless somebody voided it on the web: then it no longer counts, and the
    row that voids it still has something to name.
    """
    if not is_staged:
        connection.execute(f"delete from {table} where origin = 'file' and {_not_voided(table)}")
        return
    connection.execute(
        f"delete from {table} where origin = 'file' and request_id not in (select request_id from stage.{table})"
        f" and {_not_voided(table)}"
    )
    columns, changing = _staged_columns(connection, table)
    listed = ", ".join(columns)
    old, new = (", ".join(f"{side}.{c}" for c in changing) for side in (table, "excluded"))
    upsert = f"""
        on conflict (request_id) do update set ({", ".join(changing)}) = ({new})
        where {table}.origin = 'file' and ({old}) is not ({new})
    """
    connection.execute(
        f"insert into {table} ({listed}) select {listed} from stage.{table}"
        f" where coalesce(voids_said, '') = '' and is_kept is null {upsert}"
    )
    _corrections(connection, table, listed, upsert)


def _not_voided(table: str) -> str:
    return f"not exists (select 1 from {table} as later where later.voids = {table}.id and later.origin <> 'file')"


def _corrections(connection: sqlite3.Connection, table: str, listed: str, upsert: str) -> None:
    """Rows that void another, each after the row that it names."""
    pending = connection.execute(
        f"select rowid, voids_said from stage.{table} where voids_said <> '' order by rowid"
    ).fetchall()
    find = f"select id from {table} where request_id = ?"
    add = f"insert into {table} ({listed}, voids) select {listed}, ? from stage.{table} where rowid = ? {upsert}"
    while pending:
        left = []
        for row, said in pending:
            found = connection.execute(find, (said,)).fetchone()
            if found is None:
                left.append((row, said))
            else:
                connection.execute(add, (found[0], row))
        if len(left) == len(pending):
            raise ValueError(f"rows of {table} void each other in a ring: {left[0][1]}")
        pending = left


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
