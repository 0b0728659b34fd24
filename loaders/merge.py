"""Log rows from the stage into a kitchen's logs: what stands there word for word stays, and every row keeps its id.

Ids follow the order of the files, corrections among the rest, so that a kitchen that was written out and built again
reads its logs in the same order.
"""

from __future__ import annotations

import sqlite3

from stillroom.loaders.stage import OWN

# Columns that name a row of another log: by its request id, or, of a batch, by its lot as well.
REFERS: dict[str, tuple[tuple[str, str, str], ...]] = {
    "batch_uses": (("batch_id", "lot_said", "batches"),),
    "ageing_lots": (("delivery_id", "delivery_said", "deliveries"),),
    "breakdowns": (("delivery_id", "delivery_said", "deliveries"),),
    "probe_readings": (("batch_id", "batch_said", "batches"),),
    "cooling_readings": (("batch_id", "batch_said", "batches"),),
    "task_ticks": (("batch_id", "batch_said", "batches"),),
    "change_reads": (("change_id", "change_said", "allergen_changes"),),
}
# A use says its batch by the lot; the last batch of that recipe and lot is meant. One without a lot: [batch REQUEST].
NAMED = "[batch "
BY_LOT = f"""(
    select max(other.id) from main.batches as other
    where other.lot_code = batch_uses.lot_said and other.recipe_id = batch_uses.recipe_id
    union all
    select other.id from main.batches as other
    where batch_uses.lot_said like '{NAMED}%]'
        and other.request_id =
            substr(batch_uses.lot_said, {len(NAMED) + 1}, length(batch_uses.lot_said) - {len(NAMED) + 1})
    order by 1 desc limit 1
)"""

# A piece that ages says what it came as by the receipt's lot code; the last such line of that item is meant. Files that
# stillroom wrote say the request id of the line.
BY_RECEIPT = """coalesce(
    (select other.id from main.deliveries as other where other.request_id = ageing_lots.delivery_said),
    (select max(other.id) from main.deliveries as other
        where other.lot_code = ageing_lots.delivery_said and other.item_id = ageing_lots.item_id and other.stands = 1)
)"""
BY_CODE = {"batch_uses": BY_LOT, "ageing_lots": BY_RECEIPT}


def mark_kept(connection: sqlite3.Connection, table: str) -> None:
    """Finds the rows that stand in the log already, word for word, before the lock is taken: as a rule, all."""
    connection.execute(f"create index if not exists stage.{table}_id on {table} (request_id)")
    for column in ("voids", "new_id", *(column for column, _, _ in REFERS.get(table, ()))):
        connection.execute(f"alter table stage.{table} add column {column}")
    _name_others(connection, table)
    find_gone(connection, table)
    if connection.execute(f"select 1 from {table} limit 1").fetchone() is None:
        return
    _, changing = _columns(connection, table)
    old, new = (", ".join(f"{side}.{c}" for c in changing) for side in ("old", table))
    connection.execute(
        f"update stage.{table} set is_kept = 1 where exists (select 1 from main.{table} as old"
        f" where old.request_id = {table}.request_id and (old.origin <> 'file' or ({old}) is ({new})))"
    )


def find_gone(connection: sqlite3.Connection, table: str) -> None:
    """Notes the rows from files that the files no longer hold, before the lock too."""
    connection.execute(f"drop table if exists stage.{table}_gone")
    connection.execute(
        f"create table stage.{table}_gone as select id from main.{table}"
        f" where origin = 'file' and request_id not in (select request_id from stage.{table})"
    )


def start_again(connection: sqlite3.Connection, table: str) -> None:
    """What was compared no longer holds: another load came between."""
    connection.execute(f"update stage.{table} set is_kept = null")
    find_gone(connection, table)


def merge_log(connection: sqlite3.Connection, table: str, is_staged: bool) -> None:
    """Makes a log's rows of origin 'file' those of the stage. A row that stays keeps its id, for others may name it.

    A row that the files no longer hold goes, unless somebody voided it on the web: then it no longer counts, and the
    row that voids it still has something to name. What people wrote on the web is never touched.
    """
    _remove_gone(connection, table, is_staged)
    if not is_staged:
        return
    if table == "batch_uses":  # a lot may mean another batch now
        connection.execute("update stage.batch_uses set is_kept = null where lot_said <> '' and batch_id is not"
                           f" {BY_LOT}")  # fmt: skip
    if connection.execute(f"select 1 from stage.{table} where is_kept is null limit 1").fetchone() is None:
        return
    _number(connection, table)
    _name_others(connection, table)
    columns, changing = _columns(connection, table)
    old, new = (", ".join(f"{side}.{c}" for c in changing) for side in (table, "staged"))
    connection.execute(
        f"update main.{table} set ({', '.join(changing)}) = ({new}) from stage.{table} as staged"
        f" where staged.is_kept is null and staged.request_id = {table}.request_id"
        f" and {table}.origin = 'file' and ({old}) is not ({new})"
    )
    listed = ", ".join(columns)
    connection.execute(
        f"insert into main.{table} (id, {listed}) select new_id, {listed} from stage.{table}"
        " where is_kept is null and new_id is not null order by new_id"
    )


def _remove_gone(connection: sqlite3.Connection, table: str, is_staged: bool) -> None:
    gone = f"and id in (select id from stage.{table}_gone)" if is_staged else ""
    connection.execute(
        f"delete from main.{table} where origin = 'file' {gone} and not exists"
        f" (select 1 from main.{table} as later where later.voids = {table}.id and later.origin <> 'file')"
    )


def _number(connection: sqlite3.Connection, table: str) -> None:
    """Ids for the rows that are new, behind those that are there or ever were, in the order of the files."""
    (top,) = connection.execute(
        f"select max(coalesce((select max(id) from main.{table}), 0),"
        " coalesce((select seq from main.sqlite_sequence where name = ?), 0))",
        (table,),
    ).fetchone()
    if connection.execute(f"select 1 from main.{table} limit 1").fetchone() is None:  # a first load: all are new
        connection.execute(f"update stage.{table} set new_id = ? + rowid", (top,))
        return
    connection.execute(
        f"update stage.{table} set new_id = ? + fresh.place from ("
        f" select staged.rowid as row, row_number() over (order by staged.rowid) as place from stage.{table} as staged"
        f" where staged.is_kept is null and not exists"
        f" (select 1 from main.{table} as old where old.request_id = staged.request_id)"
        f") as fresh where fresh.row = {table}.rowid",
        (top,),
    )


def _name_others(connection: sqlite3.Connection, table: str) -> None:
    """The ids behind what a row says of others: the one it voids, and rows of other logs."""
    connection.execute(
        f"update stage.{table} set voids = coalesce("
        f"(select old.id from main.{table} as old where old.request_id = {table}.voids_said),"
        f" (select staged.new_id from stage.{table} as staged where staged.request_id = {table}.voids_said))"
        " where is_kept is null and voids_said <> ''"
    )
    for column, said, other in REFERS.get(table, ()):
        by_id = f"(select other.id from main.{other} as other where other.request_id = {table}.{said})"
        connection.execute(
            f"update stage.{table} set {column} = {BY_CODE.get(table, by_id)}"
            f" where is_kept is null and {said} <> ''"
        )


def _columns(connection: sqlite3.Connection, table: str) -> tuple[list[str], list[str]]:
    """The log's own columns in the stage, and those of them that say something else when a row changed."""
    info = connection.execute("select name from pragma_table_info(?, 'stage')", (table,))
    columns = [name for (name,) in info if name not in OWN]
    return columns, [name for name in columns if name not in {"request_id", "recorded_at"}]
